"""Whose area a stop is in: preferred while it costs no more than that is worth."""

import random
from dataclasses import replace

import pytest

from apps.rounds.planning.checker import violations
from apps.rounds.planning.effort import Effort
from apps.rounds.planning.fallback import fallback
from apps.rounds.planning.insertion import slots
from apps.rounds.planning.plan import Plan
from apps.rounds.planning.planner import plan_rounds
from apps.rounds.planning.problem import MONEY, Problem, Settings
from tests.rounds.planning import oracle
from tests.rounds.planning.firms import firm
from tests.rounds.planning.lines import HOUR, line, shift_of, stop_at

BOBS = {0: frozenset({"bob"})}
SHORT = Effort(iterations=200)


def who(plan: Plan) -> dict[tuple[str, int], list[str]]:
    return {(made.technician, made.day): [c.stop for c in made.calls] for made in plan.rounds}


def road(bob_at: int, worth: int = 5 * MONEY, days: tuple[int, ...] = (0,)) -> Problem:
    """Ann lives at the visit's door, bob some km down the road; each km costs 1.20 and two ways."""
    stop = stop_at("a", 0, HOUR, days=days, in_area=BOBS)
    shifts = [shift_of(name, day, home=home) for day in days
              for name, home in (("ann", 0), ("bob", bob_at))]  # fmt: skip
    return line([stop], shifts, Settings(own_area=worth))


@pytest.mark.parametrize("make", [fallback, lambda problem: plan_rounds(problem, SHORT)])
class TestPreferred:
    def test_between_equals_it_is_whose_area_it_is(self, make) -> None:
        assert who(make(road(0))) == {("bob", 0): ["a"]}

    def test_not_at_any_price(self, make) -> None:
        """Two km there and two back: 1.60 of road and 2.40 of time."""
        assert who(make(road(2))) == {("bob", 0): ["a"]}
        assert who(make(road(3))) == {("ann", 0): ["a"]}

    def test_not_where_it_is_worth_nothing(self, make) -> None:
        assert who(make(road(0, worth=0))) == {("ann", 0): ["a"]}

    def test_only_on_the_days_of_the_area(self, make) -> None:
        problem = road(0)
        other = replace(problem.stops[0], in_area={1: frozenset({"bob"})})
        assert who(make(replace(problem, stops=(other,)))) == {("ann", 0): ["a"]}

    def test_one_of_two_is_enough(self, make) -> None:
        stop = stop_at("a", 0, HOUR, people=2, prize=900 * MONEY, in_area=BOBS)
        shifts = [shift_of("ann"), shift_of("cleo"), shift_of("bob")]
        plan = make(line([stop], shifts, Settings(own_area=5 * MONEY)))
        assert len(who(plan)) == 2
        assert ("bob", 0) in who(plan)
        assert plan.prize == 905 * MONEY


def test_its_worth_is_judged() -> None:
    problem = road(0)
    plan = fallback(problem)
    assert violations(problem, plan) == []
    wrong = replace(plan, prize=plan.prize - 5 * MONEY)
    assert [row.code for row in violations(problem, wrong)] == ["prize_wrong"]


def test_what_times_cost_is_money_alone() -> None:
    """A time that a client is offered costs what the rounds cost more."""
    problem = road(2)
    assert slots(problem, fallback(problem), "a")[0].extra == 100 * HOUR


@pytest.mark.parametrize("seed", range(4))
def test_as_good_as_trying_everything(seed: int) -> None:
    problem = firm(seed, visits=6, technicians=2)
    rng = random.Random(seed)
    stops = tuple(
        replace(stop, in_area={0: frozenset({rng.choice(["tech 0", "tech 1"])})})
        for stop in problem.stops
    )
    problem = replace(problem, stops=stops, settings=Settings(own_area=8 * MONEY))
    plan = plan_rounds(problem, Effort(iterations=600))
    assert plan.value == oracle.optimum(problem)
