"""The next system of a place: sized from a wish, drawn, and made of it with one press."""

from collections.abc import Mapping
from typing import Any
from uuid import UUID

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods

from apps.accounts.actors import office_of
from apps.calc.design.parts import Plan, plan
from apps.calc.design.sizing import Design, Rules, Sized, rough, size
from apps.catalogue.selectors import Catalogue, catalogue_current
from apps.clients.models import Place
from apps.clients.selectors import source_waters
from apps.core import clock
from apps.core.numbers import format_plain, with_unit
from apps.core.refusing import attempt
from apps.office import services
from apps.office.design_words import CAUTIONS, GROUPS, NAMES, UNITS, doubt_words
from apps.office.forms.design import DesignForm, DesignNameForm
from apps.office.views.common import POSTED, found, posted
from apps.office.views.system_edits import system_url
from apps.office.wording import place_label, upper_first
from apps.systems.choices import ComponentKind
from apps.visits.shown import sketch


@require_http_methods(POSTED)
def design(request: HttpRequest, pk: UUID) -> HttpResponse:
    """Office: size a system for a place; a press makes it, with its parts and its care plan."""
    actor = office_of(request)
    place = found(Place.objects.visible_to(actor).select_related("client"), pk)
    catalogue = catalogue_current()
    asked = "by" in request.GET
    form = DesignForm(request.GET if asked else None, catalogue=catalogue)
    naming = DesignNameForm(posted(request), initial={"name": place_label(place)[:120]})
    made = _sized(form, place, catalogue) if asked and form.is_valid() else None
    if request.method == "POST" and made and naming.is_valid():
        row = attempt(
            naming,
            lambda: services.design_build(
                place=place, name=naming.cleaned_data["name"], plan=made[1],
                names={kind.value: upper_first(str(kind.label)) for kind in ComponentKind},
                catalogue=catalogue, by=actor, at=actor.at,
            ),
        )  # fmt: skip
        if row is not None:
            messages.success(request, _("The system is there with its parts and its care plan. Put in what was really built."))  # fmt: skip
            return redirect(system_url(row))
    context = {
        "place": place, "form": form, "naming": naming,
        "trail": [(place.name, reverse("office:place", args=[place.pk]))],
        "answer": _answer(*made, catalogue) if made else None,
    }  # fmt: skip
    refused = form.errors or (naming.is_bound and naming.errors)
    return render(request, "office/design.html", context, status=422 if refused else 200)


def _sized(form: DesignForm, place: Place, catalogue: Catalogue) -> tuple[Design, Plan] | None:
    source = source_waters([place.pk], clock.today()).get(place.pk)
    alkalinity = source.alkalinity_mg_l_caco3 if source else None
    try:
        wish, site = form.wish(), form.site(place.altitude_m or 0.0, alkalinity)
        found_ = size(wish, site, rules_of(catalogue))
    except ValueError as fault:
        form.add_error(None, _("These figures do not go together: %(why)s.") % {"why": fault})
        return None
    return found_, plan(found_, wish, site)


def rules_of(catalogue: Catalogue) -> Rules:
    """Return the firm's sizing rules as (from, to); those without figures are left out."""
    return {
        code: (float(row["low"]), float(row["high"]))
        for code, row in catalogue.of("sizing").items()
        if row["low"] is not None and row["high"] is not None
    }


def _answer(made: Design, drawn: Plan, catalogue: Catalogue) -> dict[str, Any]:
    by = {item.code: item for item in made.sizes}
    data = _sketch_data(drawn)
    return {
        "groups": [
            (title, [_row(by[code], catalogue) for code in codes if code in by])
            for title, codes in GROUPS
        ],
        "doubts": [doubt_words(doubt) for doubt in made.doubts],
        "cautions": CAUTIONS,
        "wide": sketch(data, layout="wide"),
        "stacked": sketch(data, layout="stacked"),
    }


def _row(item: Sized, catalogue: Catalogue) -> dict[str, str]:
    unit = str(UNITS.get(item.unit, item.unit))
    low, high, chosen = (format_plain(rough(x)) for x in (item.low, item.high, item.chosen))
    rule: Mapping[str, Any] = catalogue.get("sizing", item.rule) or {}
    return {
        "name": str(NAMES[item.code]),
        "chosen": with_unit(chosen, unit) if unit else chosen,
        "range": _("%(low)s to %(high)s") % {"low": low, "high": high} if low != high else "",
        "rule": upper_first(_(str(rule["rule"]))) if rule else "",
    }


def _sketch_data(drawn: Plan) -> list[dict[str, Any]]:
    """Return a plan as the flow sketch takes it."""
    names = {kind.value: upper_first(str(kind.label)) for kind in ComponentKind}
    tank = next(part.litres for part in drawn.parts if part.kind == "tank")
    pump = next(part.flow_l_h for part in drawn.parts if part.kind == "pump")
    return [
        {
            "id": "design", "kind": "whole",
            "litres": sum(part.litres or 0.0 for part in drawn.parts),
            "turnover": round(pump / tank, 2) if pump and tank else None,
            "components": [
                {"id": str(index), "kind": part.kind, "name": names[part.kind],
                 "litres": part.litres, "area_m2": part.area_m2}
                for index, part in enumerate(drawn.parts)
            ],
            "flows": [
                {"source": str(source), "target": str(target), "kind": how,
                 "l_h": pump if how == "pumped" else None, "l_day": None, "one_way": False}
                for source, target, how in drawn.flows
            ],
            "values": {},
        }
    ]  # fmt: skip
