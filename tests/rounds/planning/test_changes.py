"""Changes by hand: what they cost, whom they move, and what they break."""

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from apps.rounds.planning.changes import moved, without
from apps.rounds.planning.checker import violations
from apps.rounds.planning.effort import Effort
from apps.rounds.planning.fallback import fallback
from apps.rounds.planning.planner import plan_rounds
from apps.rounds.planning.problem import Former, Promise, Settings, Window
from tests.effort import cases
from tests.rounds.planning.firms import HOUR, firm
from tests.rounds.planning.lines import line, shift_of, stop_at

SHORT = Effort(iterations=200)
TOLD = Promise(Window(9 * HOUR, 10 * HOUR), ("ann",))


def codes(change) -> set[str]:
    return {found.code for found in change.violations}


@pytest.fixture
def problem():
    stops = [
        stop_at("a", 10, HOUR, (9 * HOUR, 12 * HOUR), days=(0, 1), promise=TOLD),
        stop_at("b", 12, HOUR, days=(0, 1)),
        stop_at("wires", 5, HOUR, days=(0, 1), skills=frozenset({"electric"})),
        stop_at("heavy", 6, HOUR, (13 * HOUR, 15 * HOUR), days=(0,), people=2, prize=9_000_000),
    ]
    shifts = [
        shift_of("ann", 0, skills=frozenset({"electric"})),
        shift_of("bob", 0, home=40),
        shift_of("bob", 1, home=40),
    ]
    return line(stops, shifts)


@pytest.fixture
def plan(problem):
    return plan_rounds(problem, SHORT)


def test_a_move_and_its_price(problem, plan) -> None:
    """b, at km 12 between ann's km 10 and home, goes to bob's own day from km 40."""
    change = moved(problem, plan, "b", ["bob"], 1)
    assert change.violations == ()
    assert change.plan.cost - plan.cost == change.extra
    old, new = sum(m.metres for m in plan.rounds), sum(m.metres for m in change.plan.rounds)
    assert new - old == change.metres == 56_000 - 4_000
    assert violations(problem, change.plan) == []
    back = moved(problem, change.plan, "b", ["ann"], 0)
    assert back.plan.cost == plan.cost


def test_what_a_move_breaks(problem, plan) -> None:
    assert codes(moved(problem, plan, "a", ["bob"], 0)) == {"promise_broken"}
    assert codes(moved(problem, plan, "a", ["ann"], 0, start=15 * HOUR + 1800)) == {
        "promise_broken"
    }
    assert codes(moved(problem, plan, "wires", ["bob"], 1)) == {"skill_missing"}
    frozen = replace(problem, settings=Settings(frozen_days=frozenset({1})))
    assert codes(moved(frozen, plan, "b", ["bob"], 1)) == {"frozen_day_changed"}
    assert codes(moved(problem, plan, "heavy", ["bob", "ann"], 0, start=15 * HOUR + 900)) == {
        "outside_window"
    }


def test_a_chosen_place_in_the_order(problem, plan) -> None:
    ann = next(m for m in plan.rounds if m.technician == "ann")
    at_end = len(ann.calls) - 1
    change = moved(problem, plan, "wires", ["ann"], 0, position=at_end)
    names = [c.stop for m in change.plan.rounds if m.technician == "ann" for c in m.calls]
    assert names[at_end] == "wires"
    assert change.extra == change.plan.cost - plan.cost
    assert "wires" not in {delay.stop for delay in change.delays}


@pytest.mark.parametrize(
    ("name", "who", "day", "more", "words"),
    [
        ("?", ["ann"], 0, {}, "stop \\? is not in the problem"),
        ("b", ["eve"], 0, {}, "eve does not work on 0; choose another day"),
        ("b", ["ann"], 1, {}, "ann does not work on 1"),
        ("b", ["ann"], 0, {"start": 17 * HOUR}, "does not fit into the day of ann"),
        ("b", ["ann", "bob"], 0, {}, "b needs one technician; name one"),
        ("heavy", ["ann"], 0, {}, "heavy needs 2 technicians"),
        ("heavy", ["ann", "ann"], 0, {}, "heavy needs 2 technicians"),
    ],
)
def test_what_cannot_be(problem, plan, name, who, day, more, words) -> None:
    with pytest.raises(ValueError, match=words):
        moved(problem, plan, name, who, day, **more)


def test_a_technician_falls_ill(problem, plan) -> None:
    """What ann had is looked at again: her promise breaks, wires has nobody, b goes to bob."""
    change, moves = without(problem, plan, "ann", 0)
    assert all(made.technician != "ann" for made in change.plan.rounds)
    where = {move.stop: (move.day, move.technicians) for move in moves}
    assert where["a"] == (None, ())
    assert where["wires"] == (None, ())
    assert where["heavy"] == (None, ())
    assert where["b"][1] == ("bob",)
    reasons = {left.stop: left.reason for left in change.plan.left_out}
    assert reasons == {
        "a": "technician_away",
        "wires": "skill_missing",
        "heavy": "second_person_missing",
    }
    assert change.violations == ()


def test_who_falls_ill_today_is_stood_in_for_today() -> None:
    """A frozen day is open to colleagues for what the absent one had, and else stays."""
    stops = [
        stop_at("a", 10, HOUR, days=(0,), former=Former(0, ("ann",))),
        stop_at("b", 12, HOUR, days=(0,), former=Former(0, ("bob",))),
    ]
    problem = line(stops, [shift_of("ann"), shift_of("bob")], Settings(frozen_days=frozenset({0})))
    plan = plan_rounds(problem, SHORT)
    change, moves = without(problem, plan, "ann", 0)
    assert [(move.stop, move.technicians) for move in moves] == [("a", ("bob",))]
    assert change.violations == ()
    assert change.extra < 0


def test_the_problem_has_changed_since(problem, plan) -> None:
    longer = tuple(replace(s, service=5 * HOUR) for s in problem.stops)
    with pytest.raises(ValueError, match="the round of ann on day 0 is not possible any more"):
        moved(replace(problem, stops=longer), plan, "b", ["bob"], 1)


@cases(25)
@given(st.integers(0, 10**6))
def test_without_anybody_nothing_else_moves(seed: int) -> None:
    problem = firm(seed, visits=10, technicians=3, days=2, odd=True)
    plan = fallback(problem)
    if not plan.rounds:
        return
    gone = plan.rounds[seed % len(plan.rounds)]
    change, moves = without(problem, plan, gone.technician, gone.day)
    assert change.violations == ()
    lost = {move.stop for move in moves}
    assert lost == {call.stop for call in gone.calls}
    before = {(c.stop, m.technician, m.day) for m in plan.rounds for c in m.calls}
    after = {(c.stop, m.technician, m.day) for m in change.plan.rounds for c in m.calls}
    assert {row for row in before if row[0] not in lost} == {
        row for row in after if row[0] not in lost
    }
    assert all(row[1:] != (gone.technician, gone.day) for row in after)
