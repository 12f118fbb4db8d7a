"""Insertion by joining kept pieces, against walking the whole round anew."""

import random
from dataclasses import replace

from hypothesis import given
from hypothesis import strategies as st

from apps.rounds.planning.draft import Draft
from apps.rounds.planning.problem import DAY, Lunch, Window
from apps.rounds.planning.schedule import in_order, metres_of, scheduled
from apps.rounds.planning.segments import Visit
from apps.rounds.planning.splice import Splice
from tests.effort import cases
from tests.rounds.planning.firms import HOUR, LUNCH, firm
from tests.rounds.planning.lines import line, shift_of, stop_at


def drawn(seed: int):
    """Return a problem, a possible round of it, and a stop with a window to put in."""
    rng = random.Random(seed)
    problem = firm(seed, visits=9, technicians=1, overtime=rng.choice([0, HOUR]))
    lunch = rng.choice(
        [None, LUNCH, Lunch(HOUR, 11 * HOUR, 13 * HOUR + 1800, rng.choice([1, DAY]))]
    )
    shift = replace(problem.shifts[0], lunch=lunch)
    stops = [replace(s, service=rng.randrange(600, 2 * HOUR + 1200)) for s in problem.stops]
    kind = rng.random()
    if kind < 0.1:
        stops[0] = replace(stops[0], first_of_day=True)
    elif kind < 0.2:
        stops[0] = replace(stops[0], last_of_day=True, disinfecting=900)
    problem = replace(problem, stops=tuple(stops), shifts=(shift,))
    visits: list[Visit] = []
    for stop in rng.sample(stops, rng.randint(0, 6)):
        longer = list(visits)
        longer.insert(rng.randint(0, len(visits)), Visit(stop.id, window(rng)))
        if Splice(problem, shift, longer).possible:
            visits = longer
    free = [stop for stop in stops if stop.id not in {visit.stop for visit in visits}]
    return problem, shift, visits, rng.choice(free), window(rng)


def window(rng: random.Random) -> Window:
    if rng.random() < 0.4:
        return Window(0, DAY - 1)
    begin = rng.randrange(9 * HOUR, 17 * HOUR)
    return Window(begin, begin + rng.randrange(0, 2 * HOUR))


def cost(problem, shift, visits) -> int | None:
    """Return the bill of a round walked through; None where it cannot be."""
    if not visits:
        return 0
    if not in_order([problem.by_stop[visit.stop] for visit in visits]):
        return None
    made = scheduled(problem, shift, visits)
    return None if made is None else made.bill.total


@cases(600)
@given(st.integers(0, 10**9))
def test_insertion_costs_what_the_round_costs_more(seed: int) -> None:
    problem, shift, visits, stop, window = drawn(seed)
    splice = Splice(problem, shift, visits)
    before = cost(problem, shift, visits)
    assert splice.cost == before
    found = {}
    for position in range(len(visits) + 1):
        longer = [*visits[:position], Visit(stop.id, window), *visits[position:]]
        after = cost(problem, shift, longer)
        fit = splice.at(stop, window, position)
        assert (None if fit is None else fit.extra) == (None if after is None else after - before)
        if fit is not None:
            empty = 0 if not visits else metres_of(problem, shift, visits)
            assert fit.metres == metres_of(problem, shift, longer) - empty
            found[position] = fit
    assert splice.cheapest(stop, window) == min(found.values(), default=None)


@cases(200)
@given(st.integers(0, 10**9))
def test_one_stop_more_never_saves_where_driving_directly_is_shortest(seed: int) -> None:
    problem, shift, visits, stop, window = drawn(seed)
    fit = Splice(problem, shift, visits).cheapest(stop, window)
    assert fit is None or (fit.extra > 0 and fit.metres >= 0)


def test_an_empty_round_costs_nothing_and_the_first_stop_all() -> None:
    problem = line([stop_at("a", 10, HOUR)], [shift_of(fixed_cost=700)])
    splice = Splice(problem, problem.shifts[0], [])
    assert (splice.cost, splice.possible) == (0, True)
    fit = splice.cheapest(problem.stops[0], Window(0, DAY - 1))
    assert fit.extra == 700 + 4 * 20_000 + 100 * (HOUR + 1200)


def test_first_and_last_of_the_day_keep_their_place() -> None:
    stops = [
        stop_at("fish", 5, HOUR, first_of_day=True),
        stop_at("ill", 1, HOUR, last_of_day=True),
        stop_at("a", 3, HOUR),
        stop_at("more fish", 4, HOUR, first_of_day=True),
    ]
    problem = line(stops, [shift_of()])
    day = Window(0, DAY - 1)
    splice = Splice(problem, problem.shifts[0], [Visit("fish", day), Visit("ill", day)])
    assert [p for p in range(3) if splice.allowed(stops[2], p)] == [1]
    assert not any(splice.allowed(stops[3], p) for p in range(3))
    assert splice.cheapest(stops[3], day) is None


def test_draft_takes_out_what_it_put_in() -> None:
    problem = firm(3, visits=9, technicians=2)
    draft = Draft(problem)
    for stop in problem.stops:
        offer = draft.best(stop)
        if offer is not None:
            value = draft.value
            draft.take(stop.id, offer)
            assert draft.value == value + offer.gain
            draft.remove(stop.id)
            assert draft.value == value
            draft.take(stop.id, draft.best(stop))
    for name in list(draft.seats):
        draft.remove(name)
    assert (draft.value, draft.seats) == (0, {})


def test_a_round_that_cannot_be_without_a_stop_is_emptied() -> None:
    """A road engine may know a way by the stop that is quicker than the direct one."""
    stops = [stop_at("a", 10, 60), stop_at("b", 20, 60), stop_at("c", 30, 60, (9 * HOUR, 9 * HOUR))]
    problem = line(stops, [shift_of(hours=(8, 12))])
    seconds = [list(row) for row in problem.travel.seconds]
    far = problem.travel.index["km 10"], problem.travel.index["km 30"]
    seconds[far[0]][far[1]] = 10 * HOUR
    problem = replace(problem, travel=replace(problem.travel, seconds=seconds))
    draft = Draft(problem)
    day = Window(0, DAY - 1)
    assert draft.set_round(0, [Visit("a", day), Visit("b", day), Visit("c", stops[2].windows[0])])
    draft.remove("b")
    assert draft.seats == {}
