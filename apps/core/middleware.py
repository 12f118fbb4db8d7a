"""Headers that every answer carries, and the language of what is asked for."""

from collections.abc import Callable

from django.conf import settings
from django.http import HttpRequest, HttpResponse
from django.middleware.locale import LocaleMiddleware
from django.utils import translation

CLIENT_PAGES = "/c/"


class LanguageMiddleware(LocaleMiddleware):
    """The browser's language; the staff's screens only in one whose catalogue is whole."""

    def process_request(self, request: HttpRequest) -> None:
        """Choose the language."""
        super().process_request(request)
        theirs = translation.get_language() in settings.CLIENT_LANGUAGES
        if theirs and not request.path_info.startswith(CLIENT_PAGES):
            translation.activate(settings.LANGUAGE_CODE)
            request.LANGUAGE_CODE = translation.get_language()


class SafeHeadersMiddleware:
    """Keeps pages with people's data out of shared caches and out of other sites' hands."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        """Add the headers unless the view has set its own."""
        response = self.get_response(request)
        response.headers.setdefault("Cache-Control", "private, no-store")
        response.headers.setdefault("Permissions-Policy", "geolocation=(self), camera=(self)")
        response.headers.setdefault("Cross-Origin-Resource-Policy", "same-origin")
        return response
