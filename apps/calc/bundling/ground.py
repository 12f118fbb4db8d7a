"""What every way of bundling starts from: which days suit which task, and at what price."""

import datetime as dt
from bisect import bisect_left, bisect_right
from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass

from apps.calc.bundling.model import (
    CLIENT,
    CLIENT_DOES_IT,
    NO_ALLOWED_DAY,
    SKILL_MISSING,
    Apart,
    Day,
    NotPlaced,
    Task,
    check,
    pairs,
)


@dataclass(frozen=True)
class Ground:
    """Days in order, the tasks that are visited for, and those that are not.

    `wanted` have to be in a visit; `waiting` may be in one, as their window ends after the time
    that is planned. `prices` by a task's key: the places of the days that suit it, each with
    what it costs to do the task there, without the visit.
    """

    given: tuple[Task, ...]
    days: tuple[Day, ...]
    wanted: tuple[Task, ...]
    waiting: tuple[Task, ...]
    prices: Mapping[str, Mapping[int, float]]
    apart: Mapping[frozenset[str], int]
    at_most: int | None

    @property
    def promised(self) -> list[int]:
        """The places of the promised days."""
        return [place for place, day in enumerate(self.days) if day.promised]

    def cost(self, place: int) -> float:
        """Return what a visit on a day costs beyond what is promised."""
        day = self.days[place]
        return 0.0 if day.promised else day.cost

    def gap(self, task: Task, other: Task) -> int:
        """Return the days that lie from one task to another at least; 0: they may fall together."""
        if task.system != other.system:
            return 0
        return self.apart.get(frozenset((task.code, other.code)), 0)

    def away(self, place: int, other: int) -> int:
        """Return the days between two places."""
        return abs((self.days[place].day - self.days[other].day).days)

    def near(
        self, task: Task, place: int, on: Mapping[int, Sequence[Task]]
    ) -> list[tuple[int, Task]]:
        """Return what is done too near to a day for a task to be done there as well."""
        if not self.apart:
            return []
        return [
            (at, other)
            for at, others in on.items()
            for other in others
            if self.away(place, at) < self.gap(task, other)
        ]

    def left_to_clients(self) -> list[NotPlaced]:
        """Return the tasks that clients do themselves."""
        return [
            NotPlaced(task, CLIENT_DOES_IT, nearest(task, self.days))
            for task in self.given
            if task.who == CLIENT
        ]


def price(task: Task, day: dt.date) -> float:
    """Return what it costs to do a task on a day, without the visit."""
    away = (day - task.due).days
    if away <= 0:
        return -away * task.earliness
    return away * task.lateness + max(0, (day - task.late).days) * (task.overrun or 0.0)


def suitable(task: Task, days: Sequence[Day], ordered: Sequence[dt.date]) -> list[int]:
    """Return the places of the days on which a task may be done.

    What was late before the first day goes to the first day that can be had, unless each day
    past its window has a price.
    """
    overdue = bool(ordered) and task.late < ordered[0]
    first = bisect_left(ordered, task.open)
    last = len(days)
    if task.overrun is None and not overdue:
        last = bisect_right(ordered, task.late)
    found = [place for place in range(first, last) if days[place].serves(task)]
    return found[:1] if overdue and task.overrun is None else found


def unplaceable(task: Task, days: Sequence[Day]) -> NotPlaced:
    """Return a task that no day suits, with the reason."""
    inside = any(task.open <= day.day <= task.late for day in days)
    known = any(day.serves(task) for day in days)
    reason = SKILL_MISSING if days and (inside or not known) else NO_ALLOWED_DAY
    return NotPlaced(task, reason, nearest(task, days))


def nearest(task: Task, days: Sequence[Day]) -> dt.date | None:
    """Return the allowed day nearest to a task's window, inside it the nearest to its due day."""
    fitting = [day.day for day in days if day.serves(task)]
    return min(
        fitting, key=lambda day: (_outside(task, day), abs(day - task.due), day), default=None
    )


def _outside(task: Task, day: dt.date) -> dt.timedelta:
    return max(task.open - day, day - task.late, dt.timedelta())


def ground_of(
    tasks: Collection[Task],
    days: Collection[Day],
    *,
    apart: Iterable[Apart] = (),
    at_most: int | None = None,
    until: dt.date | None = None,
) -> Ground:
    """Return what a plan is made from. Raises PlanError for what cannot be planned."""
    check(tasks, days, at_most)
    in_order = tuple(sorted(days, key=lambda day: day.day))
    ordered = [day.day for day in in_order]
    visited = [task for task in tasks if task.who != CLIENT]
    return Ground(
        given=tuple(tasks),
        days=in_order,
        wanted=tuple(task for task in visited if until is None or task.late <= until),
        waiting=tuple(task for task in visited if until is not None and task.late > until),
        prices={
            task.key: {
                place: price(task, ordered[place]) for place in suitable(task, in_order, ordered)
            }
            for task in visited
        },
        apart=pairs(apart),
        at_most=at_most,
    )
