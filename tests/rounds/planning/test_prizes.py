"""What a visit is worth, by hand and in general."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from apps.rounds.planning.effort import Effort
from apps.rounds.planning.planner import plan_rounds
from apps.rounds.planning.prizes import FLOOR, Urgency, base_above, lone_trip, prize, prizes
from apps.rounds.planning.problem import MONEY
from tests.effort import cases
from tests.rounds.planning.firms import HOUR
from tests.rounds.planning.lines import COSTS, line, shift_of, stop_at

RULE = Urgency(overdue=5 * MONEY, late=2 * MONEY, early=MONEY)


@pytest.mark.parametrize(
    ("due", "day", "worth"),
    [
        (4, 4, 100),
        (4, 6, 100 - 2 * 2),
        (4, 1, 100 - 3 * 1),
        (0, 0, 100),
        (-3, 0, 100 + 3 * 5 - 3 * 2),
        (-3, 2, 100 + 3 * 5 - 5 * 2),
    ],
)
def test_by_hand(due: int, day: int, worth: int) -> None:
    assert prize(100 * MONEY, RULE, due, day) == worth * MONEY


def test_never_nothing() -> None:
    assert prize(MONEY, RULE, due=0, day=60) == FLOOR > 0


@cases(200)
@given(st.integers(-60, 60), st.integers(0, 30), st.integers(0, 10**7))
def test_one_day_later_is_worth_less_once_due_and_being_overdue_presses(due, day, base) -> None:
    worth = prizes(base, RULE, due, range(32))
    assert all(amount >= FLOOR for amount in worth.values())
    if day >= due:
        assert worth[day + 1] <= worth[day]
    else:
        assert worth[day + 1] >= worth[day]
    # the longer overdue already, the sooner it is chosen: urgency outweighs the same lateness
    assert prize(base, RULE, min(due, 0) - 1, day) >= prize(base, RULE, min(due, 0), day)


def test_a_client_far_away_is_worth_the_trip() -> None:
    """The base exceeds a trip of its own: with nobody else to see, somebody goes."""
    stop = stop_at("far", 150, HOUR, prize=1)
    shifts = [shift_of("ann", fixed_cost=50 * MONEY), shift_of("bob", home=20)]
    problem = line([stop], shifts)
    trip = lone_trip(stop.place, stop.on_site, shifts, problem.travel, COSTS)
    assert trip == 50 * MONEY + 4 * 300_000 + 100 * (HOUR + 300 * 60)
    assert lone_trip(stop.place, stop.on_site, shifts, problem.travel, COSTS, people=2) == 2 * trip
    assert lone_trip(stop.place, stop.on_site, [], problem.travel, COSTS) == 0
    worth = stop_at("far", 150, HOUR, prize=base_above(trip))
    plan = plan_rounds(line([worth], shifts), Effort(iterations=50))
    assert [left.stop for left in plan.left_out] == []


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({"overdue": -1}, "overdue -1 must not be negative"),
        ({"late": -1}, "late -1"),
        ({"early": -1}, "early -1"),
        ({"floor": 0}, "floor 0 must be above 0"),
    ],
)
def test_rules_that_cannot_be_meant(changes: dict, words: str) -> None:
    with pytest.raises(ValueError, match=words):
        Urgency(**{"overdue": 1, "late": 1, "early": 1, **changes})
