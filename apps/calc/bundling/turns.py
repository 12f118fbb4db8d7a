"""The turns of one task: its window now, and the one that follows if it is done on a day."""

import datetime as dt
from bisect import bisect_left, bisect_right
from collections.abc import Callable, Sequence
from dataclasses import dataclass

from apps.calc.bundling.ground import unplaceable
from apps.calc.bundling.model import KEPT_APART, Day, Task
from apps.calc.rhythm import Dates, Rhythm, State, advanced, window

FAR = 1 << 30
FIRST = -1
# codes from here on: the turn after that code found no day, as it was kept apart
LOST = 1 << 20


@dataclass(frozen=True, slots=True)
class Turn:
    """One window as places of days: the first and last that suit, and those worth a visit.

    `must`: it has to be in a visit; `lost`: the reason why it cannot be; `due` is an ordinal.
    """

    task: Task | None = None
    first: int = FAR
    last: int = -1
    marks: tuple[int, ...] = ()
    must: bool = False
    lost: str = ""
    due: int = 0


IDLE = Turn()


def again_of(rhythm: Rhythm, state: State) -> Callable[[dt.date], Dates]:
    """Return what gives the next window of a rule if its task is done on a day."""
    return lambda day: window(rhythm, advanced(rhythm, state, day))


class Track:
    """A task's turns, each worked out once. `stretch`: days past their end that windows may take."""

    def __init__(self, task: Task, days: Sequence[Day], until: dt.date, stretch: int = 0) -> None:
        """Keep the places of the days that have the task's skill."""
        self.task, self.days, self.until, self.stretch = task, days, until, stretch
        self.places = [place for place, day in enumerate(days) if day.serves(task)]
        self.ordered = [days[place].day for place in self.places]
        self.serves = None if len(self.places) == len(days) else frozenset(self.places)
        self.turns: dict[int, Turn] = {FIRST: self._turn(task)}

    def turn(self, code: int) -> Turn:
        """Return the turn of a code: FIRST, the place where it was done last, or what was lost."""
        found = self.turns.get(code)
        if found is None:
            found = self.turns[code] = self._lost(code) if code >= LOST else self._next(code)
        return found

    def serves_on(self, place: int) -> bool:
        """Tell whether the task's skill can come on a day."""
        return self.serves is None or place in self.serves

    def _lost(self, code: int) -> Turn:
        return Turn(self.turn(code - LOST + FIRST).task, lost=KEPT_APART)

    def _next(self, place: int) -> Turn:
        dates = self.task.again(self.days[place].day) if self.task.again else None
        task = self.task.at(dates) if dates else None
        return self._turn(task) if task else IDLE

    def _turn(self, task: Task) -> Turn:
        must = task.late <= self.until
        low = bisect_left(self.ordered, task.open)
        late = task.late
        if low < len(self.ordered) and late < self.days[0].day:
            late = max(late, self.ordered[low])
        late += dt.timedelta(days=self.stretch)
        high = bisect_right(self.ordered, late) - 1
        due = task.due.toordinal()
        if high < low:
            if not must:
                return Turn(task, due=due)
            return Turn(task, lost=unplaceable(task, self.days).reason, due=due)
        at_due = min(high, max(low, bisect_right(self.ordered, task.due) - 1))
        marks = tuple(sorted({self.places[at] for at in (low, at_due, high)}))
        return Turn(task, self.places[low], self.places[high], marks, must, due=due)
