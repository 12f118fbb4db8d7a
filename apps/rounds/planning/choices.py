"""Which shifts may do a stop in which window: what promises, skills and frozen days leave open."""

from collections.abc import Iterator, Mapping
from typing import NamedTuple

from apps.rounds.planning.problem import Problem, Shift, Stop, Window


class Choice(NamedTuple):
    """One way to do a stop: begun within ``window`` by one of ``shifts`` (their numbers).

    ``worth`` is the prize there. For two people ``shifts`` holds those who can lead; with
    ``helpers`` besides them.
    """

    window: Window
    worth: int
    shifts: tuple[int, ...]
    helpers: tuple[int, ...] = ()


class Choices(Mapping[str, tuple[Choice, ...]]):
    """The choices of each stop on the map, worked out when asked for; none where it has no place."""

    def __init__(self, problem: Problem) -> None:
        self.problem = problem
        self._located = {place.id for place in problem.places if place.located}
        self._of_day: dict[int, list[int]] = {}
        for n, shift in enumerate(problem.shifts):
            self._of_day.setdefault(shift.day, []).append(n)
        self._known: dict[str, tuple[Choice, ...]] = {}

    def __getitem__(self, name: str) -> tuple[Choice, ...]:
        if name not in self._known:
            stop = self.problem.by_stop[name]
            there = stop.place in self._located
            self._known[name] = tuple(self._choices(stop)) if there else ()
        return self._known[name]

    def __iter__(self) -> Iterator[str]:
        return iter(self.problem.by_stop)

    def __len__(self) -> int:
        return len(self.problem.by_stop)

    def _choices(self, stop: Stop) -> Iterator[Choice]:
        problem = self.problem
        bound = bound_to(problem, stop)
        for window in sorted(set(windows_of(problem, stop))):
            shifts = self._of_day.get(window.day, ())
            there = [n for n in shifts if _open(problem.shifts[n], stop, window)]
            if stop.people == 1:
                able = tuple(n for n in there if _able(problem.shifts[n], stop, bound))
                if able:
                    yield Choice(window, problem.worth(stop, window.day), able)
            else:
                yield from _pairs(problem, stop, window, there, bound)


def fixed(problem: Problem, stop: Stop) -> bool:
    """Whether a stop was promised, or stands on a frozen day: it stays where it is."""
    return stop.promise is not None or frozen(problem, stop)


def frozen(problem: Problem, stop: Stop) -> bool:
    """Whether a stop's former day is frozen and those who were to go still work then."""
    former = stop.former
    if former is None or former.day not in problem.settings.frozen_days:
        return False
    at_work = {s.technician for s in problem.shifts if s.day == former.day}
    return bool(former.technicians) and at_work.issuperset(former.technicians)


def windows_of(problem: Problem, stop: Stop) -> tuple[Window, ...]:
    """Return the windows that are open to a stop: the promised one, else those of its days."""
    if stop.promise is not None:
        return (stop.promise.window,)
    days = problem.settings.frozen_days
    if stop.former is not None and frozen(problem, stop):
        return tuple(window for window in stop.windows if window.day == stop.former.day)
    return tuple(window for window in stop.windows if window.day not in days)


def bound_to(problem: Problem, stop: Stop) -> tuple[str, ...]:
    """Return the technicians who must go: by promise, or as the day is frozen; none: anybody fit."""
    if stop.promise is not None and stop.promise.technicians:
        return stop.promise.technicians
    if stop.former is not None and frozen(problem, stop):
        promised = stop.promise
        if promised is None or promised.window.day == stop.former.day:
            return stop.former.technicians
    return ()


def _pairs(
    problem: Problem, stop: Stop, window: Window, there: list[int], bound: tuple[str, ...]
) -> Iterator[Choice]:
    """Yield the choice of two people: who can lead, who can help."""
    shifts = problem.shifts
    if not set(bound) <= {shifts[n].technician for n in there}:
        return
    if len(bound) == 2:
        there = [n for n in there if shifts[n].technician in bound]
    leads = tuple(n for n in there if stop.skills <= shifts[n].skills)
    if leads and len(there) > 1:
        helpers = tuple(n for n in there if n not in leads)
        yield Choice(window, problem.worth(stop, window.day), leads, helpers)


def _open(shift: Shift, stop: Stop, window: Window) -> bool:
    """Whether the shift and the window leave time for the work on site."""
    earliest = max(shift.start, window.start)
    latest = min(shift.end + shift.overtime - stop.on_site, window.end)
    return earliest <= latest


def _able(shift: Shift, stop: Stop, bound: tuple[str, ...]) -> bool:
    return stop.skills <= shift.skills and (not bound or shift.technician in bound)
