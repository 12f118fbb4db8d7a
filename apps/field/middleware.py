"""Keeps a phone that the office has cut off out of every page."""

from collections.abc import Callable
from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.urls import reverse

from apps.core.exceptions import Forbidden
from apps.flows.operation import session_phone
from apps.visits.services.phones import phone_admit


class CutOffMiddleware:
    """A sign-in on a phone that is cut off opens no page but signing out; the API looks by itself."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        """Go on: which page it is, is known only behind this."""
        return self.get_response(request)

    def process_view(
        self, request: HttpRequest, view: Callable[..., Any], _args: Any, _more: Any
    ) -> HttpResponse | None:
        """Refuse a page that asks for a sign-in, where the sign-in is on such a phone."""
        asks = getattr(view, "login_required", True) and request.user.is_authenticated
        held = session_phone(request) if asks else None
        if held is None or request.path == reverse("accounts:logout"):
            return None
        try:
            phone_admit(held)
        except Forbidden as error:
            context = {"message": error.message}
            return render(request, "errors/refused.html", context, status=error.status)
        return None
