"""One round opened for insertion: what a stop more costs at each place, without walking it anew.

The round's beginnings and ends are kept as segments, once without lunch and once for each place
where the lunch may go; a stop is put between a beginning and an end in constant time.
"""

from collections.abc import Callable, Iterator, Sequence
from typing import NamedTuple

from apps.rounds.planning.problem import Problem, Shift, Stop, Window
from apps.rounds.planning.schedule import in_order, metres_of
from apps.rounds.planning.segments import (
    Segment,
    Visit,
    coming_home,
    joined,
    leaving,
    lunch_times,
    price,
    rest,
    work,
    work_with_lunch,
)


class Part(NamedTuple):
    """A beginning or an end of a round: its segment, whether lunch is had, and how much on the way."""

    segment: Segment
    had: bool
    unpaid: int


class Fit(NamedTuple):
    """A stop in a round: before the call number ``position``, for ``extra`` money and ``metres``."""

    extra: int
    metres: int
    position: int
    window: Window


class Splice:
    """A round of ``visits`` that is possible as it stands; ``cost`` is its bill (0 when empty)."""

    def __init__(self, problem: Problem, shift: Shift, visits: Sequence[Visit]) -> None:
        """Keep the beginnings and ends. ``possible`` is False where the round is none."""
        self.problem, self.shift, self.visits = problem, shift, tuple(visits)
        self.lunch = lunch_times(shift)
        self.stops = [problem.by_stop[visit.stop] for visit in visits]
        index = problem.travel.index
        self.places = [
            index[shift.start_place],
            *(index[stop.place] for stop in self.stops),
            index[shift.end_place],
        ]
        self.known: dict[tuple[str, Window], Fit | None] = {}
        self.metres = metres_of(problem, shift, visits)
        self.begins = self._begins()
        self.ends = self._ends()
        found = self._least(self.begins[-1], self.ends[-1], None) if visits else 0
        self.possible = found is not None and in_order(self.stops)
        self.cost = self._bill(self.metres, found or 0) if visits else 0

    def _bill(self, metres: int, timed: int) -> int:
        return self.shift.fixed_cost + self.problem.costs.per_metre * metres + timed

    def _variants(self, stop: Stop, window: Window) -> list[Part]:
        """Return a stop on site without lunch, with lunch at work, and with lunch after it."""
        plain = Part(work(stop, window), False, 0)
        if self.lunch is None:
            return [plain]
        found = [plain]
        inside = work_with_lunch(stop, window, self.lunch)
        if inside is not None:
            found.append(Part(inside, True, self.lunch.seconds))
        after = joined(plain.segment, 0, rest(self.lunch))
        if after is not None:
            found.append(Part(after, True, self.lunch.seconds))
        return found

    def _begins(self) -> list[list[Part]]:
        """Return for each number of calls what the round up to there may look like."""
        seconds = self.problem.travel.seconds
        first = leaving(self.shift)
        parts = [Part(first, self.lunch is None, 0)] if first else []
        late = leaving(self.shift, self.lunch) if self.lunch else None
        if late:
            parts.append(Part(late, True, 0))
        kept = [parts]
        for n, visit in enumerate(self.visits):
            driving = seconds[self.places[n]][self.places[n + 1]]
            variants = self._variants(self.stops[n], visit.window)
            parts = pruned(list(_all_joined(parts, driving, variants)), _as_begin)
            kept.append(parts)
        return kept

    def _ends(self) -> list[list[Part]]:
        """Return the round from each call on; the last is the way home alone."""
        seconds = self.problem.travel.seconds
        home = coming_home(self.shift)
        parts = [Part(home, False, 0)] if home else []
        early = coming_home(self.shift, self.lunch) if self.lunch else None
        if early:
            parts.append(Part(early, True, 0))
        kept = [parts]
        for n in range(len(self.visits) - 1, -1, -1):
            driving = seconds[self.places[n + 1]][self.places[n + 2]]
            variants = self._variants(self.stops[n], self.visits[n].window)
            parts = pruned(list(_all_joined(variants, driving, parts)), _as_end)
            kept.append(parts)
        return kept[::-1]

    def _least(
        self, begins: Sequence[Part], ends: Sequence[Part], driving: int | None
    ) -> int | None:
        """Return the least price of time of a beginning and an end in a row; None if none fits."""
        if driving is None:
            driving = self.problem.travel.seconds[self.places[-2]][self.places[-1]]
        least: int | None = None
        for begin in begins:
            for end in ends:
                if begin.had == end.had:
                    continue
                whole = joined(begin.segment, driving, end.segment)
                if whole is None:
                    continue
                paid = whole[0] - begin.unpaid - end.unpaid
                cost = price(self.shift, self.problem.costs.per_second, paid)
                if cost is not None and (least is None or cost < least):
                    least = cost
        return least

    def at(self, stop: Stop, window: Window, position: int) -> Fit | None:
        """Return what ``stop`` costs before the call number ``position``; None if it does not fit."""
        if not self.allowed(stop, position):
            return None
        return self._at(stop, window, position, self._variants(stop, window))

    def _at(
        self, stop: Stop, window: Window, position: int, variants: Sequence[Part]
    ) -> Fit | None:
        seconds = self.problem.travel.seconds
        before, after = self.places[position], self.places[position + 1]
        here = self.problem.travel.index[stop.place]
        begins = list(_all_joined(self.begins[position], seconds[before][here], variants))
        timed = self._least(begins, self.ends[position], seconds[here][after])
        if timed is None:
            return None
        more = self._detour(here, position)
        base = self.metres if self.visits else 0
        return Fit(self._bill(base + more, timed) - self.cost, more, position, window)

    def _detour(self, here: int, position: int) -> int:
        """Return the metres that going by way of a place adds (to an empty round, all of them)."""
        metres = self.problem.travel.metres
        before, after = self.places[position], self.places[position + 1]
        direct = metres[before][after] if self.visits else 0
        return metres[before][here] + metres[here][after] - direct

    def allowed(self, stop: Stop, position: int) -> bool:
        """Whether a stop may stand there, as some must come first or last of the day."""
        stops = self.stops
        if position > 0 and (stop.first_of_day or stops[position - 1].last_of_day):
            return False
        return not (position < len(stops) and (stop.last_of_day or stops[position].first_of_day))

    def cheapest(self, stop: Stop, window: Window) -> Fit | None:
        """Return the cheapest place for a stop in this round, the first among equals.

        The answer is kept: a round never changes, a changed one is another.
        """
        key = stop.id, window
        if key not in self.known:
            self.known[key] = self._search(stop, window)
        return self.known[key]

    def _search(self, stop: Stop, window: Window) -> Fit | None:
        """Try the places from the least detour on, until the driving alone costs too much.

        A stop more never saves paid time: without it the same day takes no longer, as long as
        driving directly takes no longer than by way of the stop and its service.
        """
        here = self.problem.travel.index[stop.place]
        variants = self._variants(stop, window)
        by_detour = sorted(
            (self._detour(here, position), position)
            for position in range(len(self.visits) + 1)
            if self.allowed(stop, position)
        )
        best: Fit | None = None
        for detour, position in by_detour:
            if best and self.problem.costs.per_metre * detour > best.extra:
                break
            fit = self._at(stop, window, position, variants)
            if fit is not None and (best is None or fit < best):
                best = fit
        return best


