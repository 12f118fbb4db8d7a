"""What a round and a plan are worth, by trying everything: shares no code with the planner.

A round's least paid time: leave at each moment that can matter (the earliest, or so that one of the
activities begins just as it opens or closes) and do everything as early as it goes. A plan's best value: every
order of every set of stops in every shift, then every way to share the stops out.
"""

from collections.abc import Iterator, Sequence
from itertools import pairwise

from apps.rounds.planning.problem import DAY, Problem, Shift, Stop, Window

Activity = tuple[int, int, int, int]  # opens, closes, lasts, driving before it


def least_paid(problem: Problem, shift: Shift, visits: Sequence[tuple[Stop, Window]]) -> int | None:
    """Return the least paid seconds of a round in this order, over all places for lunch."""
    found = [
        paid
        for activities, unpaid, bounds in _with_lunch(problem, shift, visits)
        for paid in _paid(activities, unpaid, bounds)
        if paid <= shift.regular + shift.overtime
    ]
    return min(found, default=None)


def _with_lunch(problem: Problem, shift: Shift, visits: Sequence[tuple[Stop, Window]]) -> Iterator:
    row = {name: n for n, name in enumerate(problem.travel.places)}
    at = [row[shift.start_place], *(row[s.place] for s, _ in visits), row[shift.end_place]]
    drives = [problem.travel.seconds[a][b] for a, b in pairwise(at)]
    plain = [
        (w.start, w.end, s.service + s.disinfecting, drives[n]) for n, (s, w) in enumerate(visits)
    ]
    latest = shift.end + shift.overtime
    home = (0, latest, 0, drives[-1])
    if shift.lunch is None:
        yield [*plain, home], 0, (shift.start, latest)
        return
    lunch, dawn = shift.lunch, shift.day * DAY
    opens, closes = dawn + lunch.earliest, dawn + lunch.latest - lunch.seconds
    yield [*plain, home], 0, (max(shift.start, opens + lunch.seconds), latest)
    yield [*plain, (0, min(latest, closes), 0, drives[-1])], 0, (shift.start, latest)
    for n, (stop, _) in enumerate(visits):
        rest = (opens, closes, lunch.seconds, 0)
        yield [*plain[: n + 1], rest, *plain[n + 1 :], home], lunch.seconds, (shift.start, latest)
        if stop.service >= lunch.inside_from:
            a, b, lasts, drive = plain[n]
            held = (max(a, opens - stop.service), min(b, closes), lasts + lunch.seconds, drive)
            parts = [*plain[:n], held, *plain[n + 1 :], home]
            yield parts, lunch.seconds, (shift.start, latest)


def _paid(activities: Sequence[Activity], unpaid: int, bounds: tuple[int, int]) -> Iterator[int]:
    """Yield the paid time for each moment of leaving that can matter and works out."""
    moments, travelled = {bounds[0]}, 0
    for opens, closes, lasts, drive in activities:
        travelled += drive
        moments |= {opens - travelled, closes - travelled}
        travelled += lasts
    for leave in moments:
        if not bounds[0] <= leave <= bounds[1]:
            continue
        clock: int | None = leave
        for opens, closes, lasts, drive in activities:
            begin = max(clock + drive, opens)
            if begin > closes:
                clock = None
                break
            clock = begin + lasts
        if clock is not None:
            yield clock - leave - unpaid


def cost_of(problem: Problem, shift: Shift, visits: Sequence[tuple[Stop, Window]]) -> int | None:
    """Return what a round costs in this order; None where it cannot be."""
    if not visits:
        return 0
    stops = [stop for stop, _ in visits]
    if any(s.first_of_day for s in stops[1:]) or any(s.last_of_day for s in stops[:-1]):
        return None
    paid = least_paid(problem, shift, visits)
    if paid is None:
        return None
    row = {name: n for n, name in enumerate(problem.travel.places)}
    at = [row[shift.start_place], *(row[s.place] for s in stops), row[shift.end_place]]
    metres = sum(problem.travel.metres[a][b] for a, b in pairwise(at))
    over = max(0, paid - shift.regular)
    return (
        shift.fixed_cost
        + problem.costs.per_metre * metres
        + problem.costs.per_second * paid
        + shift.overtime_per_second * over
    )


def optimum(problem: Problem, stops: Sequence[Stop] | None = None) -> int:
    """Return the best value of any plan of one-person stops without promise or frozen day."""
    stops = list(problem.stops if stops is None else stops)
    best = {frozenset(): 0}
    for shift in problem.shifts:
        options = _rounds(problem, shift, stops)
        new: dict[frozenset[str], int] = {}
        for used, value in best.items():
            for names, gain in options.items():
                if not used & names:
                    key = used | names
                    new[key] = max(new.get(key, value + gain), value + gain)
        best = new
    return max(best.values())


def _rounds(problem: Problem, shift: Shift, stops: Sequence[Stop]) -> dict[frozenset[str], int]:
    """Return for each set of stops that a shift can do the most that its round is worth."""
    found: dict[frozenset[str], int] = {frozenset(): 0}
    able = [
        (stop, window)
        for stop in stops
        for window in stop.windows
        if window.day == shift.day and stop.skills <= shift.skills
    ]

    def grow(visits: list[tuple[Stop, Window]]) -> None:
        for stop, window in able:
            if any(stop is other for other, _ in visits):
                continue
            longer = [*visits, (stop, window)]
            # what is impossible stays so with more in it; the rule of order does not bind yet
            if least_paid(problem, shift, longer) is None:
                continue
            cost = cost_of(problem, shift, longer)
            if cost is not None:
                names = frozenset(s.id for s, _ in longer)
                gain = -cost + sum(
                    problem.worth(s, shift.day) + problem.drawn(s, shift.day, [shift.technician])
                    for s, _ in longer
                )
                found[names] = max(found.get(names, gain), gain)
            grow(longer)

    grow([])
    return found
