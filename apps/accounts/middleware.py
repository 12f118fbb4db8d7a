"""Keeps each role in its own part of the site."""

from collections.abc import Callable

from django.http import HttpRequest, HttpResponse, HttpResponseRedirect
from django.shortcuts import render

from apps.accounts.choices import Role
from apps.core.exceptions import DomainError
from apps.core.problems import problem

OPEN_TO_ALL = (
    "/field/", "/api/", "/account/", "/c/", "/calendar/", "/static/", "/livez", "/readyz", "/media/",
    "/mail-events/",
)  # fmt: skip


class RoleMiddleware:
    """Office pages are the office's; refusals of the job become pages or problems, never a 500."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        """Send a technician who opens the site to the round; refuse other office pages."""
        user = request.user
        if (
            user.is_authenticated
            and user.role == Role.TECHNICIAN
            and not request.path.startswith(OPEN_TO_ALL)
        ):
            if request.path == "/" and request.method == "GET":
                return HttpResponseRedirect("/field/")
            return render(request, "errors/403.html", status=403)
        return self.get_response(request)

    def process_exception(self, request: HttpRequest, error: Exception) -> HttpResponse | None:
        """Turn a rule of the job into an answer."""
        if not isinstance(error, DomainError):
            return None
        if request.path.startswith("/api/"):
            return problem(error.status, error.message, error.code, **error.extra)
        if error.status == 404:
            return render(request, "errors/404.html", status=404)
        return render(
            request, "errors/refused.html", {"message": error.message}, status=error.status
        )
