"""The way in: a problem is looked over, planned, and the plan judged before anybody sees it."""

from importlib.util import find_spec

from apps.rounds.planning.checker import Violation, violations
from apps.rounds.planning.effort import Asked, Effort, Seldom, Told, never, nobody
from apps.rounds.planning.fallback import fallback
from apps.rounds.planning.plan import Plan
from apps.rounds.planning.problem import Problem
from apps.rounds.planning.validation import validate


class PlanRefused(Exception):
    """A plan that its judge found wrong; it is not given out. ``violations`` says what."""

    def __init__(self, violations: list[Violation]) -> None:
        super().__init__(", ".join(sorted({found.code for found in violations})))
        self.violations = violations


def solver_present() -> bool:
    """Whether the solver's library is installed."""
    return find_spec("pyvrp") is not None


def plan_rounds(
    problem: Problem, effort: Effort, tell: Told = nobody, halted: Asked = never
) -> Plan:
    """Return a plan that passed its judge, by the solver or, where that is missing, by insertion.

    Raises ValueError for a problem that cannot be meant, PlanRefused for a plan that is wrong.
    """
    validate(problem)
    halted = Seldom(halted)
    if solver_present():
        # here, as it loads numpy, which no web process needs
        from apps.rounds.planning.solver import solve

        made = solve(problem, effort, tell, halted)
    else:
        made = fallback(problem, halted)
    return given_out(problem, made)


def given_out(problem: Problem, made: Plan) -> Plan:
    """Return a plan that may be shown; PlanRefused where the judge finds something."""
    found = violations(problem, made)
    if found:
        raise PlanRefused(found)
    return made
