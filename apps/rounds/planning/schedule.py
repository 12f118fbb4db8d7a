"""The exact times of one round in a given order, with its lunch and its bill."""

from collections.abc import Iterator, Sequence
from itertools import pairwise
from typing import NamedTuple

from apps.rounds.planning.plan import Bill, Break, Call, Round
from apps.rounds.planning.problem import Problem, Shift, Stop
from apps.rounds.planning.segments import (
    LunchTimes,
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

BEFORE, AFTER_HOME = -1, -2


class LunchAt(NamedTuple):
    """Where the break goes: after so many calls (or BEFORE leaving, AFTER_HOME), and whether at work."""

    after: int
    at_work: bool = False


class _Step(NamedTuple):
    """One activity: which place it is at, its segment, which call it is (None: none)."""

    place: int
    segment: Segment
    call: int | None


def scheduled(problem: Problem, shift: Shift, visits: Sequence[Visit]) -> Round | None:
    """Return the round with the least paid time, the earliest back among equals; None if impossible.

    Lunch is tried in each place where it may go. The technician leaves as late as costs nothing.
    """
    best: tuple[int, int, LunchAt | None, Segment, list[_Step]] | None = None
    lunch = lunch_times(shift)
    for option in _options(problem, visits, lunch):
        steps = _steps(problem, shift, visits, lunch, option)
        whole = _whole(problem, steps) if steps else None
        if whole is None:
            continue
        paid = whole[0] - (lunch.seconds if lunch and _on_the_way(option) else 0)
        key = paid, whole[0] + whole[1]
        if price(shift, problem.costs.per_second, paid) is not None and (
            best is None or key < best[:2]
        ):
            best = (*key, option, whole, steps or [])
    if best is None:
        return None
    return _timed(problem, shift, visits, best[2], best[3], best[4])


def metres_of(problem: Problem, shift: Shift, visits: Sequence[Visit]) -> int:
    """Return the metres of a round from its start to its end."""
    index, rows = problem.travel.index, problem.travel.metres
    names = [shift.start_place, *(problem.by_stop[v.stop].place for v in visits), shift.end_place]
    at = [index[name] for name in names]
    return sum(rows[a][b] for a, b in pairwise(at))


def in_order(stops: Sequence[Stop]) -> bool:
    """Whether what must come first or last of the day does."""
    late_firsts = any(stop.first_of_day for stop in stops[1:])
    early_lasts = any(stop.last_of_day for stop in stops[:-1])
    return not (late_firsts or early_lasts)


def _on_the_way(option: LunchAt | None) -> bool:
    return option is not None and option.after >= 0


def _options(
    problem: Problem, visits: Sequence[Visit], lunch: LunchTimes | None
) -> Iterator[LunchAt | None]:
    if lunch is None:
        yield None
        return
    yield LunchAt(BEFORE)
    yield LunchAt(AFTER_HOME)
    for n, visit in enumerate(visits, 1):
        yield LunchAt(n)
        if problem.by_stop[visit.stop].service >= lunch.inside_from:
            yield LunchAt(n, at_work=True)


def _steps(
    problem: Problem,
    shift: Shift,
    visits: Sequence[Visit],
    lunch: LunchTimes | None,
    option: LunchAt | None,
) -> list[_Step] | None:
    """Return the activities of a round with its lunch, or None where one of them cannot be."""
    index = problem.travel.index
    at = option or LunchAt(-3)
    first = leaving(shift, lunch if at.after == BEFORE else None)
    last = coming_home(shift, lunch if at.after == AFTER_HOME else None)
    if first is None or last is None:
        return None
    steps = [_Step(index[shift.start_place], first, None)]
    for n, visit in enumerate(visits, 1):
        stop = problem.by_stop[visit.stop]
        here = index[stop.place]
        inside = lunch is not None and at == (n, True)
        segment = (
            work_with_lunch(stop, visit.window, lunch)
            if lunch is not None and inside
            else work(stop, visit.window)
        )
        if segment is None:
            return None
        steps.append(_Step(here, segment, n - 1))
        if lunch is not None and at == (n, False):
            steps.append(_Step(here, rest(lunch), None))
    steps.append(_Step(index[shift.end_place], last, None))
    return steps


def _whole(problem: Problem, steps: Sequence[_Step]) -> Segment | None:
    driving = problem.travel.seconds
    whole: Segment | None = steps[0].segment
    for before, step in pairwise(steps):
        if whole is None:
            return None
        whole = joined(whole, driving[before.place][step.place], step.segment)
    return whole


def _timed(
    problem: Problem,
    shift: Shift,
    visits: Sequence[Visit],
    option: LunchAt | None,
    whole: Segment,
    steps: Sequence[_Step],
) -> Round:
    """Walk through the steps from the chosen begin."""
    driving = problem.travel.seconds
    lunch = lunch_times(shift)
    clock = whole[1]
    calls: list[Call] = []
    taken: Break | None = None
    for before, step in pairwise(steps):
        arrive = clock + driving[before.place][step.place]
        start = max(arrive, step.segment[1])
        clock = start + step.segment[0]
        if step.call is not None:
            visit = visits[step.call]
            calls.append(Call(visit.stop, visit.window, arrive, start, clock))
            if lunch and option == (step.call + 1, True):
                begin = max(start, lunch.earliest)
                taken = Break(begin, begin + lunch.seconds, step.call + 1, at_work=True)
        elif lunch and option is not None and step is not steps[-1]:
            taken = Break(start, clock, option.after)
    metres = metres_of(problem, shift, visits)
    paid = whole[0] - (lunch.seconds if taken and lunch else 0)
    return Round(
        technician=shift.technician,
        day=shift.day,
        leave=whole[1],
        back=clock,
        calls=tuple(calls),
        lunch=taken,
        metres=metres,
        bill=bill(problem, shift, metres, paid),
    )


def bill(problem: Problem, shift: Shift, metres: int, paid: int) -> Bill:
    """Return what a round costs that drives ``metres`` and is paid for ``paid`` [s]."""
    return Bill(
        fixed=shift.fixed_cost,
        driving=problem.costs.per_metre * metres,
        time=problem.costs.per_second * paid,
        overtime=shift.overtime_per_second * max(paid - shift.regular, 0),
    )
