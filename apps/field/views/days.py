"""My round."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.utils import timezone
from django.views.decorators.http import require_POST, require_safe

from apps.accounts.actors import actor_of
from apps.catalogue.selectors import catalogue_current
from apps.field.selectors import round_of
from apps.field.views.common import DARK, LIGHT, page


@require_safe
def round_(request: HttpRequest) -> HttpResponse:
    """Technician: one's own visits of today and the days to come; office: everybody's."""
    actor = actor_of(request)
    today = timezone.localdate(actor.at)
    catalogue = catalogue_current()
    context = {
        "round": round_of(actor, today, catalogue),
        "today_is": today,
        "everybody": actor.is_office,
        "dark": request.session.get("look") == DARK,
    }
    return page(request, "round.html", context)


@require_POST
def look(request: HttpRequest) -> HttpResponse:
    """Any staff: dark pages on this phone, or light ones again."""
    request.session["look"] = DARK if request.POST.get("look") == DARK else LIGHT
    return redirect("field:round")
