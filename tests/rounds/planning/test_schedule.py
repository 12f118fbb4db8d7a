"""The times of one round: against trying every moment of leaving, and by hand."""

import random
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from apps.rounds.planning.problem import DAY, Lunch, Shift, Window
from apps.rounds.planning.schedule import scheduled
from apps.rounds.planning.segments import Visit, joined
from tests.effort import cases
from tests.rounds.planning import oracle
from tests.rounds.planning.firms import HOUR, firm
from tests.rounds.planning.lines import LUNCH, line, shift_of, stop_at


def visits_of(problem, names):
    return [Visit(name, problem.by_stop[name].windows[0]) for name in names]


def test_a_day_by_hand() -> None:
    """Stops at 10 and 20 km on a line, a minute a kilometre: leave at 8:50 to be there at 9."""
    problem = line(
        [stop_at("a", 10, HOUR, (9 * HOUR, 10 * HOUR)), stop_at("b", 20, 2 * HOUR)], [shift_of()]
    )
    made = scheduled(problem, problem.shifts[0], visits_of(problem, "ab"))
    assert made.leave == 9 * HOUR - 600
    assert [(c.arrive, c.start, c.leave) for c in made.calls] == [
        (9 * HOUR, 9 * HOUR, 10 * HOUR),
        (10 * HOUR + 600, 10 * HOUR + 600, 12 * HOUR + 600),
    ]
    assert made.back == 12 * HOUR + 600 + 1200
    assert made.metres == 40_000
    assert made.paid == 3 * HOUR + 2400
    assert made.bill.driving == 4 * 40_000
    assert made.bill.time == 100 * made.paid
    assert made.bill.total == made.bill.driving + made.bill.time + made.bill.fixed


def test_waiting_is_paid_and_leaving_is_late() -> None:
    """Work from 9 to 10 and again from 15: four hours between are paid, none before."""
    problem = line(
        [
            stop_at("a", 0, HOUR, (9 * HOUR, 9 * HOUR)),
            stop_at("b", 0, HOUR, (15 * HOUR, 15 * HOUR)),
        ],
        [shift_of()],
    )
    made = scheduled(problem, problem.shifts[0], visits_of(problem, "ab"))
    assert (made.leave, made.back, made.paid) == (9 * HOUR, 16 * HOUR, 7 * HOUR)


