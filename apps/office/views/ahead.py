"""Ahead: where a system's water is heading, and when somebody should come."""

from typing import Any
from uuid import UUID

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_safe

from apps.accounts.actors import office_of
from apps.ahead.selectors import forecasts_of
from apps.catalogue.selectors import catalogue_current
from apps.core import clock
from apps.flows.ahead import forecast_ask
from apps.office.forms.ahead import WhatIfForm
from apps.office.selectors import ahead_page as reads
from apps.office.selectors import what_if as asks
from apps.office.selectors.system_page import visits_of
from apps.office.views.common import POSTED, form_page, found
from apps.systems.models import System
from apps.systems.selectors import with_parts
from apps.visits.selectors import lives_now


@require_http_methods(POSTED)
def ahead(request: HttpRequest, pk: UUID) -> HttpResponse:
    """Office: a system's forecast, loop by loop; a POST has it made anew."""
    actor, on = office_of(request), clock.today()
    row = found(with_parts(System.objects.visible_to(actor)), pk)
    if request.method == "POST":
        forecast_ask([row.pk], actor.at)
        messages.success(request, _("The forecast is being made anew; look again in a minute."))
        return redirect("office:ahead", row.pk)
    loops, catalogue = list(row.loops.all()), catalogue_current()
    kept, visits = forecasts_of(actor, row.pk), visits_of(actor, row)
    lives = lives_now(row, loops, catalogue, on)
    context = {
        "system": row,
        "place": row.place,
        "said": reads.visit_words(kept, visits, on),
        "made_at": max((one.row.made_at for one in kept.values()), default=None),
        "loops": reads.loops_shown(loops, lives, kept, catalogue, actor.at, visits),
        "kept": bool(kept),
    }
    return render(request, "office/ahead.html", context)


@require_safe
def what_if(request: HttpRequest, pk: UUID) -> HttpResponse:
    """Office: a system's future as it is and with a change, beside each other; nothing is kept."""
    actor, on = office_of(request), clock.today()
    row = found(System.objects.visible_to(actor), pk)
    catalogue, kept = catalogue_current(), forecasts_of(actor, row.pk)
    known = asks.known_of(row.pk, kept, catalogue, on, actor.at)
    fish = sum(group.count for item in known for group in item.facts.fish)
    litres = max((item.facts.volume_l for item in known), default=0.0)
    form = WhatIfForm((request.GET or None) if known else None, fish=fish, litres=litres)
    context: dict[str, Any] = {"system": row, "known": bool(known), "groups": _groups(form)}
    if known and form.is_valid():
        data, loops = form.cleaned_data, [item.loop for item in known]
        lives = lives_now(row, loops, catalogue, on)
        seen = reads.readings_by(loops, actor.at)
        wishes = form.wishes()
        if wishes != asks.Wishes():
            context["loops"] = asks.compared(known, kept, lives, seen, wishes, catalogue)
        if data["pump_hours"]:
            context["pump"] = asks.without_pump(known, data["pump_hours"], data["pump_temp_c"])
    return form_page(request, form, "office/what_if.html", **context)


def _groups(form: WhatIfForm) -> list[tuple[str, list[Any]]]:
    wanted = (
        (_("Fish and feed"), ("fewer", "protein", "holiday_days")),
        (_("Plants and water"), ("more_beds_m2", "change_l")),
        (_("Heat"), ("warmer_c", "warm_days")),
        (_("Power"), ("pump_hours", "pump_temp_c")),
    )
    return [(heading, [form[name] for name in names]) for heading, names in wanted]
