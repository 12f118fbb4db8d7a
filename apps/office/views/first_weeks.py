"""A new system's first weeks: its tasks, the filter against its curve, the gate, the first fish."""

import datetime as dt
from collections.abc import Iterable
from typing import Any
from uuid import UUID

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_safe

from apps.accounts.actors import office_of
from apps.calc.commissioning.stocking import crossing, stages
from apps.care.models import CareTask
from apps.care.services import first_weeks_make
from apps.catalogue.selectors import Catalogue, catalogue_current
from apps.core import clock
from apps.core.numbers import format_plain
from apps.core.refusing import attempt
from apps.core.scoping import Actor
from apps.office.calculator_words import sources_said
from apps.office.forms.first_weeks import BAG, FishForm, StartForm
from apps.office.selectors import first_weeks as reads
from apps.office.views.care import made_of
from apps.office.views.common import POSTED, form_page, found, posted
from apps.office.views.system_edits import system_of, trail_of
from apps.office.wording import upper_first
from apps.systems.models import System
from apps.systems.selectors import loop_sizes, with_parts
from apps.visits.models import Reading

SOURCES = ("fao589", "practice")
FIRST_FISH = "fish_first"
USUAL_TEMP = 25.0
USUAL_KG_M3 = 15.0  # of a tank (common practice)


@require_safe
def first_weeks(request: HttpRequest, pk: UUID) -> HttpResponse:
    """Office: how far a new system has come; with its fields in the address, the first fish."""
    actor, on = office_of(request), clock.today()
    system = found(with_parts(System.objects.visible_to(actor)), pk)
    catalogue = catalogue_current()
    tasks = reads.first_tasks(system, catalogue)
    loop, dosed = reads.water_loop(list(system.loops.all())), reads.dosed_on(system, tasks)
    rows: list[Reading] = []
    if loop is not None and dosed is not None:
        rows = reads.readings_from(loop, dosed - dt.timedelta(days=7), actor.at)
    litres = loop_sizes(loop).tank_litres if loop is not None else 0.0
    form = _fish_form(request, catalogue, rows, litres, reads.fish_meant(actor, system))
    context: dict[str, Any] = {
        "system": system, "place": system.place, "form": form,
        "tasks": reads.tasks_shown(tasks, catalogue, on),
        "sources": sources_said(SOURCES),
    }  # fmt: skip
    if dosed is not None and loop is not None:
        temp = reads.mean_temp(rows, USUAL_TEMP)
        context |= {
            "curves": reads.curves_shown(rows, temp, dosed, on, catalogue),
            "temp": temp, "ammonia": reads.ammonia_words(tasks, dosed, on),
            **_gate(system, form, rows, catalogue, actor),
        }  # fmt: skip
    if form.is_bound and form.is_valid():
        context["fish"] = _fish(form, catalogue, rows, _first_day(tasks, on))
    status = 422 if form.errors else 200
    return render(request, "office/first_weeks.html", context, status=status)


def _first_day(tasks: Iterable[CareTask], on: dt.date) -> dt.date:
    """Return the day before which no fish may come: that of their own task, today at the soonest."""
    days = [row.next_due for row in tasks if row.code == FIRST_FISH and row.next_due]
    return max([on, *days])


def _fish_form(
    request: HttpRequest, catalogue: Catalogue, rows: list[Reading], litres: float, species: str
) -> FishForm:
    names = [
        (code, upper_first(_(str(row["name"])))) for code, row in catalogue.of("species").items()
    ]
    last = {row.measurand: row.value for row in rows}
    initial = {
        "final_kg": round(litres * USUAL_KG_M3 / 1000, 1) or None, "weight_g": 20.0,
        "water_c": last.get("temp"), "water_ph": last.get("ph"), "species": species,
    }  # fmt: skip
    asked = "final_kg" in request.GET
    return FishForm(request.GET if asked else None, initial=initial, species=names)


def _species(form: FishForm, catalogue: Catalogue) -> dict[str, Any]:
    known = catalogue.of("species")
    code = form["species"].value()
    return known.get(code) or next(iter(known.values()))


def _gate(
    system: System, form: FishForm, rows: list[Reading], catalogue: Catalogue, actor: Actor
) -> dict[str, Any]:
    species = _species(form, catalogue)
    answers = reads.gate_of(rows, reads.done_codes(system.pk), species, actor.at)
    return {
        "gate": reads.gate_shown(answers, catalogue),
        "gate_said": reads.gate_words(answers),
        "gate_fish": _(str(species["name"])),
    }


def _fish(
    form: FishForm, catalogue: Catalogue, rows: list[Reading], on: dt.date
) -> dict[str, Any] | None:
    data = form.cleaned_data
    last = {row.measurand: row.value for row in rows}
    here = (last.get("temp", data["water_c"]), last.get("ph", data["water_ph"]))
    market = float(_species(form, catalogue)["market_g"])
    if data["final_kg"] * 1000 < market:
        form.add_error(
            "final_kg",
            _("That is less than one grown fish, %(grams)s g.") % {"grams": format_plain(market)},
        )
        return None
    steps = stages(data["final_kg"], data["weight_g"], market)
    way = crossing(data["way"] == BAG, (data["water_c"], data["water_ph"]), here)
    return {
        "stages": reads.stages_shown(steps, on),
        "crossing": reads.crossing_words(way),
        "measured": {"temp", "ph"} <= set(last),
    }


@require_http_methods(POSTED)
def first_weeks_start(request: HttpRequest, pk: UUID) -> HttpResponse:
    """Office: put the tasks of the first weeks into a system's plan."""
    actor, system = system_of(request, pk)
    initial = {"started": system.started_on or clock.today(), "temp_c": USUAL_TEMP}
    form = StartForm(posted(request), initial=initial)
    if request.method == "POST" and form.is_valid():
        done = attempt(
            form,
            lambda: first_weeks_make(
                system=system, catalogue=catalogue_current(), **made_of(actor, system),
                **form.cleaned_data, by=actor, at=actor.at,
            ),
        )  # fmt: skip
        if done is not None:
            messages.success(request, _("The first weeks are in the plan."))
            return redirect("office:first_weeks", system.pk)
    return form_page(
        request, form, heading=_("Plan the first weeks"), button=_("Plan them"),
        trail=trail_of(system), back=reverse("office:first_weeks", args=[system.pk]),
        lead=_("Leak tests, bringing the filter in, the first fish and the hand-over: each a task "
               "with its day. What is in the plan already stays as it is."),
    )  # fmt: skip