def _all_joined(begins: Sequence[Part], driving: int, ends: Sequence[Part]) -> Iterator[Part]:
    """Yield each beginning with each end, lunch at most once."""
    for begin in begins:
        for end in ends:
            if begin.had and end.had:
                continue
            whole = joined(begin.segment, driving, end.segment)
            if whole is not None:
                yield Part(whole, begin.had or end.had, begin.unpaid + end.unpaid)


Measures = tuple[int, int, int]


def pruned(parts: Sequence[Part], measures: Callable[[Part], Measures]) -> list[Part]:
    """Leave out parts that another one is at least as good as, whatever they are joined to."""
    kept: list[tuple[bool, Measures, Part]] = []
    for part in sorted(parts, key=measures):
        mine = measures(part)
        if not any(
            had == part.had and all(a <= b for a, b in zip(theirs, mine, strict=True))
            for had, theirs, _ in kept
        ):
            kept.append((part.had, mine, part))
    return [part for *_, part in kept]


def _as_begin(part: Part) -> Measures:
    """Paid time, earliest end, and how late it may begin: of each the less the better."""
    time, early, late = part.segment
    return time - part.unpaid, early + time, -late - part.unpaid


def _as_end(part: Part) -> Measures:
    """Paid time, the paid time up to its end if it is reached too early, how late it may begin."""
    time, early, late = part.segment
    return time - part.unpaid, early + time - part.unpaid, -late
