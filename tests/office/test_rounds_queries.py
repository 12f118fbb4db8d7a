"""The number of queries of the pages of rounds does not grow with what stands on them."""

import datetime as dt
from typing import Any

import pytest
from django.test import Client

from apps.rounds.models import Absence
from tests.office.test_rounds import desk, firm, page  # noqa: F401
from tests.rounds.world import MONDAY, Town, wants

pytestmark = pytest.mark.django_db
TUESDAY = MONDAY + dt.timedelta(days=1)


def more(firm: Town) -> None:  # noqa: F811
    """More that is due, more that is pencilled in, more that is booked, and more who are away."""
    for n in range(3):
        wants(firm.garden(f"Due {n}", north_km=1 + n), MONDAY)
        firm.pencil(firm.garden(f"Pencilled {n}", north_km=5 + n), TUESDAY, 8 + 3 * n, firm.ana)
        firm.book(firm.pencil(firm.garden(f"Booked {n}"), TUESDAY, 8.5 + 3 * n, firm.marek))


def test_a_plan(firm: Town, desk: Client, same_queries: Any) -> None:  # noqa: F811
    # one of each to begin with: what is not there at all is not asked for
    firm.book(firm.pencil(firm.garden("First"), TUESDAY, 16, firm.marek))
    firm.pencil(firm.garden("Second"), TUESDAY, 16, firm.ana)
    Absence.objects.create(user=firm.marek, first=TUESDAY, last=TUESDAY)
    plans = [firm.plan(days=2)]

    def grow() -> None:
        more(firm)
        Absence.objects.create(user=firm.ana, first=TUESDAY, last=TUESDAY, part="morning")
        plans.append(firm.plan(days=2))
        calls = [sum(len(one["calls"]) for one in plan.plan["rounds"]) for plan in plans]
        assert calls[1] > calls[0] + 2
        assert len(plans[1].plan["left_out"]) > len(plans[0].plan["left_out"]) + 2

    assert same_queries(lambda: page(desk, "round_plan", plans[-1].pk), grow) <= 40


def test_a_week(firm: Town, desk: Client, same_queries: Any) -> None:  # noqa: F811
    firm.book(firm.pencil(firm.garden("First"), MONDAY, 15, firm.ana))
    Absence.objects.create(user=firm.marek, first=TUESDAY, last=TUESDAY)
    assert same_queries(lambda: page(desk, "rounds"), lambda: more(firm)) <= 20


def test_who_goes_instead(firm: Town, desk: Client, same_queries: Any) -> None:  # noqa: F811
    firm.book(firm.pencil(firm.garden("First"), MONDAY, 15, firm.marek))
    absence = Absence.objects.create(user=firm.marek, first=MONDAY, last=TUESDAY)
    assert same_queries(lambda: page(desk, "stand_in", absence.pk), lambda: more(firm)) <= 45
