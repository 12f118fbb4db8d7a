"""Dosing plans of a loop: worked out by a GET; a press puts the steps among the open advice."""

import datetime as dt
from typing import Any
from uuid import UUID

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods

from apps.accounts.actors import office_of
from apps.accounts.selectors import firm_current
from apps.advice.services import advice_give
from apps.calc.dosing_plan.advised import advised
from apps.calc.dosing_plan.cards import card
from apps.calc.dosing_plan.plan import make
from apps.calc.dosing_plan.results import Plan, Step
from apps.calc.dosing_plan.weighing import buckets
from apps.catalogue.selectors import catalogue_current
from apps.core.numbers import format_figure, format_plain, round_half_up, with_unit
from apps.core.refusing import attempt
from apps.office.calculator_words import say, sources_said
from apps.office.dosing_words import (
    DECIMALS,
    ELEMENTS,
    READING_NAMES,
    READING_UNITS,
    UNITS,
    gap_names,
    product_name,
    reading_figure,
)
from apps.office.forms.base import EmptyForm
from apps.office.forms.dosing import DosingForm
from apps.office.selectors.dosing import DosingStart, dosing_start
from apps.office.views.common import POSTED, found
from apps.office.views.system_edits import trail_of
from apps.office.wording import upper_first
from apps.systems.models import Loop


@require_http_methods(POSTED)
def loop_dosing(request: HttpRequest, pk: UUID) -> HttpResponse:
    """Office: a dosing plan of a loop; with its fields in the address, the steps. POST advises them."""
    actor = office_of(request)
    loop = found(Loop.objects.visible_to(actor).select_related("system__place"), pk)
    start = dosing_start(loop, catalogue_current(), actor.at)
    asked = "goal" in request.GET
    form = DosingForm(request.GET if asked else None, start=start)
    plan = _plan(form, start) if asked and form.is_valid() else None
    pressed = EmptyForm(request.POST if request.method == "POST" else None)
    if request.method == "POST" and plan and pressed.is_valid():
        drafts = advised(plan, str(loop.pk))
        rows = attempt(
            pressed,
            lambda: advice_give(system=loop.system, drafts=drafts, by=actor, at=actor.at),
        )
        if rows is not None:
            messages.success(request, _("The steps stand among the open advice, with their days. The next visit's readings take their place."))  # fmt: skip
            return redirect(reverse("office:system", args=[loop.system_id]) + "#advice")
    context = {
        "loop": loop, "system": loop.system, "trail": trail_of(loop.system), "start": start,
        "form": form, "pressed": pressed, "groups": form.groups(),
        "given": [_given(row.at, row.product, row.grams) for row in start.given],
        "answer": _answer(plan, start, form.request().scale_g) if plan else None,
    }  # fmt: skip
    refused = form.errors or pressed.errors or (request.method == "POST" and not plan)
    return render(request, "office/dosing.html", context, status=422 if refused else 200)


def _plan(form: DosingForm, start: DosingStart) -> Plan | None:
    """Return the plan; what there is none for stands beside the fields."""
    facts = start.facts(
        form.readings(), form.cleaned_data["volume_l"], form.source(),
        just_measured=form.cleaned_data["just_measured"],
    )  # fmt: skip
    made = make(facts, form.request())
    if isinstance(made, Plan):
        return made
    for refusal in made:
        form.add_error(refusal.field, say(refusal.text, gap_names()))
    return None


def _given(at: dt.datetime, product: str, grams: float) -> tuple[dt.date, str]:
    dose = with_unit(format_plain(round_half_up(grams, 2)), "g")
    text = _("%(dose)s of %(product)s") % {"dose": dose, "product": product_name(product)}
    return timezone.localdate(at), text


def _answer(plan: Plan, start: DosingStart, scale_g: float) -> dict[str, Any]:
    firm, today = firm_current(), start.situation.today
    used = dict.fromkeys(step.product for step in plan.steps)
    return {
        "plan": plan,
        "goes": _goes(plan),
        "steps": [_step(step, plan, today, scale_g) for step in plan.steps],
        "client": [_bag(step, today, scale_g) for step in plan.steps if step.who == "client"],
        "not_used": [(product_name(item.product), say(item.text, gap_names())) for item in plan.not_used],
        "notes": [say(text, gap_names()) for text in plan.notes],
        "cards": [(product_name(code), [say(text) for text in card(code)]) for code in used],
        "sources": sources_said(plan.sources),
        "phone": firm.emergency_phone or firm.phone,
    }  # fmt: skip


def _goes(plan: Plan) -> str:
    def figure(value: float) -> str:
        return with_unit(
            format_figure(value, DECIMALS.get(plan.goal, 0)), UNITS.get(plan.goal, "mg/L")
        )

    return _("from %(start)s to %(reached)s; the target is %(target)s") % {
        "start": figure(plan.start), "reached": figure(plan.reached), "target": figure(plan.target),
    }  # fmt: skip


def _step(step: Step, plan: Plan, today: dt.date, scale_g: float) -> dict[str, Any]:
    return {
        "day": today + dt.timedelta(days=step.day),
        "later": round(step.hours - 24 * step.day) if step.hours > 24 * step.day else 0,
        "name": product_name(step.product),
        "grams": _grams(step.grams, scale_g),
        "exact": with_unit(format_plain(round_half_up(step.exact_g, 3)), "g"),
        "ml": with_unit(format_figure(step.ml, 1), "mL") if step.ml is not None else "",
        "water": with_unit(format_plain(step.bucket_l), "L"),
        "buckets": buckets(step.bucket_l),
        "client": step.who == "client",
        "minutes": "" if step.ph_minutes is None else format_figure(step.ph_minutes, 2),
        "hours": "" if step.ph_hours is None else format_figure(step.ph_hours, 2),
        "stop": "" if "alk" not in step.before else format_figure(step.before["ph"] + 0.2, 1),
        "before": [_reading(code, value) for code, value in step.before.items()],
        "after": [_reading(code, value) for code, value in step.after.items() if code != "ph"],
        "week": [_total(e, total, plan.week_most.get(e)) for e, total in step.week.items()],
    }  # fmt: skip


def _reading(code: str, value: float) -> str:
    figure = with_unit(reading_figure(code, value), READING_UNITS.get(code, "mg/L"))
    return _("%(name)s %(figure)s") % {"name": READING_NAMES[code], "figure": figure}


def _total(element: str, total: float, most: float | None) -> str:
    said = {"element": upper_first(str(ELEMENTS[element])), "total": format_figure(total, 1)}
    if most is None:
        return _("%(element)s %(total)s mg/L") % said
    return _("%(element)s %(total)s of %(most)s mg/L") % (said | {"most": format_plain(most)})


def _bag(step: Step, today: dt.date, scale_g: float) -> tuple[dt.date, str]:
    text = _("The bag of %(grams)s, %(product)s, in %(water)s of tank water, slowly into the sump.") % {
        "grams": _grams(step.grams, scale_g), "product": product_name(step.product),
        "water": with_unit(format_plain(step.bucket_l), "L"),
    }  # fmt: skip
    return today + dt.timedelta(days=step.day), text


def _grams(grams: float, scale_g: float) -> str:
    """Return a weight with the decimals that the scale shows."""
    return with_unit(format_figure(grams, {1.0: 0, 0.1: 1}.get(scale_g, 2)), "g")
