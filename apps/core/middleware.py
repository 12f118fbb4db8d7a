"""Headers that every answer carries."""

from collections.abc import Callable

from django.http import HttpRequest, HttpResponse


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
