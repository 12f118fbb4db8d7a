"""What counters show: noted once, withdrawn where it was wrong, never changed or deleted; what waits
for a counter moves with it."""

import datetime as dt
import math
from itertools import pairwise
from uuid import UUID

from django.db import transaction
from django.utils import timezone
from django.utils.translation import gettext as _

from apps.accounts.services import audit
from apps.care.choices import Counter
from apps.care.models import CareTask, MeterReading, MeterWithdrawal
from apps.care.selectors import meter_readings
from apps.care.services.tasks import tasks_recompute
from apps.core.exceptions import Conflict, Invalid
from apps.core.numbers import format_plain
from apps.core.scoping import Actor
from apps.systems.models import Component, Loop, System


@transaction.atomic
def meter_add(
    *,
    system: System,
    meter: str,
    value: float,
    taken_on: dt.date,
    by: Actor,
    at: dt.datetime,
    loop: Loop | None = None,
    component: Component | None = None,
    is_reset: bool = False,
    visit_id: UUID | None = None,
) -> MeterReading:
    """Note what a counter showed and move the tasks that wait for it, all or nothing.

    `value` in hours, grams or litres as the meter counts. Raises Invalid for a day ahead, no
    number, a place that is not the system's, and a counter that runs backwards without having
    been replaced.
    """
    # one at a time: two readings at once could each be in order with what was there before
    System.objects.select_for_update().get(pk=system.pk)
    row = MeterReading(
        system=system, loop=loop, component=component, meter=meter, value=value, taken_on=taken_on,
        is_reset=is_reset, visit_id=visit_id, made_at=at,
    )  # fmt: skip
    _check(row)
    entry = audit(at=at, by=by, verb="read a meter", kind="system", object_id=system.pk)
    row.by = entry.actor
    row.full_clean()
    row.save()
    _recompute(row, at)
    return row


@transaction.atomic
def meter_withdraw(
    *, reading: MeterReading, reason: str, by: Actor, at: dt.datetime
) -> MeterWithdrawal:
    """Let a reading that was wrong not count any more and work dates out from the others.

    The reading stays with who withdrew it, when and why. Raises Conflict where that was done
    already, Invalid without a reason and where the counter would run backwards over the gap.
    """
    System.objects.select_for_update().get(pk=reading.system_id)
    if MeterWithdrawal.objects.filter(reading=reading).exists():
        raise Conflict(_("This reading was withdrawn already."), "withdrawn_already")
    if not reason.strip():
        raise _invalid("reason", reason, _("say in a few words what was wrong with it"))
    _closes(reading)
    entry = audit(
        at=at, by=by, verb="withdrew a counter's reading", kind="system",
        object_id=reading.system_id, change={"reading": str(reading.pk), "reason": reason.strip()},
    )  # fmt: skip
    row = MeterWithdrawal(reading=reading, reason=reason.strip(), by=entry.actor, made_at=at)
    row.full_clean()
    row.save()
    _recompute(reading, at)
    return row


def _recompute(row: MeterReading, at: dt.datetime) -> None:
    """Move what waits for the counter of a reading."""
    waiting = CareTask.objects.filter(
        system=row.system_id, loop=row.loop_id, component=row.component_id, meter=row.meter, active=True,
    )  # fmt: skip
    tasks_recompute(task_ids=waiting.values_list("pk", flat=True), at=at)


def _check(row: MeterReading) -> None:
    if row.meter not in Counter.values:
        raise _invalid(
            "meter", row.meter, _("must be one of %(known)s") % {"known": ", ".join(Counter)}
        )
    if not math.isfinite(row.value) or row.value < 0:
        raise _invalid("value", str(row.value), _("a counter shows a number from 0 up"))
    if row.taken_on > timezone.localdate(row.made_at):
        raise _invalid(
            "taken_on", row.taken_on.isoformat(), _("this day lies ahead; note it once it is read")
        )
    if row.loop is not None and row.loop.system_id != row.system_id:
        raise _invalid("loop", str(row.loop_id), _("choose a loop of this system"))
    if row.component is not None and row.component.loop.system_id != row.system_id:
        raise _invalid("component", str(row.component_id), _("choose a part of this system"))
    _forwards(row)


def _forwards(row: MeterReading) -> None:
    """Refuse a reading that lies below the one before it, or above the one after it."""
    held = meter_readings(row.system_id, row.meter, row.loop_id, row.component_id)
    ordered = sorted([*held, row], key=lambda reading: (reading.taken_on, reading.made_at))
    for before, after in pairwise(ordered):
        if row not in (before, after) or not _backwards(before, after):
            continue
        message = _(
            "the counter showed %(before)s on %(first)s and %(after)s on %(second)s, and none runs "
            "backwards: mend the figure or the day, or say that the counter was replaced or set back"
        )
        raise _invalid("value", row.value, message % _shown(before, after))


def _closes(row: MeterReading) -> None:
    """Refuse to take out the first reading of a new counter while later ones rest on it."""
    held = meter_readings(row.system_id, row.meter, row.loop_id, row.component_id)
    for before, after in pairwise(reading for reading in held if reading.pk != row.pk):
        if _backwards(before, after):
            message = _(
                "without it the counter showed %(before)s on %(first)s and %(after)s on %(second)s, "
                "and none runs backwards: withdraw the one of %(second)s first, or note when the "
                "counter was replaced or set back"
            )
            shown = _shown(before, after)
            raise _invalid("reading", format_plain(row.value), message % shown)


def _backwards(before: MeterReading, after: MeterReading) -> bool:
    return not after.is_reset and after.value < before.value


def _shown(before: MeterReading, after: MeterReading) -> dict[str, str]:
    return {
        "before": format_plain(before.value), "first": before.taken_on.isoformat(),
        "after": format_plain(after.value), "second": after.taken_on.isoformat(),
    }  # fmt: skip


def _invalid(field: str, value: object, message: str) -> Invalid:
    return Invalid([{"pointer": f"/{field}", "value": value, "message": f"{field}: {message}"}])
