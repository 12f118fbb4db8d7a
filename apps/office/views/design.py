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
from apps.calc.design.parts import Plan
from apps.calc.design.sizing import Design, Sized, rough
from apps.catalogue.selectors import Catalogue, catalogue_current
from apps.clients.models import Place
from apps.core.numbers import format_plain, with_unit
from apps.core.phrases import upper_first
from apps.core.refusing import attempt
from apps.office import services
from apps.office.designing import sized, written
from apps.office.forms.design import DesignForm, DesignNameForm
from apps.office.views.common import POSTED, found, posted
from apps.office.views.system_edits import system_url
from apps.office.wording import place_label
from apps.proposals.design_words import (
    CAUTIONS,
    GROUPS,
    NAMES,
    UNITS,
    doubt_words,
    kind_name,
)
from apps.proposals.designs import sketch_data
from apps.proposals.selectors import survey_newest
from apps.systems.choices import ComponentKind
from apps.visits.shown import sketch


@require_http_methods(POSTED)
def design(request: HttpRequest, pk: UUID) -> HttpResponse:
    """Office: size a system for a place; a press makes it, with its parts and its care plan."""
    actor = office_of(request)
    place = found(Place.objects.visible_to(actor).select_related("client"), pk)
    catalogue = catalogue_current()
    asked = "by" in request.GET
    survey = survey_newest(place.pk)
    form = DesignForm(
        request.GET if asked else None, catalogue=catalogue,
        initial=DesignForm.surveyed(survey) if survey else {},
    )  # fmt: skip
    naming = DesignNameForm(posted(request), initial={"name": place_label(place)[:120]})
    made = sized(form, place, catalogue) if asked and form.is_valid() else None
    if request.method == "POST" and made and naming.is_valid() and "proposal" in request.POST:
        kept = attempt(
            naming, lambda: written(form, place, naming.cleaned_data["name"], catalogue, actor)
        )
        if kept is not None:
            messages.success(request, _("The proposal is there. Look at its prices and terms, then make its PDF."))  # fmt: skip
            return redirect("office:proposal", kept.pk)
    elif request.method == "POST" and made and naming.is_valid():
        row = attempt(
            naming,
            lambda: services.design_build(
                place=place, name=naming.cleaned_data["name"], plan=made[1],
                names={kind.value: upper_first(str(kind.label)) for kind in ComponentKind},
                catalogue=catalogue, by=actor, at=actor.at,
            ),
        )  # fmt: skip
        if row is not None:
            messages.success(request, _("The system is there with its parts. Its care sleeps until you plan its first weeks; put in what was really built."))  # fmt: skip
            return redirect(system_url(row))
    context = {
        "place": place, "form": form, "naming": naming, "survey": survey,
        "trail": [(place.name, reverse("office:place", args=[place.pk]))],
        "answer": _answer(*made, catalogue) if made else None,
    }  # fmt: skip
    refused = form.errors or (naming.is_bound and naming.errors)
    return render(request, "office/design.html", context, status=422 if refused else 200)


def _answer(made: Design, drawn: Plan, catalogue: Catalogue) -> dict[str, Any]:
    by = {item.code: item for item in made.sizes}
    data = sketch_data(drawn, [kind_name(part.kind) for part in drawn.parts])
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
