"""Plans for the tests: a loop by what differs from a good one, and what is asked."""

from advice_builders import bands, s

from apps.calc.advice.facts import Facts
from apps.calc.dosing_plan.plan import make
from apps.calc.dosing_plan.products import PRODUCTS
from apps.calc.dosing_plan.results import Plan, Refusal, Request

ALL = frozenset(PRODUCTS)
# soft and acid, little ammonia: a base may be given
LOW = {"alk": 35.0, "ph": 6.5, "tan": 0.2}


def facts(values=None, **fields) -> Facts:
    """The facts of the only loop of a system."""
    base = s(values, **fields)
    return Facts(base, base.loops[0], bands())


def answer(f: Facts, goal: str, target: float | None, **ask):
    """What is made of a request, plan or refusals."""
    return make(f, Request(goal, target, **{"at_hand": ALL, **ask}))


def plan(f: Facts, goal: str, target: float | None, **ask) -> Plan:
    """A plan; the test fails where there is none."""
    made = answer(f, goal, target, **ask)
    assert isinstance(made, Plan), made
    return made


def refused(f: Facts, goal: str, target: float | None, **ask) -> dict[str, str]:
    """The refusals by field; the test fails where there is a plan."""
    made = answer(f, goal, target, **ask)
    assert not isinstance(made, Plan)
    assert all(isinstance(one, Refusal) for one in made)
    return {one.field: str(one.text) for one in made}
