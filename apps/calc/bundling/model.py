"""Tasks with windows, days that may be visited, and the plan that is made of them."""

import datetime as dt
import math
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field, replace

from apps.calc.rhythm import Dates, RuleError
from apps.calc.wording import text as _

NO_ALLOWED_DAY = "no_allowed_day"
SKILL_MISSING = "skill_missing"
OVER_THE_LIMIT = "over_the_limit"
KEPT_APART = "kept_apart"
CLIENT_DOES_IT = "client_does_it"
CAN_WAIT = "can_wait"
OVERDUE = "overdue"

CLIENT = "client"

Apart = tuple[str, str] | tuple[str, str, int]


class PlanError(RuleError):
    """A task or a day of a plan is refused; carries the field, its value and what would be right."""


@dataclass(frozen=True)
class Task:
    """One task with the window in which it is wanted.

    `key` is its own in the plan, `code` says what it is, `system` whose it is. `earliness` and
    `lateness` are what each day before and after the due day costs, in the unit of the days'
    costs; `overrun` is the price of each day past `late`, None: not past it. Who `client` is
    never visited for. `again` gives the next window if it is done on a day; None: it does not
    come round.
    """

    key: str
    code: str
    open: dt.date
    due: dt.date
    late: dt.date
    minutes: int = 0
    skill: str = ""
    who: str = "technician"
    system: str = ""
    earliness: float = 0.001
    lateness: float = 0.001
    overrun: float | None = None
    again: Callable[[dt.date], Dates] | None = field(default=None, compare=False)

    def at(self, dates: Dates) -> "Task | None":
        """Return the task with another window; None where it sleeps."""
        if dates.open is None or dates.due is None or dates.late is None:
            return None
        return replace(self, open=dates.open, due=dates.due, late=dates.late)


@dataclass(frozen=True)
class Day:
    """A day that may be visited, what a visit then costs, and which skills can come (None: all).

    A promised day is a visit already: it is never moved and costs nothing more.
    """

    day: dt.date
    cost: float = 1.0
    skills: frozenset[str] | None = None
    promised: bool = False

    def serves(self, task: Task) -> bool:
        """Tell whether somebody with the task's skill can come."""
        return not task.skill or self.skills is None or task.skill in self.skills


@dataclass(frozen=True)
class Placed:
    """A task in a visit; `why` is a code where it lies outside its window, else empty."""

    task: Task
    day: dt.date
    why: str = ""

    @property
    def early_by(self) -> int:
        """Days before its due day."""
        return max(0, (self.task.due - self.day).days)

    @property
    def late_by(self) -> int:
        """Days past the end of its window."""
        return max(0, (self.day - self.task.late).days)


@dataclass(frozen=True)
class Visit:
    """A day with what is done on it."""

    day: dt.date
    tasks: tuple[Placed, ...]
    promised: bool = False

    @property
    def minutes(self) -> int:
        """Minutes of work, without the way."""
        return sum(placed.task.minutes for placed in self.tasks)

    @property
    def systems(self) -> tuple[str, ...]:
        """The systems that are worked on, in order of name."""
        return tuple(sorted({placed.task.system for placed in self.tasks}))


@dataclass(frozen=True)
class NotPlaced:
    """A task in no visit: why, and the allowed day nearest to its window, if there is one."""

    task: Task
    reason: str
    nearest: dt.date | None


@dataclass(frozen=True)
class Plan:
    """Visits in order, what found no place, the cost, and what the plan was made from."""

    visits: tuple[Visit, ...]
    not_placed: tuple[NotPlaced, ...]
    cost: float
    tasks: tuple[Task, ...]
    days: tuple[Day, ...]
    apart: Mapping[frozenset[str], int] = field(default_factory=dict)
    at_most: int | None = None

    @property
    def placed(self) -> tuple[Placed, ...]:
        """Every task in a visit, in order of days."""
        return tuple(placed for visit in self.visits for placed in visit.tasks)


def pairs(codes: Iterable[Apart]) -> dict[frozenset[str], int]:
    """Return pairs of codes that are kept apart on one system, with the days from one to the other.

    1, where no number is given: not on one day. PlanError for one code and for fewer days.
    """
    found: dict[frozenset[str], int] = {}
    for first, second, *more in codes:
        if first == second:
            message = _("two different tasks are kept apart, not one from itself")
            raise PlanError("apart", [first], message)
        days = more[0] if more else 1
        if days < 1:
            raise PlanError(
                "apart", days, _("kept apart by 1 day or more; leave the pair out else")
            )
        pair = frozenset((first, second))
        found[pair] = max(days, found.get(pair, 1))
    return found


def check(tasks: Iterable[Task], days: Iterable[Day], at_most: int | None) -> None:
    """Raise PlanError for what cannot be planned: it names the field and the value."""
    if at_most is not None and at_most < 0:
        raise PlanError("at_most", at_most, _("visits at most: 0 or more"))
    seen: set[str] = set()
    for task in tasks:
        if task.key in seen:
            raise PlanError("key", task.key, _("two tasks have this key; each needs its own"))
        seen.add(task.key)
        _check_task(task)
    before: dt.date | None = None
    for day in sorted(days, key=lambda item: item.day):
        if day.day == before:
            raise PlanError("day", day.day, _("this day stands twice; keep one"))
        if not (math.isfinite(day.cost) and day.cost >= 0):
            raise PlanError("cost", day.cost, _("a visit costs 0 or more"))
        before = day.day


def _check_task(task: Task) -> None:
    if not task.open <= task.due <= task.late:
        value = f"{task.open} {task.due} {task.late}"
        raise PlanError("due", value, _("a window opens, is due and ends in this order"))
    for name in ("earliness", "lateness", "overrun"):
        price = getattr(task, name)
        if price is not None and not (math.isfinite(price) and price >= 0):
            raise PlanError(name, price, _("a day early or late costs 0 or more"))
    if task.minutes < 0:
        raise PlanError("minutes", task.minutes, _("a task takes 0 minutes or more"))
