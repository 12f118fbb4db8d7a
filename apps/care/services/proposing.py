"""From a place's tasks, its hours and its visits to proposed visit days, and back to our words."""

import datetime as dt
import logging
import math
from collections.abc import Collection, Iterable, Sequence
from dataclasses import dataclass, field
from typing import Any
from uuid import UUID

from apps.calc.bundling import (
    Apart,
    Day,
    Plan,
    PlanError,
    Task,
    again_of,
    ahead,
    cheapest,
    fewest,
)
from apps.calc.workdays import free_weekdays, open_days
from apps.care.choices import Mode, Way, Who, WhyAsked
from apps.care.models import CareTask
from apps.care.selectors import counters_of, wanting_systems
from apps.care.services.rules import rhythm_of, state_of
from apps.clients.models import Place

logger = logging.getLogger(__name__)
HORIZON_DAYS = 90
YEAR_DAYS = 365
ONE_DAY = dt.timedelta(days=1)
# of a visit on another day, what one on a day of the place's area costs: so little less that no
# visit is added for it (own choice)
AREA_DAY = 0.95
WAYS = ((Way.AHEAD, ahead), (Way.CHEAPEST, cheapest), (Way.FEWEST, fewest))


@dataclass(frozen=True)
class FixedDay:
    """A visit that stands on a local date: its day is never shifted.

    `begun`: it is under way; `systems`: those that it is for.
    """

    on: dt.date
    visit_id: UUID
    begun: bool = False
    systems: frozenset[UUID] = frozenset()


@dataclass(frozen=True)
class Ground:
    """What a place's visit days are proposed from.

    `answers`: the visits that answer open advice or a reading out of its band.
    """

    on: dt.date
    until: dt.date
    open: tuple[dt.date, ...]
    fixed: tuple[FixedDay, ...]
    tasks: tuple[Task, ...]
    rows: dict[str, CareTask]
    every_visit: tuple[CareTask, ...]
    apart: tuple[Apart, ...] = ()
    at_most: int | None = None
    preferred: frozenset[dt.date] = field(default_factory=frozenset)
    liked: frozenset[int] = field(default_factory=frozenset)
    answers: frozenset[UUID] = field(default_factory=frozenset)

    def days(self, fixed: Iterable[FixedDay]) -> list[Day]:
        """Return the days that may be visited; those of `fixed` are promised."""
        held = {item.on for item in fixed}
        # a standing appointment costs no visit of its own
        found = {
            day: Day(day, cost=0.0 if day in self.preferred else self._cost(day))
            for day in (*self.open, *self.preferred)
        }
        found |= {day: Day(day, promised=True) for day in held}
        return [found[day] for day in sorted(found)]

    def _cost(self, day: dt.date) -> float:
        return AREA_DAY if day.isoweekday() in self.liked else 1.0

    def is_open(self, day: dt.date) -> bool:
        """Tell whether a day may be visited for itself."""
        return day in self.open or day in self.preferred or day == self.on


@dataclass(frozen=True)
class Asked:
    """A question to the office about a visit on a fixed day."""

    fixed: FixedDay
    reason: str
    instead: dt.date | None


def ground_of(
    *,
    place: Place,
    on: dt.date,
    fixed: Sequence[FixedDay],
    closed: Collection[dt.date],
    apart: Iterable[Apart] = (),
    preferred: Collection[dt.date] = (),
    liked: Collection[int] = (),
    horizon: int = HORIZON_DAYS,
) -> Ground:
    """Return what is known of a place on a day, for `horizon` days ahead from tomorrow.

    `closed`: days off; `apart`: pairs of codes that are kept apart by so many days; `liked`: weekdays
    (1 Monday to 7) on which somebody is in the place's area anyway.
    """
    until = on + dt.timedelta(days=horizon)
    held = CareTask.objects.filter(system__place=place, system__active=True, active=True)
    rows = list(held.order_by("pk"))
    meters = counters_of(rows)
    tasks = [task_of(row, meters.get(row.pk, {})) for row in rows if row.next_due is not None]
    weekdays = {row.weekday for row in place.hours.all()} or set(range(1, 6))
    off = free_weekdays(*(number for number in range(7) if number + 1 not in weekdays))
    coming = sorted({item for item in fixed if on <= item.on <= until}, key=_order)
    return Ground(
        on=on, until=until, fixed=tuple(coming),
        open=tuple(open_days(on + ONE_DAY, until, set(closed), off)),
        preferred=frozenset(day for day in preferred if on < day <= until and day not in closed),
        liked=frozenset(liked),
        tasks=tuple(tasks), rows={str(row.pk): row for row in rows},
        every_visit=tuple(
            row for row in rows if row.mode == Mode.EVERY_VISIT and row.who != Who.CLIENT
        ),
        apart=tuple(apart),
        at_most=_at_most(place, rows, horizon),
        answers=_answers(coming, wanting_systems(place.pk)),
    )  # fmt: skip


