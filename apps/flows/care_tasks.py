"""A care task as the office keeps it: its rule, when it was last done, and a mark passed already."""

import datetime as dt
from dataclasses import dataclass

from django.db import transaction
from django.utils import timezone

from apps.care.choices import Mode
from apps.care.models import CareTask
from apps.care.services import done_note, task_save
from apps.core.scoping import Actor
from apps.visits.models import Reading
from apps.visits.selectors import HISTORY
from apps.visits.services.steps import author


@dataclass(frozen=True)
class Passed:
    """A mark that the last trusted reading lies beyond: which reading, on which side of what."""

    measurand: str
    value: float
    on: dt.date
    below: float | None = None
    above: float | None = None


def mark_passed(task: CareTask, at: dt.datetime, done_on: dt.date | None = None) -> Passed | None:
    """Return whether the last reading that a task waits for lies beyond its mark already.

    Readings of the last 120 days count, of its loop where it has one, and none that was taken before
    the task was last done, `done_on` if that is later. None for a task that goes by the forecast, or by no reading.
    """
    if not task.condition or task.mode == Mode.FORECAST:
        return None
    reading = _last_reading(task, at)
    if reading is None:
        return None
    on, value = timezone.localdate(reading.taken_at), reading.value
    if any(day is not None and on <= day for day in (task.last_done, done_on)):
        return None
    below, above = task.condition.get("below"), task.condition.get("above")
    if below is not None and value < below:
        return Passed(reading.measurand, value, on, below=below)
    if above is not None and value > above:
        return Passed(reading.measurand, value, on, above=above)
    return None


def _last_reading(task: CareTask, at: dt.datetime) -> Reading | None:
    rows = Reading.objects.filter(
        loop__system=task.system_id, measurand=task.condition.get("measurand"), trusted=True,
        corrected_by=None, taken_at__gt=at - HISTORY, taken_at__lte=at,
    )  # fmt: skip
    rows = rows.filter(loop=task.loop_id) if task.loop_id else rows
    return rows.order_by("-taken_at", "pk").first()


def mark_set(task: CareTask, at: dt.datetime, done_on: dt.date | None = None) -> Passed | None:
    """Raise a task whose mark is passed already, due from today on; it is not stored.

    What another mark had raised is dropped: it says nothing of this one.
    """
    passed = mark_passed(task, at, done_on)
    if _other_mark(task):
        task.raised_on = None
    if passed is not None and (task.raised_on is None or _answered(task, done_on)):
        task.raised_on = timezone.localdate(at)
    return passed


def _other_mark(task: CareTask) -> bool:
    """Whether the mark that is kept of a task is another one, or another loop's."""
    kept = CareTask.objects.filter(pk=task.pk).values_list("condition", "loop").first()
    return kept is not None and kept != (task.condition, task.loop_id)


def _answered(task: CareTask, done_on: dt.date | None) -> bool:
    """Whether a task was done since it was raised."""
    days = [day for day in (task.last_done, done_on) if day is not None]
    return task.raised_on is not None and max(days, default=dt.date.min) >= task.raised_on


@transaction.atomic
def task_keep(
    *, task: CareTask, done_on: dt.date | None, noted: bool, by: Actor, at: dt.datetime
) -> CareTask:
    """Store a new or changed task, and when it was last done where that was asked (`noted`).

    A mark that is passed already brings it round at once. Raises Invalid for a rule that cannot be
    worked out.
    """
    mark_set(task, at, done_on)
    task_save(task=task, at=at)
    if noted:
        done_note(task=task, done_on=done_on, by=author(by), at=at)
    return task
