"""What a new plan changes of an old one, and why, as codes."""

import datetime as dt
from collections import defaultdict
from dataclasses import dataclass

from apps.calc.bundling.model import (
    KEPT_APART,
    OVER_THE_LIMIT,
    SKILL_MISSING,
    Day,
    Placed,
    Plan,
    Task,
)

NEW_TASK = "new_task"
TASK_GONE = "task_gone"
NOW_POSSIBLE = "now_possible"
WINDOW_MOVED = "window_moved"
DAY_CLOSED = "day_closed"
PROMISED_DAY = "promised_day"
FEWER_VISITS = "fewer_visits"
TOGETHER = "done_together"
COMES_ROUND = "comes_round"
COMES_LATER = "comes_round_later"


@dataclass(frozen=True)
class Change:
    """One task that moved, came or went: from which day to which, and why as a code."""

    task: Task
    old: dt.date | None
    new: dt.date | None
    why: str


@dataclass(frozen=True)
class Changes:
    """What a new plan changes: tasks moved, added and dropped, days visited anew or no more."""

    moved: tuple[Change, ...]
    added: tuple[Change, ...]
    dropped: tuple[Change, ...]
    visits_added: tuple[dt.date, ...]
    visits_dropped: tuple[dt.date, ...]

    def __bool__(self) -> bool:
        """Tell whether there is any change."""
        return any((self.moved, self.added, self.dropped, self.visits_added, self.visits_dropped))


class _Compared:
    """Two plans side by side; what lies before the new plan's first day is over."""

    def __init__(self, old: Plan, new: Plan) -> None:
        self.old, self.new = old, new
        self.begins = new.days[0].day if new.days else dt.date.max
        self.days = {day.day: day for day in new.days}
        self.tasks = {task.key: task for task in new.tasks}
        self.known = {task.key for task in old.tasks}
        self.missing = {item.task.key: item for item in new.not_placed}
        self.was_missing = {item.task.key for item in old.not_placed}
        self.visits = {visit.day: visit for visit in new.visits}

    def turns(self, plan: Plan) -> dict[str, list[Placed]]:
        """Return the turns of each task in a plan, in order of days."""
        found: dict[str, list[Placed]] = defaultdict(list)
        for placed in plan.placed:
            if placed.day >= self.begins:
                found[placed.task.key].append(placed)
        return found

    def moved(self, day: dt.date, to: Placed) -> str:
        """Return why a task is no longer done on a day."""
        allowed, task = self.days.get(day), to.task
        if to.why == OVER_THE_LIMIT:
            return OVER_THE_LIMIT
        if allowed is None:
            return DAY_CLOSED
        if not task.open <= day <= task.late:
            return WINDOW_MOVED
        if not allowed.serves(task):
            return SKILL_MISSING
        if self._kept_from(day, task):
            return KEPT_APART
        if self._newly_promised(to.day):
            return PROMISED_DAY
        return TOGETHER if day in self.visits else FEWER_VISITS

    def _kept_from(self, day: dt.date, task: Task) -> bool:
        visit = self.visits.get(day)
        return visit is not None and any(
            frozenset((task.code, other.task.code)) in self.new.apart
            for other in visit.tasks
            if other.task.system == task.system
        )

    def _newly_promised(self, day: dt.date) -> bool:
        before: Day | None = next((item for item in self.old.days if item.day == day), None)
        return self.days[day].promised and not (before is not None and before.promised)

    def dropped(self, key: str) -> str:
        """Return why a turn of a task has gone."""
        if key not in self.tasks:
            return TASK_GONE
        if key in self.missing:
            return self.missing[key].reason
        return COMES_LATER

    def added(self, key: str) -> str:
        """Return why a turn of a task is new."""
        if key not in self.known:
            return NEW_TASK
        return NOW_POSSIBLE if key in self.was_missing else COMES_ROUND


def changes(old: Plan, new: Plan) -> Changes:
    """Return what a new plan changes of an old one.

    Turns of a task on the same day are the same; the others go together in order of days. What
    the old plan had before the new one's first allowed day is over and no change.
    """
    compared = _Compared(old, new)
    before, after = compared.turns(old), compared.turns(new)
    moved: list[Change] = []
    added: list[Change] = []
    dropped: list[Change] = []
    for key in sorted(before.keys() | after.keys()):
        same = {put.day for put in before[key]} & {put.day for put in after[key]}
        was = [put for put in before[key] if put.day not in same]
        now = [put for put in after[key] if put.day not in same]
        moved += [
            Change(to.task, put.day, to.day, compared.moved(put.day, to))
            for put, to in zip(was, now, strict=False)
        ]
        dropped += [
            Change(put.task, put.day, None, compared.dropped(key)) for put in was[len(now) :]
        ]
        added += [Change(put.task, None, put.day, compared.added(key)) for put in now[len(was) :]]
    old_days = {visit.day for visit in old.visits if visit.day >= compared.begins}
    return Changes(
        tuple(moved), tuple(added), tuple(dropped),
        tuple(sorted(compared.visits.keys() - old_days)),
        tuple(sorted(old_days - compared.visits.keys())),
    )  # fmt: skip
