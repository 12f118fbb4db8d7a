"""Health, and the pages for when something is refused."""

from typing import Any

from django.conf import settings
from django.contrib.auth.decorators import login_not_required
from django.db import DatabaseError, connection
from django.db.migrations.executor import MigrationExecutor
from django.http import HttpRequest, HttpResponse, JsonResponse
from django.shortcuts import render
from django.utils.translation import gettext as _
from django.views.decorators.http import require_safe

from apps.core import clock, outbox


@login_not_required
@require_safe
def livez(_request: HttpRequest) -> HttpResponse:
    """Anyone: the process answers."""
    return HttpResponse("ok\n", content_type="text/plain")


@login_not_required
@require_safe
def readyz(_request: HttpRequest) -> HttpResponse:
    """Anyone on the inside: the database answers and is migrated; how old the oldest job is."""
    try:
        with connection.cursor() as cursor:
            cursor.execute("SELECT 1")
        executor = MigrationExecutor(connection)
        pending = len(executor.migration_plan(executor.loader.graph.leaf_nodes()))
    except DatabaseError:
        return JsonResponse({"database": "away"}, status=503, headers={"Retry-After": "5"})
    now = clock.now()
    waiting = outbox.ready(now)
    age = (now - waiting[0].run_at).total_seconds() if waiting else 0
    body = {"database": "ok", "migrations_pending": pending, "oldest_job_s": round(age)}
    return JsonResponse(body, status=503 if pending else 200)


def csrf_failure(request: HttpRequest, reason: str = "") -> HttpResponse:
    """Anyone whose form came from another page or an ended session."""
    from apps.core.problems import problem

    if request.path.startswith("/api/"):
        return problem(403, _("The page's token is missing or old; send it once more."), "csrf")
    return render(request, "errors/csrf.html", {"reason": reason}, status=403)


def not_found(request: HttpRequest, exception: Exception) -> HttpResponse:
    """Anyone who asks for what is not there, or not theirs."""
    return _refused(request, 404, "errors/404.html")


def forbidden(request: HttpRequest, exception: Exception) -> HttpResponse:
    """Anyone whose role may not do that."""
    return _refused(request, 403, "errors/403.html")


def bad_request(request: HttpRequest, exception: Exception) -> HttpResponse:
    """Anyone whose request could not be read."""
    return _refused(request, 400, "errors/400.html")


def broken(request: HttpRequest) -> HttpResponse:
    """Anyone who meets a fault of ours."""
    return _refused(request, 500, "errors/500.html")


def _refused(request: HttpRequest, status: int, template: str) -> HttpResponse:
    from apps.core.problems import TITLES, problem

    if request.path.startswith("/api/"):
        return problem(status, str(TITLES[status]))
    context: dict[str, Any] = {"debug": settings.DEBUG}
    return render(request, template, context, status=status)