def test_lunch_between_two_stops() -> None:
    """Work 8 to 12 and 12 to 16: half an hour between them is lunch and not paid."""
    problem = line(
        [stop_at("a", 0, 4 * HOUR), stop_at("b", 0, 4 * HOUR)],
        [shift_of(lunch=Lunch(HOUR // 2, 11 * HOUR, 14 * HOUR, inside_from=DAY))],
    )
    made = scheduled(problem, problem.shifts[0], visits_of(problem, "ab"))
    assert (made.lunch.start, made.lunch.end, made.lunch.after) == (12 * HOUR, 12.5 * HOUR, 1)
    assert not made.lunch.at_work
    assert made.back - made.leave == 8.5 * HOUR
    assert made.paid == 8 * HOUR


def test_lunch_at_work_where_the_work_is_long() -> None:
    """One job from 8 to 16 with lunch in it; where that is not allowed the day cannot be."""
    stop = stop_at("a", 0, 8 * HOUR, (8 * HOUR, 8 * HOUR))
    problem = line([stop], [shift_of(lunch=LUNCH)])
    made = scheduled(problem, problem.shifts[0], visits_of(problem, "a"))
    assert made.lunch.at_work
    assert made.calls[0].leave == 16.5 * HOUR
    assert made.paid == 8 * HOUR
    short = Lunch(HOUR // 2, 11 * HOUR, 14 * HOUR, inside_from=9 * HOUR)
    problem = line([stop], [shift_of(lunch=short)])
    assert scheduled(problem, problem.shifts[0], visits_of(problem, "a")) is None


def test_lunch_at_work_is_not_late_either() -> None:
    """Work from 10:15 to 13:05 that is too short for a break in it, then three hours that are not:
    with lunch over by 13:00 this day cannot be."""
    lunch = Lunch(HOUR // 2, 11 * HOUR, 13 * HOUR, inside_from=3 * HOUR)
    stops = [
        stop_at("a", 0, 10_200, (10 * HOUR + 900, 10 * HOUR + 900)),
        stop_at("b", 0, 3 * HOUR),
    ]
    problem = line(stops, [shift_of(lunch=lunch)])
    assert scheduled(problem, problem.shifts[0], visits_of(problem, "ab")) is None
    assert scheduled(problem, problem.shifts[0], visits_of(problem, "ba")) is None
    later = line(stops, [shift_of(lunch=replace(lunch, latest=14 * HOUR))])
    assert scheduled(later, later.shifts[0], visits_of(later, "ab")).lunch.after == 1


def test_less_pay_comes_before_an_earlier_evening() -> None:
    """Between 11:00 and 11:20 there is no half hour, but beginning ten minutes later pays."""
    stops = [
        stop_at("a", 0, HOUR, (10 * HOUR, 10 * HOUR)),
        stop_at("b", 0, 1800, (11 * HOUR + 1200, 12 * HOUR)),
    ]
    problem = line(stops, [shift_of(lunch=LUNCH)])
    made = scheduled(problem, problem.shifts[0], visits_of(problem, "ab"))
    assert (made.lunch.start, made.back, made.paid) == (11 * HOUR, 12 * HOUR, HOUR + 1800)


@pytest.mark.parametrize(("begin", "hours"), [(8, 5), (13, 4)])
def test_no_lunch_on_the_way_where_it_fits_before_or_after(begin: int, hours: int) -> None:
    stop = stop_at("a", 0, hours * HOUR, (begin * HOUR, begin * HOUR))
    problem = line([stop], [shift_of(lunch=LUNCH)])
    made = scheduled(problem, problem.shifts[0], visits_of(problem, "a"))
    assert made.lunch is None
    assert made.paid == hours * HOUR


def test_overtime_costs_more_and_ends() -> None:
    stop = stop_at("a", 0, 9 * HOUR + 1800)
    problem = line([stop], [shift_of(overtime=HOUR, overtime_per_second=50)])
    made = scheduled(problem, problem.shifts[0], visits_of(problem, "a"))
    assert made.bill.overtime == 50 * 1800
    problem = line([stop], [shift_of(overtime=900)])
    assert scheduled(problem, problem.shifts[0], visits_of(problem, "a")) is None


def test_disinfecting_takes_its_time() -> None:
    stop = stop_at("a", 0, HOUR, last_of_day=True, disinfecting=1200)
    problem = line([stop], [shift_of()])
    made = scheduled(problem, problem.shifts[0], visits_of(problem, "a"))
    assert made.calls[0].leave - made.calls[0].start == HOUR + 1200


@cases(300)
@given(st.integers(0, 10**6), st.integers(1, 5), st.booleans())
def test_as_trying_every_moment_of_leaving(seed: int, count: int, lunch: bool) -> None:
    rng = random.Random(seed)
    problem = firm(seed % 1000, visits=8, technicians=1, overtime=rng.choice([0, HOUR]))
    held = Lunch(rng.choice([1800, HOUR]), 11 * HOUR, 13 * HOUR, rng.choice([1800, 2 * HOUR, DAY]))
    begin = rng.randrange(6, 12) * HOUR
    shift = replace(problem.shifts[0], start=begin, lunch=held if lunch else None)
    stops = [
        replace(stop, service=rng.randrange(600, 3 * HOUR))
        for stop in rng.sample(problem.stops, count)
    ]
    windows = [
        Window(opens, opens + rng.randrange(0, 3 * HOUR))
        for opens in sorted(rng.randrange(7 * HOUR, 15 * HOUR) for _ in stops)
    ]
    problem = replace(problem, stops=tuple(stops))
    visits = [Visit(s.id, w) for s, w in zip(stops, windows, strict=True)]
    made = scheduled(problem, shift, visits)
    expected = oracle.least_paid(problem, shift, list(zip(stops, windows, strict=True)))
    assert (None if made is None else made.paid) == expected


@given(
    st.tuples(st.integers(0, 50), st.integers(0, 50), st.integers(0, 50)),
    st.integers(0, 20),
    st.tuples(st.integers(0, 50), st.integers(0, 50), st.integers(0, 50)),
)
@cases(300)
def test_joined_as_trying_every_second(first, driving: int, second) -> None:
    """A segment (duration, early, late) is done from begin t in `duration`, waiting as need be."""
    first = (first[0], first[1], first[1] + first[2])
    second = (second[0], second[1], second[1] + second[2])
    ends = {}
    for begin in range(first[1], first[2] + 1):
        arrive = begin + first[0] + driving
        if arrive <= second[2]:
            ends[begin] = max(arrive, second[1]) + second[0]
    whole = joined(first, driving, second)
    if not ends:
        assert whole is None
        return
    least = min(end - begin for begin, end in ends.items())
    suiting = [begin for begin, end in ends.items() if end - begin == least]
    assert whole == (least, min(suiting), max(suiting))


def test_shift_regular_hours() -> None:
    """A day of 8 to 17 with half an hour of lunch pays 8.5 hours; a morning or afternoon all."""
    full = Shift("t", 0, 8 * HOUR, 17 * HOUR, "h", "h", lunch=LUNCH)
    morning = Shift("t", 0, 8 * HOUR, 13 * HOUR, "h", "h", lunch=LUNCH)
    afternoon = Shift("t", 0, 13 * HOUR, 17 * HOUR, "h", "h", lunch=LUNCH)
    assert [s.regular / HOUR for s in (full, morning, afternoon)] == [8.5, 5, 4]