def _answers(coming: Iterable[FixedDay], wanting: Collection[UUID]) -> frozenset[UUID]:
    """Return the visits that come first to a system that wants somebody; later ones answer nothing."""
    first: dict[UUID, UUID] = {}
    for item in coming:
        for system in item.systems & set(wanting):
            first.setdefault(system, item.visit_id)
    return frozenset(first.values())


def _order(item: FixedDay) -> tuple[Any, ...]:
    return (item.on, not item.begun, str(item.visit_id))


def task_of(row: CareTask, meters: Any) -> Task:
    """Return a task with dates as the science of bundling knows it."""
    due = row.next_due
    if due is None:
        raise PlanError("next_due", due, f"{row.code} sleeps")
    return Task(
        key=str(row.pk), code=row.code, open=row.next_open or due, due=due,
        late=row.next_late or due, minutes=row.minutes,
        skill=row.skill, who=row.who, system=str(row.system_id),
        again=again_of(rhythm_of(row), state_of(row, meters)),
    )  # fmt: skip


def _at_most(place: Place, rows: Iterable[CareTask], horizon: int) -> int | None:
    """Return the visits that the care plans allow in the time; None where one says no number."""
    systems = {row.system_id for row in rows if row.who != Who.CLIENT}
    agreed = dict(
        place.systems.filter(pk__in=systems, care_plan__isnull=False).values_list(
            "pk", "care_plan__visits_a_year"
        )
    )
    numbers = [agreed.get(pk) for pk in systems]
    known = [number for number in numbers if number is not None]
    if not known or len(known) < len(numbers):
        return None
    return math.ceil(max(known) * horizon / YEAR_DAYS)


def propose(ground: Ground, fixed: Iterable[FixedDay] | None = None) -> tuple[Plan, str]:
    """Return a plan and the way that it was found: the look ahead, or a plainer one if it refuses.

    `fixed`: the promised days, by default all of the ground's. Raises PlanError where no way takes
    the tasks.
    """
    days = ground.days(ground.fixed if fixed is None else fixed)
    refused: ValueError | None = None
    for way, bundle in WAYS:
        try:
            plan = bundle(
                ground.tasks, days, apart=ground.apart, at_most=ground.at_most, until=ground.until
            )
        except ValueError as error:
            logger.log(logging.WARNING, "visit days %s: %s", way, error)
            refused = error
            continue
        return plan, way
    raise PlanError("tasks", len(ground.tasks), str(refused))


def questions(ground: Ground, plan: Plan) -> list[Asked]:
    """Return what the office should look at: a visit whose day the plan would not choose."""
    found = []
    done = {visit.day: visit for visit in plan.visits}
    waste = _saved_without(ground, plan)
    for item in ground.fixed:
        if item.begun:
            continue
        visit = done.get(item.on)
        if not ground.is_open(item.on):
            found.append(Asked(item, WhyAsked.DAY_CLOSED, _nearest(item.on, ground.open)))
        elif item.visit_id in ground.answers:
            continue
        elif visit is None or not visit.tasks:
            others = [day for day in done if day != item.on]
            found.append(Asked(item, WhyAsked.NOTHING_DUE, _nearest(item.on, others)))
        elif item in waste:
            found.append(Asked(item, WhyAsked.FEWER_VISITS, waste[item]))
    return found


def _saved_without(ground: Ground, plan: Plan) -> dict[FixedDay, dt.date | None]:
    """Return the fixed days without which the plan would take fewer visits, each with another day."""
    loose = [item for item in ground.fixed if not item.begun]
    if not loose:
        return {}
    free, _way = propose(ground, [item for item in ground.fixed if item.begun])
    if len(free.visits) >= len(plan.visits):
        return {}
    found: dict[FixedDay, dt.date | None] = {}
    for item in loose:
        rest = [other for other in ground.fixed if other != item]
        other_plan, _way = propose(ground, rest)
        if len(other_plan.visits) < len(plan.visits):
            kept = {visit.day for visit in plan.visits}
            days = [visit.day for visit in other_plan.visits]
            fresh = [day for day in days if day not in kept]
            found[item] = _nearest(item.on, fresh or days)
    return found


def _nearest(day: dt.date, days: Collection[dt.date]) -> dt.date | None:
    return min(days, key=lambda other: (abs(other - day), other), default=None)
