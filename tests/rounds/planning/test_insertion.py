"""Times to offer: their cost against planning the round anew, and what is offered."""

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from apps.rounds.planning.changes import moved
from apps.rounds.planning.effort import Effort
from apps.rounds.planning.fallback import fallback
from apps.rounds.planning.insertion import AFTERNOON, MORNING, offered, slots
from apps.rounds.planning.planner import plan_rounds
from apps.rounds.planning.problem import DAY, MONEY, Promise, Settings, Window
from tests.effort import cases
from tests.rounds.planning import oracle
from tests.rounds.planning.firms import HOUR, firm
from tests.rounds.planning.lines import line, shift_of, stop_at

SHORT = Effort(iterations=200)


def test_by_hand() -> None:
    """Ann passes km 10 today anyway; tomorrow the way is hers alone; the day after, bob's is long."""
    stops = [
        stop_at("a", 20, HOUR, days=(0,)),
        stop_at("new", 10, HOUR, days=(0, 1, 2), prize=1),
        stop_at("b", 100, HOUR, days=(2,)),
    ]
    shifts = [shift_of("ann", 0), shift_of("ann", 1), shift_of("bob", 2, home=60)]
    problem = line(stops, shifts)
    plan = plan_rounds(problem, SHORT)
    found = slots(problem, plan, "new")
    assert [(slot.day, slot.technicians) for slot in found] == [
        (0, ("ann",)),
        (1, ("ann",)),
        (2, ("bob",)),
    ]
    work = 100 * HOUR
    assert found[0].extra == work
    assert found[1].extra == work + 4 * 20_000 + 100 * 1200
    assert found[2].extra == work + 4 * 100_000 + 100 * 6000
    assert [slot.metres for slot in found] == [0, 20_000, 100_000]


def test_half_days_and_what_is_offered() -> None:
    """The morning is full, so it is the afternoon, on the half-hour, two hours long."""
    stops = [
        stop_at("full", 0, 4 * HOUR, promise=Promise(Window(8 * HOUR, 8 * HOUR))),
        stop_at("new", 20, HOUR),
    ]
    problem = line(stops, [shift_of()])
    (slot,) = slots(problem, plan_rounds(problem, SHORT), "new")
    assert slot.half == AFTERNOON
    assert slot.start == 12 * HOUR + 1200
    assert slot.window == Window(12 * HOUR, 14 * HOUR)
    assert slot.delays == ()


def test_others_move_within_their_windows_and_it_is_said() -> None:
    stops = [
        stop_at("a", 20, HOUR, (9 * HOUR, 12 * HOUR), promise=Promise(Window(9 * HOUR, 12 * HOUR))),
        stop_at("new", 10, HOUR, (8 * HOUR, 8 * HOUR + 900)),
    ]
    problem = line(stops, [shift_of()])
    before = plan_rounds(replace(problem, stops=problem.stops[:1]), SHORT)
    plan = replace(before, left_out=())
    (slot,) = slots(problem, plan, "new")
    assert slot.half == MORNING
    old = before.rounds[0].calls[0].start
    ((name, seconds),) = [(delay.stop, delay.seconds) for delay in slot.delays]
    assert (name, old + seconds) == ("a", 8 * HOUR + 600 + HOUR + 600)


def test_a_slot_is_offered_with_two_people() -> None:
    stops = [stop_at("heavy", 10, HOUR, days=(0, 1), people=2)]
    shifts = [shift_of("ann", 0), shift_of("bob", 0), shift_of("ann", 1)]
    problem = line(stops, shifts)
    plan = plan_rounds(problem, SHORT)
    (slot,) = slots(problem, plan, "heavy")
    assert slot.technicians == ("ann", "bob")
    assert slot.extra == 2 * (100 * (HOUR + 1200) + 4 * 20_000)


def test_a_slot_that_was_promised_is_kept() -> None:
    """What is offered and confirmed can be planned: the promise holds in the next plan."""
    problem = firm(3, visits=10, technicians=2, days=3)
    new = problem.stops[-1]
    without = replace(problem, stops=problem.stops[:-1])
    plan = plan_rounds(without, SHORT)
    for slot in slots(problem, plan, new.id):
        told = replace(new, promise=Promise(slot.window, slot.technicians))
        again = plan_rounds(replace(problem, stops=(*problem.stops[:-1], told)), SHORT)
        going = [(m.technician, c.start) for m in again.rounds for c in m.calls if c.stop == new.id]
        assert [name for name, _ in going] == list(slot.technicians)
        assert all(slot.window.start <= start <= slot.window.end for _, start in going)


@cases(25)
@given(st.integers(0, 10**6))
def test_the_cost_offered_is_what_the_plan_costs_more(seed: int) -> None:
    problem = firm(seed, visits=9, technicians=2, days=2)
    new = problem.stops[-1]
    plan = fallback(replace(problem, stops=problem.stops[:-1]))
    found = slots(problem, plan, new.id, count=9)
    assert len({slot.day for slot in found}) == len(found)
    assert [slot.extra for slot in found] == sorted(slot.extra for slot in found)
    for slot in found:
        assert slot.extra > 0
        assert any(w.start <= slot.start <= w.end for w in new.windows)
        assert slot.window.start <= slot.start <= slot.window.end
        change = moved(problem, plan, new.id, slot.technicians, slot.day, start=slot.start)
        assert change.violations == ()
        assert change.extra <= slot.extra or change.extra == pytest.approx(slot.extra, abs=100 * 60)
    assert found == [] or found[0].extra == least(problem, plan, new)


def least(problem, plan, new) -> int:
    """Return the least that the new stop adds to any round, by trying each place in each."""
    by_key = {(m.technician, m.day): m for m in plan.rounds}
    costs = []
    for shift in problem.shifts:
        made = by_key.get((shift.technician, shift.day))
        visits = [(problem.by_stop[c.stop], c.window) for c in made.calls] if made else []
        before = oracle.cost_of(problem, shift, visits)
        for window in new.windows:
            if window.day != shift.day or not new.skills <= shift.skills:
                continue
            for n in range(len(visits) + 1):
                after = oracle.cost_of(problem, shift, [*visits[:n], (new, window), *visits[n:]])
                if after is not None:
                    costs.append(after - before)
    return min(costs)


@pytest.mark.parametrize(
    ("half", "start", "length", "window"),
    [
        ((8, 12), 9.25, 2, (9, 11)),
        ((8, 12), 11.9, 2, (10, 12)),
        ((8, 12), 8, 2, (8, 10)),
        ((10, 11), 10.5, 2, (10, 11)),
        ((9, 9), 9, 2, (9, 9)),
        ((8, 12), 9.25, 0, (9, 9.25)),
    ],
)
def test_offered_windows(half, start, length, window) -> None:
    hours = [round(h * HOUR) for h in (*half, start, length, *window)]
    assert offered(Window(*hours[:2]), hours[2], hours[3]) == Window(*hours[4:])


def test_nothing_to_offer() -> None:
    problem = line([stop_at("a", 1, HOUR, days=(4,))], [shift_of()])
    plan = plan_rounds(problem, SHORT)
    assert slots(problem, plan, "a") == []
    with pytest.raises(ValueError, match="stop b is not in the problem"):
        slots(problem, plan, "b")


def test_the_length_offered_is_a_setting() -> None:
    problem = line([stop_at("a", 0, HOUR)], [shift_of()], Settings(offer=4 * HOUR))
    (slot,) = slots(problem, plan_rounds(problem, SHORT), "a")
    assert slot.window.end - slot.window.start == 4 * HOUR
    assert slot.extra < 100 * MONEY
    assert slot.window.day * DAY == 0
