"""My round."""

import datetime as dt

from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.utils import timezone
from django.views.decorators.http import require_POST, require_safe

from apps.accounts.actors import actor_of
from apps.catalogue.selectors import catalogue_current
from apps.field.selectors import Stop, round_of
from apps.field.views.common import DARK, LIGHT, page
from apps.field.work import OPEN_STATES
from apps.flows.middleware import visits_seen


def to_print(stop: Stop) -> bool:
    """Whether a visit still has lines to be worked through."""
    return stop.visit.state in OPEN_STATES


@require_safe
def round_(request: HttpRequest) -> HttpResponse:
    """Technician: one's own visits of today and the days to come; office: everybody's."""
    actor = actor_of(request)
    today = timezone.localdate(actor.at)
    tomorrow = today + dt.timedelta(days=1)
    found = round_of(actor, today, catalogue_current())
    mine = not actor.is_office
    if mine:
        days = [found.left_open, found.today, *(day.stops for day in found.later)]
        visits_seen(request, [stop.visit.pk for stops in days for stop in stops])
    context = {
        "round": found,
        # a day is printed by who walks it; the office prints from its week
        "print_today": mine and any(to_print(stop) for stop in [*found.left_open, *found.today]),
        "print_later": tomorrow
        if mine and any(day.on == tomorrow and any(map(to_print, day.stops)) for day in found.later)
        else None,
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
