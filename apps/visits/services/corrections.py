"""Corrections: a new row that names the old one, with reason and author."""

import datetime as dt
from typing import Any
from uuid import uuid4

from django.db import transaction
from django.utils.translation import gettext as _

from apps.accounts.services import audit
from apps.catalogue.selectors import catalogue_current
from apps.core.exceptions import Conflict
from apps.core.scoping import Actor
from apps.visits.models import Reading
from apps.visits.services.judging import readings_build
from apps.visits.services.projection import ground_of
from apps.visits.services.steps import author


@transaction.atomic
def reading_correct(
    *, reading: Reading, changes: dict[str, Any], reason: str, by: Actor, at: dt.datetime
) -> Reading:
    """Put a corrected reading beside the old one, judged anew.

    `changes` may hold value, unit, basis, method, taken_at. Raises Conflict where the reading was
    corrected already, Invalid for a value that cannot be.
    """
    if Reading.objects.filter(corrects=reading).exists():
        raise Conflict(_("This reading was corrected already; correct the newer one."), "corrected")
    sheet = reading.sheet
    assert sheet is not None  # noqa: S101 - the flow asks for a sheet
    row: dict[str, Any] = {
        "loop": str(reading.loop_id), "measurand": reading.measurand, "value": reading.value,
        "unit": reading.unit, "when": reading.when, "method": reading.method,
        "instrument": reading.instrument, "taken_at": reading.taken_at.isoformat(),
        "checked_twice": True,
    } | changes  # fmt: skip
    fresh = readings_build(
        sheet=sheet, rows={uuid4(): row}, ground=ground_of(sheet, catalogue_current(), at),
        now=at, by=author(by),
    )[0]  # fmt: skip
    fresh.corrects, fresh.correction_reason = reading, reason[:400]
    fresh.save(force_insert=True)
    audit(
        at=at, by=by, verb="corrected", kind="reading", object_id=reading.pk,
        change={"from": reading.value, "to": fresh.value, "reason": reason},
    )  # fmt: skip
    return fresh
