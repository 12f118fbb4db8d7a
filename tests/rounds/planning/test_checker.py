"""The judge of plans: a sound plan passes, each planted fault is found by its name."""

from collections.abc import Callable
from dataclasses import replace

import pytest

from apps.rounds.planning.checker import violations
from apps.rounds.planning.effort import Effort
from apps.rounds.planning.plan import Break, LeftOut, Plan, Round
from apps.rounds.planning.planner import PlanRefused, given_out, plan_rounds
from apps.rounds.planning.problem import MONEY, Former, Problem, Promise, Settings, Window
from tests.rounds.planning.firms import HOUR
from tests.rounds.planning.lines import LUNCH, line, shift_of, stop_at

CRANE = frozenset({"crane"})


@pytest.fixture(scope="module")
def sound() -> Problem:
    """Two technicians, two days, the first of them frozen, something of each kind."""
    before = Former(0, ("ann",))
    told = Promise(Window(86400 + 13 * HOUR, 86400 + 14 * HOUR), ("bob",))
    stops = [
        stop_at("long", 5, 6 * HOUR, (8.5 * HOUR, 8.5 * HOUR), former=before),
        stop_at("after", 6, HOUR, former=before),
        stop_at("kept", 7, HOUR // 2, days=(0, 1), former=before),
        stop_at("heavy", 10, HOUR, days=(1,), people=2, skills=CRANE, prize=900 * MONEY),
        stop_at("fish", 20, HOUR, days=(1,), first_of_day=True),
        stop_at("ill", 2, HOUR, days=(1,), last_of_day=True, disinfecting=1200),
        stop_at("told", 8, HOUR, days=(1,), promise=told),
        stop_at("late", 3, HOUR, (9 * HOUR, 10 * HOUR), days=(1,)),
        stop_at("lost", 4, HOUR, days=(5,)),
    ]
    more = {"lunch": LUNCH, "fixed_cost": 10}
    shifts = [
        shift_of("ann", 0, **more),
        shift_of("ann", 1, skills=CRANE, **more),
        shift_of("bob", 1, overtime=HOUR, overtime_per_second=50, **more),
    ]
    return line(stops, shifts, Settings(sticky=MONEY, frozen_days=frozenset({0})))


@pytest.fixture(scope="module")
def plan(sound: Problem) -> Plan:
    made = plan_rounds(sound, Effort(iterations=300))
    assert [left.stop for left in made.left_out] == ["lost"]
    return made


def codes(problem: Problem, plan: Plan) -> set[str]:
    return {found.code for found in violations(problem, plan)}


def test_a_sound_plan_passes(sound: Problem, plan: Plan) -> None:
    assert violations(sound, plan) == []
    assert given_out(sound, plan) is plan
    assert any(made.lunch and made.lunch.at_work for made in plan.rounds)


def round_with(plan: Plan, stop: str) -> Round:
    return next(m for m in plan.rounds if any(c.stop == stop for c in m.calls))


def changed(plan: Plan, old: Round, **changes: object) -> Plan:
    """Return the plan with one round changed, and its bill made to fit what it says."""
    new = replace(old, **changes)
    return replace(plan, rounds=tuple(new if made is old else made for made in plan.rounds))


def call_changed(plan: Plan, name: str, **changes: object) -> Plan:
    old = round_with(plan, name)
    calls = tuple(replace(c, **changes) if c.stop == name else c for c in old.calls)
    return changed(plan, old, calls=calls)


def stop_changed(problem: Problem, stop: str, **changes: object) -> Problem:
    stops = (replace(s, **changes) if s.id == stop else s for s in problem.stops)
    return replace(problem, stops=tuple(stops))


def shift_changed(problem: Problem, technician: str, day: int, **changes: object) -> Problem:
    shifts = (
        replace(s, **changes) if (s.technician, s.day) == (technician, day) else s
        for s in problem.shifts
    )
    return replace(problem, shifts=tuple(shifts))


def swapped(plan: Plan, stop: str) -> Plan:
    """Return the plan with the round of a stop in the other order."""
    old = round_with(plan, stop)
    return changed(plan, old, calls=old.calls[::-1])


def without_round(plan: Plan, stop: str) -> Plan:
    old = round_with(plan, stop)
    return replace(plan, rounds=tuple(made for made in plan.rounds if made is not old))


PLAN_FAULTS: dict[str, tuple[str, Callable[[Plan], Plan]]] = {
    "a stop nobody mentions": ("stop_lost", lambda p: replace(p, left_out=())),
    "a stop that is planned and left out": (
        "stop_twice",
        lambda p: replace(p, left_out=(*p.left_out, LeftOut("told", "no_time_left"))),
    ),
    "a stop that is left out twice": ("stop_twice", lambda p: replace(p, left_out=p.left_out * 2)),
    "a reason of its own": (
        "reason_unknown",
        lambda p: replace(p, left_out=(LeftOut("lost", "no wish to"),)),
    ),
    "a stop that does not exist": ("stop_unknown", lambda p: call_changed(p, "told", stop="?")),
    "a round twice": ("round_twice", lambda p: replace(p, rounds=(*p.rounds, p.rounds[0]))),
    "a round without calls": (
        "round_empty",
        lambda p: changed(p, round_with(p, "fish"), calls=()),
    ),
    "a round without a shift": (
        "no_shift",
        lambda p: changed(p, round_with(p, "fish"), technician="eve"),
    ),
    "leaving before the shift": (
        "outside_shift",
        lambda p: changed(p, round_with(p, "long"), leave=7 * HOUR),
    ),
    "back after the shift": (
        "outside_shift",
        lambda p: changed(p, round_with(p, "long"), back=19 * HOUR),
    ),
    "back more than overtime allows": (
        "too_much_overtime",
        lambda p: changed(p, round_with(p, "long"), back=18 * HOUR),
    ),
    "arriving before one can": (
        "too_early",
        lambda p: call_changed(p, "after", arrive=8 * HOUR),
    ),
    "beginning before arriving": (
        "too_early",
        lambda p: call_changed(p, "after", start=round_with(p, "after").leave),
    ),
    "home before one can": (
        "too_early",
        lambda p: changed(p, round_with(p, "fish"), back=round_with(p, "fish").calls[-1].leave),
    ),
    "leaving before the work is done": (
        "too_short",
        lambda p: call_changed(p, "long", leave=9 * HOUR),
    ),
    "fewer metres than driven": (
        "metres_wrong",
        lambda p: changed(p, round_with(p, "long"), metres=1),
    ),
    "a bill that does not add up": (
        "bill_wrong",
        lambda p: changed(
            p, round_with(p, "long"), bill=replace(round_with(p, "long").bill, time=1)
        ),
    ),
    "no lunch": ("lunch_missing", lambda p: changed(p, round_with(p, "long"), lunch=None)),
    "lunch in the morning": (
        "lunch_outside_its_time",
        lambda p: changed(
            p, round_with(p, "long"), lunch=Break(9 * HOUR, 9 * HOUR + 1800, 1, True)
        ),
    ),
    "a short lunch": (
        "lunch_length",
        lambda p: changed(
            p, round_with(p, "long"), lunch=Break(12 * HOUR, 12 * HOUR + 60, 2, True)
        ),
    ),
    "lunch after a call there is not": (
        "lunch_nowhere",
        lambda p: changed(p, round_with(p, "long"), lunch=Break(12 * HOUR, 12 * HOUR + 1800, 9)),
    ),
    "lunch on the road while working": (
        "lunch_during_work",
        lambda p: changed(p, round_with(p, "long"), lunch=Break(11 * HOUR, 11 * HOUR + 1800, 3)),
    ),
    "lunch at work that has not begun": (
        "lunch_at_wrong_work",
        lambda p: changed(
            p, round_with(p, "long"), lunch=Break(12 * HOUR, 12 * HOUR + 1800, 2, True)
        ),
    ),
    "fish not first": ("not_first_of_day", lambda p: swapped(p, "fish")),
    "disease not last": ("not_last_of_day", lambda p: swapped(p, "ill")),
    "a sum of costs that is none": ("cost_wrong", lambda p: replace(p, cost=p.cost - 1)),
    "a sum of prizes that is none": ("prize_wrong", lambda p: replace(p, prize=p.prize + 1)),
    "estimates that are said to be measured": (
        "estimate_unmarked",
        lambda p: replace(p, estimated=not p.estimated),
    ),
    "two people at different times": (
        "not_together",
        lambda p: changed(
            p,
            round_with(p, "heavy"),
            calls=tuple(
                replace(c, start=c.start + 60) if c.stop == "heavy" else c
                for c in round_with(p, "heavy").calls
            ),
        ),
    ),
    "one person where two are needed": (
        "people_wrong",
        lambda p: changed(
            p,
            round_with(p, "heavy"),
            calls=tuple(c for c in round_with(p, "heavy").calls if c.stop != "heavy"),
        ),
    ),
    "outside the window": (
        "outside_window",
        lambda p: call_changed(p, "late", start=86400 + 12 * HOUR),
    ),
    "on another day than its round": (
        "wrong_day",
        lambda p: call_changed(p, "late", start=9 * HOUR),
    ),
    "outside the promised window": (
        "promise_broken",
        lambda p: call_changed(p, "told", start=86400 + 15 * HOUR),
    ),
}


@pytest.mark.parametrize("fault", PLAN_FAULTS)
def test_a_fault_of_the_plan_is_found(fault: str, sound: Problem, plan: Plan) -> None:
    code, plant = PLAN_FAULTS[fault]
    wrong = plant(plan)
    assert code in codes(sound, wrong)
    with pytest.raises(PlanRefused, match=code):
        given_out(sound, wrong)


PROBLEM_FAULTS: dict[str, tuple[str, Callable[[Problem], Problem]]] = {
    "nobody there has the skill": (
        "skill_missing",
        lambda p: stop_changed(p, "told", skills=frozenset({"dive"})),
    ),
    "neither of two has the skill": (
        "skill_missing",
        lambda p: shift_changed(p, "ann", 1, skills=frozenset()),
    ),
    "the client was told somebody else": (
        "promise_broken",
        lambda p: stop_changed(
            p, "told", promise=Promise(Window(86400 + 13 * HOUR, 86400 + 14 * HOUR), ("ann",))
        ),
    ),
    "a stop joined a frozen day": (
        "frozen_day_changed",
        lambda p: stop_changed(p, "long", former=None),
    ),
    "a stop left a frozen day": (
        "frozen_day_changed",
        lambda p: stop_changed(p, "late", former=Former(0, ("ann",))),
    ),
    "nobody knows where it is": (
        "place_unknown",
        lambda p: replace(
            p, places=tuple(replace(x, lat=None) if x.id == "km 8" else x for x in p.places)
        ),
    ),
    "lunch where none is set": (
        "lunch_unasked",
        lambda p: shift_changed(p, "ann", 0, lunch=None),
    ),
    "lunch at work that is too short for it": (
        "lunch_at_wrong_work",
        lambda p: shift_changed(p, "ann", 0, lunch=replace(LUNCH, inside_from=7 * HOUR)),
    ),
}


@pytest.mark.parametrize("fault", PROBLEM_FAULTS)
def test_a_fault_against_the_problem_is_found(fault: str, sound: Problem, plan: Plan) -> None:
    code, plant = PROBLEM_FAULTS[fault]
    assert code in codes(plant(sound), plan)


def test_a_missing_round_loses_its_stops(sound: Problem, plan: Plan) -> None:
    assert "stop_lost" in codes(sound, without_round(plan, "fish"))


def test_every_code_is_tried() -> None:
    import inspect
    import re

    from apps.rounds.planning import checker

    known = set(re.findall(r'(?:wrong|Violation)\(\s*"(\w+)"', inspect.getsource(checker)))
    known |= {"stop_lost", "stop_twice", "promise_broken", "outside_window"}
    tried = {code for code, _ in (*PLAN_FAULTS.values(), *PROBLEM_FAULTS.values())}
    assert known == tried
