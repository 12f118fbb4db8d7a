"""How many visits a year one system takes, by how its tasks are bundled: a table, no timing.

Fifteen tasks that come round after they were done, as a care plan has them, from weekly to
yearly; each may be early and late by a share of its interval. All days are allowed. Four ways:
each task on its due day; as late as may be, and all that is open along; the look ahead of
apps.calc.bundling; and the bound below which nobody comes, the visits that the most frequent task
takes alone.

    python -m benchmarks.visits_a_year
"""

import datetime as dt
import random
from collections.abc import Sequence
from dataclasses import dataclass
from statistics import mean

from apps.calc.bundling import Day, Task, again_of, ahead
from apps.calc.rhythm import Rhythm, State, window

FIRST = dt.date(2026, 1, 1)
YEAR = 364
EVERY = (7, 14, 14, 30, 30, 42, 60, 60, 90, 90, 90, 120, 180, 180, 365)
SELDOM = tuple(days for days in EVERY if days > 14)
SHARES = (0.0, 0.1, 0.2, 0.3)
STARTS = 6


@dataclass(frozen=True)
class Row:
    """Mean visits a year for one set of tasks and one tolerance."""

    tasks: int
    share: float
    on_due_days: float
    as_late_as_may_be: float
    look_ahead: float
    bound: float

    def line(self) -> str:
        """Return it as one line."""
        return (
            f"{self.tasks:3} tasks  ±{100 * self.share:2.0f} %  on due days {self.on_due_days:6.1f}  "
            f"as late as may be {self.as_late_as_may_be:6.1f}  look ahead {self.look_ahead:6.1f}  "
            f"bound {self.bound:5.1f}"
        )


def start(every: Sequence[int], share: float, seed: int) -> list[Task]:
    """Return the tasks, each last done on a day of its own within its interval."""
    drawn = random.Random(seed)
    found = []
    for number, days in enumerate(every):
        slack = int(share * days)
        rhythm = Rhythm("after_done", days, early_min_days=slack, early_max_days=slack,
                        late_min_days=slack, late_max_days=slack)  # fmt: skip
        state = State(last_done=FIRST - dt.timedelta(days=drawn.randrange(days) + 1))
        now = window(rhythm, state)
        if now.open is None or now.due is None or now.late is None:
            continue
        name = f"{number}-every-{days}"
        again = again_of(rhythm, state)
        found.append(Task(name, name, now.open, now.due, now.late, again=again))
    return found


def _next(task: Task, day: dt.date) -> Task:
    following = task.at(task.again(day)) if task.again else None
    if following is None:
        raise ValueError(f"{task.key} does not come round")
    return following


def on_due_days(tasks: Sequence[Task], end: dt.date) -> int:
    """Return the visits if each task is done on its due day."""
    days = set()
    for task in tasks:
        while task.due <= end:
            days.add(task.due)
            task = _next(task, task.due)
    return len(days)


def as_late_as_may_be(tasks: Sequence[Task], end: dt.date) -> int:
    """Return the visits if each is as late as may be and takes all that is open along."""
    now, visits = list(tasks), 0
    while (day := min(task.late for task in now)) <= end:
        now = [_next(task, day) if task.open <= day else task for task in now]
        visits += 1
    return visits


def look_ahead(tasks: Sequence[Task], end: dt.date) -> int:
    """Return the visits of the look ahead over the whole year."""
    days = [Day(FIRST + dt.timedelta(days=n)) for n in range((end - FIRST).days + 1)]
    return len(ahead(tasks, days, until=end).visits)


def bound(tasks: Sequence[Task], end: dt.date) -> int:
    """Return the visits that the most frequent task takes alone."""
    return max(as_late_as_may_be([task], end) for task in tasks)


def visits_a_year(every: Sequence[int] = EVERY, share: float = 0.2, starts: int = STARTS) -> Row:
    """Return the mean over so many starts; each start is the same in every run."""
    end = FIRST + dt.timedelta(days=YEAR - 1)
    several = [start(every, share, seed) for seed in range(starts)]
    ways = (on_due_days, as_late_as_may_be, look_ahead, bound)
    return Row(len(every), share, *(mean(way(tasks, end) for tasks in several) for way in ways))


def table() -> list[Row]:
    """Return the rows for all tasks, and for those without the weekly and two-weekly ones."""
    return [visits_a_year(every, share) for every in (EVERY, SELDOM) for share in SHARES]


if __name__ == "__main__":
    for row in table():
        print(row.line(), flush=True)
