"""The technician's page that works with no signal, and what it is made of."""

from csp.decorators import csp_update
from django.conf import settings
from django.contrib.auth.decorators import login_not_required
from django.http import Http404, HttpRequest, HttpResponse, JsonResponse
from django.shortcuts import render
from django.templatetags.static import static
from django.utils.translation import gettext as _
from django.views.decorators.http import require_safe

from apps.field.phone import shell

NO_CACHE = "no-cache"
# the page makes no markup out of text but its own drawings, and starts no script but its worker
TRUSTED = {
    "require-trusted-types-for": ["'script'"],
    "trusted-types": ["backyard-svg", "backyard-worker"],
}


@csp_update(TRUSTED)
@login_not_required
@require_safe
def app(request: HttpRequest, rest: str = "") -> HttpResponse:
    """Anyone: the same page for all, with nobody's data in it; what it shows lies on the phone."""
    context = {
        "version": shell.version(),
        "page_version": shell.PAGE_VERSION,
        "pace": getattr(settings, "PHONE_PACE", ""),
        "styles": [static(f"css/{name}.css") for name in shell.STYLES],
    }
    answer = render(request, "field/app.html", context)
    answer["Cache-Control"] = NO_CACHE
    return answer


@login_not_required
@require_safe
def module(_request: HttpRequest, name: str) -> HttpResponse:
    """Anyone: one script of the page."""
    if name not in shell.modules():
        raise Http404
    text = (shell.FOLDER / name).read_text(encoding="utf-8")
    answer = HttpResponse(text, content_type="text/javascript; charset=utf-8")
    answer["Cache-Control"] = NO_CACHE
    return answer


@login_not_required
@require_safe
def worker(_request: HttpRequest) -> HttpResponse:
    """Anyone: the worker of the page."""
    text = shell.worker(off=settings.PHONE_WORKER_OFF)
    answer = HttpResponse(text, content_type="text/javascript; charset=utf-8")
    answer["Cache-Control"] = NO_CACHE
    return answer


@login_not_required
@require_safe
def manifest(_request: HttpRequest) -> JsonResponse:
    """Anyone: what a phone's home screen is told."""
    icons = [
        {"src": static(f"field/{name}"), "sizes": f"{size}x{size}", "type": "image/png",
         "purpose": purpose}
        for name, size in zip(shell.ICONS, (192, 512), strict=True)
        for purpose in ("any", "maskable")
    ]  # fmt: skip
    body = {
        "name": _("Backyard, my round"), "short_name": _("My round"), "id": "/field/",
        "start_url": "/field/", "scope": "/field/", "display": "standalone",
        "background_color": "#FBF9F2", "theme_color": "#FBF9F2", "icons": icons,
    }  # fmt: skip
    answer = JsonResponse(body, content_type="application/manifest+json")
    answer["Cache-Control"] = NO_CACHE
    return answer
