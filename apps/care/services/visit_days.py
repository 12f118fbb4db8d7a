"""A place's visit days: proposed, compared with the former ones, replaced as a whole."""

import datetime as dt
from collections.abc import Collection, Iterable, Mapping, Sequence
from typing import Any
from uuid import UUID

from django.db import transaction

from apps.calc.bundling import Change, Changes, Day, Placed, Plan, Task, Visit, changes
from apps.calc.bundling import NotPlaced as Unplaced
from apps.care.models import (
    DayQuestion,
    NotPlaced,
    StandingAppointment,
    VisitDay,
    VisitDayPlan,
    VisitDayTask,
)
from apps.care.selectors import appointment_days
from apps.care.services.proposing import (
    HORIZON_DAYS,
    FixedDay,
    Ground,
    ground_of,
    propose,
    questions,
)
from apps.catalogue.choices import EntryKind
from apps.catalogue.selectors import Catalogue
from apps.clients.models import Place
from apps.core.bulk import rows_insert

ONE_DAY = dt.timedelta(days=1)


def visit_days_begin(place_id: UUID) -> VisitDayPlan:
    """Lock a place's plan and take its next turn: what asks from here on asks for another plan.

    In the caller's transaction, before anything is read that the plan comes from.
    """
    VisitDayPlan.objects.bulk_create([VisitDayPlan(place_id=place_id)], ignore_conflicts=True)
    row = VisitDayPlan.objects.select_for_update().get(place_id=place_id)
    row.turn += 1
    row.save(update_fields=["turn"])
    return row


@transaction.atomic
def visit_days_plan(
    *,
    plan: VisitDayPlan,
    on: dt.date,
    fixed: Sequence[FixedDay],
    closed: Collection[dt.date],
    catalogue: Catalogue,
    at: dt.datetime,
    liked: Collection[int] = (),
) -> VisitDayPlan:
    """Propose a place's visit days for 90 days from tomorrow and put them in place of the former.

    `plan` from visit_days_begin; `fixed`: visits that stand already, never shifted; `closed`: days
    on which nobody is sent out; `liked`: weekdays on which somebody is in its area. What moved, and why, stays with the plan until something moves
    again. Raises PlanError where no way takes the tasks; the former plan then stays whole.
    """
    apart = [
        (*row["tasks"], int(row["days_apart"])) for row in catalogue.of(EntryKind.APART).values()
    ]
    agreed = _agreed(plan.place, on)
    ground = ground_of(
        place=plan.place, on=on, fixed=fixed, closed=closed, apart=apart, preferred=agreed,
        liked=liked,
    )  # fmt: skip
    made, way = propose(ground)
    before = _stored(plan, made)
    _changes_note(plan, before, made, at)
    _replace(plan, ground, made, agreed)
    plan.made_at, plan.made_on, plan.until = at, on, ground.until
    plan.way, plan.at_most = way, ground.at_most
    plan.save()
    return plan


def _agreed(place: Place, on: dt.date) -> dict[dt.date, StandingAppointment]:
    """Return the days to come of a place's standing appointments."""
    until = on + dt.timedelta(days=HORIZON_DAYS)
    rows = StandingAppointment.objects.filter(place=place).order_by("-made_at", "pk")
    return {day: row for row in rows for day in appointment_days(row, on + ONE_DAY, until)}


def _stored(plan: VisitDayPlan, made: Plan) -> Plan | None:
    """Return the plan that is stored, as far as a comparison with the one that was made needs it.

    What was wanted before the first day of the new one and is wanted on that day now has not
    moved: nobody has come yet.
    """
    if plan.made_on is None or not made.days:
        return None
    first = made.days[0].day
    waiting = {put.task.key for visit in made.visits for put in visit.tasks if put.day == first}
    visits: list[Visit] = []
    tasks: dict[str, Task] = {}
    for day in plan.place.visit_days.order_by("on").prefetch_related("tasks__task"):
        placed = [
            Placed(_task(row.task, row.due), max(day.on, first), row.why)
            for row in day.tasks.all()
            if row.due is not None and (day.on >= first or str(row.task_id) in waiting)
        ]
        tasks |= {put.task.key: put.task for put in placed}
        visits.append(Visit(day.on, tuple(placed), day.kept_for is not None))
    missing = [
        Unplaced(_task(row.task, row.due), row.reason, row.nearest)
        for row in plan.place.not_placed.select_related("task")
    ]
    tasks |= {item.task.key: item.task for item in missing}
    promised = tuple(Day(visit.day, promised=visit.promised) for visit in visits)
    return Plan(tuple(visits), tuple(missing), 0.0, tuple(tasks.values()), promised)


