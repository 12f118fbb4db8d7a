"""Sowings of a system: what to sow each week, and what will be picked."""

from typing import Any
from uuid import UUID

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_safe

from apps.accounts.actors import office_of
from apps.batches.selectors import plantings_now
from apps.calc.sowing import sowing
from apps.catalogue.selectors import Catalogue, catalogue_current
from apps.core import clock
from apps.office.calculator_words import sources_said
from apps.office.forms.sowing import SowingForm
from apps.office.selectors import sowing as reads
from apps.office.views.common import found
from apps.systems.models import System
from apps.systems.selectors import loop_sizes, with_parts

SOURCES = ("harrington_minges1954", "fao589", "practice")
USUAL_TEMP = 20.0


@require_safe
def sowings(request: HttpRequest, pk: UUID) -> HttpResponse:
    """Office: what a system's beds will give; with its fields in the address, what to sow."""
    actor, on = office_of(request), clock.today()
    system = found(with_parts(System.objects.visible_to(actor)), pk)
    catalogue, loops = catalogue_current(), list(system.loops.all())
    beds = sum(loop_sizes(loop).bed_m2 for loop in loops)
    initial = {"first": on, "temp_c": USUAL_TEMP, "area_m2": round(beds, 1) or None}
    form = SowingForm(
        request.GET if "heads" in request.GET else None, initial=initial,
        crops=reads.crops_sown(catalogue),
    )  # fmt: skip
    plantings = plantings_now([loop.pk for loop in loops], on)
    context = {
        "system": system, "place": system.place, "form": form, "beds": beds,
        "standing": reads.pickings_shown(plantings, catalogue, on), "weeks": reads.weeks_shown(on),
        "answer": _answer(form, catalogue) if form.is_bound and form.is_valid() else None,
        "sources": sources_said(SOURCES),
    }  # fmt: skip
    return render(request, "office/sowing.html", context, status=422 if form.errors else 200)


def _answer(form: SowingForm, catalogue: Catalogue) -> dict[str, Any]:
    data = form.cleaned_data
    row = catalogue.of("crops")[data["crop"]]
    crop = reads.crop_of(row)
    assert crop is not None  # noqa: S101 - the form offers no other
    plan = sowing(
        crop, data["heads"], data["temp_c"], tested_pct=data["tested_pct"],
        seed_age_years=data["age_years"],
    )  # fmt: skip
    return {
        "said": reads.plan_words(plan, data["heads"], data["temp_c"]),
        "warnings": reads.warnings(plan, crop, data["area_m2"], data["heads"]),
        "sowings": reads.sowings_shown(plan, data["first"]),
    }
