"""Visits for two people without the solver: who was promised is one of the two."""

import pytest

from apps.rounds.planning.checker import violations
from apps.rounds.planning.fallback import fallback
from apps.rounds.planning.insertion import slots
from apps.rounds.planning.plan import Plan
from apps.rounds.planning.problem import MONEY, Problem, Promise, Window
from tests.rounds.planning.lines import HOUR, line, shift_of, stop_at

NINE = Window(9 * HOUR, 15 * HOUR)


def going(plan: Plan) -> set[str]:
    return {made.technician for made in plan.rounds for call in made.calls if call.stop == "heavy"}


def heavy(*promised: str) -> Problem:
    """Ann lives 60 km off; Bob and Cleo live at the door."""
    promise = Promise(NINE, promised) if promised else None
    stops = [stop_at("heavy", 0, HOUR, people=2, prize=900 * MONEY, promise=promise)]
    return line(stops, [shift_of("ann", home=60), shift_of("bob"), shift_of("cleo")])


@pytest.mark.parametrize(
    ("promised", "free"), [((), {"bob", "cleo"}), (("ann",), None), (("ann", "cleo"), {"ann", "cleo"})]
)  # fmt: skip
def test_who_was_promised_goes(promised: tuple[str, ...], free: set[str] | None) -> None:
    problem = heavy(*promised)
    plan = fallback(problem)
    assert violations(problem, plan) == []
    assert set(promised) <= going(plan)
    assert len(going(plan)) == 2
    assert free is None or going(plan) == free


def test_who_was_promised_is_offered() -> None:
    problem = heavy("ann")
    for slot in slots(problem, fallback(problem), "heavy"):
        assert "ann" in slot.technicians


def test_two_who_work_on_different_days_are_no_two() -> None:
    stops = [stop_at("heavy", 0, HOUR, days=(0, 1), people=2, prize=900 * MONEY)]
    plan = fallback(line(stops, [shift_of("ann", 0), shift_of("bob", 1)]))
    [left] = plan.left_out
    assert (left.reason, left.params) == ("second_person_missing", {"days": [0, 1]})