def _task(row: Any, due: dt.date) -> Task:
    return Task(str(row.pk), row.code, due, due, due, row.minutes, system=str(row.system_id))


def _changes_note(plan: VisitDayPlan, before: Plan | None, made: Plan, at: dt.datetime) -> None:
    """Keep what the new plan changes; where it changes nothing the last change stays."""
    if before is None or plan.until is None:
        return
    rows = _rows(changes(before, made), plan.until)
    if rows:
        plan.changes, plan.changed_at = rows, at


def _rows(found: Changes, until: dt.date) -> list[dict[str, Any]]:
    """Return changes as they are kept: each task's first one, as its later turns follow.

    What only comes into view with a new day is no change.
    """
    rows: dict[str, dict[str, Any]] = {}
    for change in sorted((*found.moved, *found.dropped, *found.added), key=_first):
        if _seen_before(change, until):
            rows.setdefault(change.task.key, _row(change))
    return list(rows.values())


def _first(change: Change) -> tuple[dt.date, str]:
    days = [day for day in (change.old, change.new) if day is not None]
    return min(days), change.task.key


def _seen_before(change: Change, until: dt.date) -> bool:
    return change.old is not None or (change.new is not None and change.new <= until)


def _row(change: Change) -> dict[str, Any]:
    return {
        "task": change.task.key, "code": change.task.code, "system": change.task.system,
        "old": change.old.isoformat() if change.old else None,
        "new": change.new.isoformat() if change.new else None, "why": change.why,
    }  # fmt: skip


def _replace(
    plan: VisitDayPlan,
    ground: Ground,
    made: Plan,
    agreed: Mapping[dt.date, StandingAppointment],
) -> None:
    """Put the new rows in place of the old ones."""
    place = plan.place
    place.visit_days.all().delete()
    place.not_placed.all().delete()
    place.day_questions.all().delete()
    kept = {item.on: item.visit_id for item in reversed(ground.fixed)}
    days = [_day(plan, visit, ground, kept.get(visit.day)) for visit in made.visits]
    for day in days:
        day.appointment = agreed.get(day.on)
    VisitDay.objects.bulk_create(days)
    rows_insert(
        row
        for day, visit in zip(days, made.visits, strict=True)
        for row in _tasks(day, visit, ground)
    )
    # a task that had several turns is named once, by the one that found no day first
    left: dict[str, Unplaced] = {}
    for item in made.not_placed:
        left.setdefault(item.task.key, item)
    NotPlaced.objects.bulk_create(
        NotPlaced(
            place=place, task=ground.rows[key], reason=item.reason, due=item.task.due,
            nearest=item.nearest,
        )
        for key, item in left.items()
    )  # fmt: skip
    DayQuestion.objects.bulk_create(
        DayQuestion(
            place=place, visit_id=asked.fixed.visit_id, on=asked.fixed.on, reason=asked.reason,
            instead=asked.instead,
        )
        for asked in questions(ground, made)
    )  # fmt: skip


def _day(plan: VisitDayPlan, visit: Visit, ground: Ground, kept_for: UUID | None) -> VisitDay:
    earliest, latest = _span(visit, ground.on, kept_for is not None)
    always = sum(row.minutes for row in _always(visit, ground))
    return VisitDay(
        place=plan.place, on=visit.day, earliest=earliest, latest=latest,
        minutes=visit.minutes + always, kept_for=kept_for,
    )  # fmt: skip


def _span(visit: Visit, on: dt.date, fixed: bool) -> tuple[dt.date, dt.date]:
    """Return the first and last day that keep each task of a visit in its window, after today."""
    if fixed or not visit.tasks:
        return visit.day, visit.day
    opens = max(on + ONE_DAY, *(placed.task.open for placed in visit.tasks))
    ends = min(placed.task.late for placed in visit.tasks)
    return min(visit.day, opens), max(visit.day, ends)


def _always(visit: Visit, ground: Ground) -> Iterable[Any]:
    """Return what is done at every visit: to the systems worked on, and to those of a visit there."""
    standing = (item.systems for item in ground.fixed if item.on == visit.day)
    systems = set(visit.systems) | {str(pk) for pks in standing for pk in pks}
    return [row for row in ground.every_visit if str(row.system_id) in systems]


def _tasks(day: VisitDay, visit: Visit, ground: Ground) -> Iterable[VisitDayTask]:
    for placed in visit.tasks:
        row = ground.rows[placed.task.key]
        yield VisitDayTask(visit_day=day, task=row, due=placed.task.due, why=placed.why)
    for row in _always(visit, ground):
        yield VisitDayTask(visit_day=day, task=row)
