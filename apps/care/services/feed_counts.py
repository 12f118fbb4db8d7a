"""What feed lies at a place: counted once, replaced by a later count, never changed or deleted."""

import datetime as dt
import math
from typing import Any
from uuid import UUID, uuid4

from django.db import transaction
from django.utils.translation import gettext as _

from apps.accounts.services import audit
from apps.calc.feed_left import MOST_G
from apps.care.models import FeedCount
from apps.core.dates import day_text
from apps.core.exceptions import Invalid
from apps.core.numbers import format_plain
from apps.core.scoping import Actor
from apps.systems.models import System

# own choice: a phone's clock may be fast; what was counted longer ago says nothing of today
LATEST_FUTURE, LOOK_BACK = dt.timedelta(minutes=10), dt.timedelta(days=60)


@transaction.atomic
def feed_count_add(
    *, system: System, amount_g: float, counted_at: dt.datetime, by: Actor, at: dt.datetime,
    pk: UUID | None = None,
) -> FeedCount:  # fmt: skip
    """Note how much feed lay at a system's place at a time [g].

    `by` is of the staff or the client. Of several counts the one of the latest time counts. Raises
    Invalid naming the field: no amount that can be, a time ahead, too long ago, or before the system.
    """
    # one at a time: what follows from a count is worked out from the last one
    system = System.objects.select_for_update().get(pk=system.pk)
    row = FeedCount(
        pk=pk or uuid4(), system=system, amount_g=amount_g, counted_at=counted_at,
        counted_by=by.role, made_at=at,
    )  # fmt: skip
    _check(row)
    entry = audit(
        at=at, by=by, verb="counted feed", kind="system", object_id=system.pk,
        change={"count": str(row.pk), "amount_g": amount_g},
    )  # fmt: skip
    row.by = entry.actor
    row.full_clean()
    row.save()
    return row


def _check(row: FeedCount) -> None:
    if not math.isfinite(row.amount_g) or not 0 <= row.amount_g <= MOST_G:
        message = _("a number from 0 to %(most)s g is needed") % {"most": format_plain(MOST_G)}
        raise _invalid("amount_g", str(row.amount_g), message)
    said = row.counted_at.isoformat()
    if row.counted_at > row.made_at + LATEST_FUTURE:
        raise _invalid("counted_at", said, _("this lies in the future"))
    if row.counted_at < row.made_at - LOOK_BACK:
        message = _("this was too long ago; count what is left today")
        raise _invalid("counted_at", said, message)
    began = row.system.started_on
    if began and row.counted_at.date() < began:
        message = _("the system began on %(day)s") % {"day": day_text(began, "year")}
        raise _invalid("counted_at", said, message)


def _invalid(field: str, value: Any, message: str) -> Invalid:
    row = {"pointer": f"/{field}", "value": value, "message": f"{field}: {message}"}
    return Invalid([row])
