"""Two who plan at once: one plan is accepted, the other is told why not. Commits for real."""

from typing import Any

import pytest

from apps.core import clock, outbox
from apps.flows import visit_booking
from apps.flows.rounds import plan_accept
from apps.rounds.exceptions import PlanStale
from apps.rounds.models import RoundPlan
from apps.rounds.selectors import moment_of
from apps.visits.models import Visit
from tests import factories
from tests.racing import Act, at_once
from tests.rounds.test_offering_races import firm, nobody_twice  # noqa: F401
from tests.rounds.world import MONDAY, TODAY, Town, town, wants

NOW = factories.NOW


def accepted(plan: RoundPlan, at: Town) -> Act:
    """Return the acceptance of a plan; it gives the number of visits that were written."""
    return lambda: len(plan_accept(plan=plan, today=TODAY, by=at.by, at=NOW))


@pytest.mark.django_db
def test_one_after_the_other(monkeypatch: pytest.MonkeyPatch) -> None:
    """The same on either database, in one connection."""
    monkeypatch.setattr(clock, "now", lambda: NOW)
    monkeypatch.setattr(outbox, "poke", lambda *_args: None)
    here = town()
    wants(here.garden("Heron", 2), MONDAY)
    plans = [here.plan(), here.plan()]
    assert accepted(plans[0], here)() == 1
    with pytest.raises(PlanStale):
        accepted(plans[1], here)()


def test_two_plans_of_the_same_days_at_once(firm: Town) -> None:  # noqa: F811
    for north, name in ((2, "Heron"), (5, "Sedge")):
        wants(firm.garden(name, north), MONDAY)
    plans = [firm.plan(), firm.plan()]
    found: list[Any] = at_once(*(accepted(plan, firm) for plan in plans))
    assert sorted(map(str, found)) == ["2", "plan_stale"]
    assert Visit.objects.count() == 2
    assert sorted(RoundPlan.objects.values_list("state", flat=True)) == ["accepted", "ready"]


def test_one_plan_accepted_from_four_screens(firm: Town) -> None:  # noqa: F811
    wants(firm.garden("Heron", 2), MONDAY)
    plan = firm.plan()
    found = at_once(*[accepted(plan, firm)] * 4)
    assert sorted(map(str, found)) == ["1", "plan_not_ready", "plan_not_ready", "plan_not_ready"]
    assert Visit.objects.count() == 1


def test_a_plan_and_somebody_who_books_into_it(firm: Town) -> None:  # noqa: F811
    wants(firm.garden("Heron", 2), MONDAY)
    plan, other = firm.plan(), firm.garden("Mill")
    call = plan.plan["rounds"][0] if plan.plan else {}
    technician = firm.ana if call["technician"] == str(firm.ana.pk) else firm.marek

    def book() -> str:
        begin, leave = (moment_of(MONDAY, second) for second in call["calls"][0][3:5])
        visit_booking.pencil(
            place=other.system.place, systems=[other.system], start=begin, end=leave,
            technicians=[technician], by=firm.by, at=NOW,
        )  # fmt: skip
        return "booked"

    found = at_once(accepted(plan, firm), book)
    assert found in ([1, "double_booked"], ["plan_stale", "booked"], ["double_booked", "booked"])
    assert Visit.objects.count() == 1
    assert nobody_twice()
