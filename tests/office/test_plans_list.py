"""The list of plans of rounds: by day, what counts first, what is out of date, in pages."""

import datetime as dt
import html
from typing import Any

import pytest
from django.test import Client
from django.urls import reverse

from apps.accounts.models import Closure
from apps.core import clock
from apps.office.selectors.plans_list import PER_PAGE, plans_grouped, plans_listed
from apps.rounds.models import RoundPlan
from tests import factories
from tests.office.test_rounds import desk, firm, page  # noqa: F401
from tests.rounds.world import MONDAY, TODAY, Town

pytestmark = pytest.mark.django_db
TUESDAY = MONDAY + dt.timedelta(days=1)


def said(firm: Town, today: dt.date = TODAY) -> list[tuple[dt.date, list[str]]]:  # noqa: F811
    rows = plans_listed(firm.by, today)
    return [
        (group.first, [line.words for line in group.lines])
        for group in plans_grouped(firm.by, rows, today)
    ]


def later(plan: RoundPlan, minutes: int) -> RoundPlan:
    plan.made_at = factories.NOW + dt.timedelta(minutes=minutes)
    RoundPlan.objects.filter(pk=plan.pk).update(made_at=plan.made_at)
    return plan


def test_by_day_the_next_first_and_what_has_gone_by_last(firm: Town) -> None:  # noqa: F811
    for first in (TUESDAY, MONDAY, MONDAY + dt.timedelta(days=7)):
        firm.plan(first=first)
    days = [first for first, _words in said(firm)]
    assert days == [MONDAY, TUESDAY, MONDAY + dt.timedelta(days=7)]
    days = [first for first, _words in said(firm, MONDAY + dt.timedelta(days=2))]
    assert days == [MONDAY + dt.timedelta(days=7), TUESDAY, MONDAY]


def test_a_newer_one_and_one_that_no_longer_holds(firm: Town) -> None:  # noqa: F811
    firm.plan()
    later(firm.plan(), 5)
    assert said(firm) == [(MONDAY, ["ready to accept", "there is a newer one"])]
    Closure.objects.create(first=MONDAY, last=MONDAY, name="Works outing")
    assert said(firm)[0][1][0] == "out of date: visits, hours or days off have changed since"
    gone = said(firm, TUESDAY)
    assert set(gone[0][1]) == {"out of date: its first day has gone by"}


def test_which_one_is_in_force(
    firm: Town,  # noqa: F811
    desk: Client,  # noqa: F811
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    first, second = firm.plan(), later(firm.plan(), 5)
    desk.post(reverse("office:round_accept", args=[second.pk]))
    words = said(firm)[0][1]
    assert words == ["accepted, in force", "out of date: another one was accepted since"]
    again = later(firm.plan(), 10)
    monkeypatch.setattr(clock, "now", lambda: factories.NOW + dt.timedelta(minutes=11))
    desk.post(reverse("office:round_accept", args=[again.pk]))
    assert said(firm)[0][1][:2] == ["accepted, in force", "accepted, and replaced by a later one"]
    dropped = later(firm.plan(first=TUESDAY), 12)
    desk.post(reverse("office:round_drop", args=[dropped.pk]))
    assert said(firm)[1] == (TUESDAY, ["dropped"])
    assert first.state == "ready"


def test_the_page_groups_them_and_goes_on_in_pages(firm: Town, desk: Client) -> None:  # noqa: F811
    firm.plan()
    like = RoundPlan.objects.get()
    for n in range(PER_PAGE + 1):
        like.pk, like._state.adding = None, True
        like.first = MONDAY + dt.timedelta(days=7 * (n + 1))
        like.save()
    text = html.unescape(page(desk, "rounds"))
    assert "From Mon 15 June" in text
    assert "ready to accept" in text
    assert f"1 to {PER_PAGE} of {PER_PAGE + 2}" in text
    last = desk.get(reverse("office:rounds"), {"page": "2"}).content.decode()
    assert f"{PER_PAGE + 1} to {PER_PAGE + 2} of {PER_PAGE + 2}" in last
    assert "From Mon 15 June" not in last


def test_older_plans_of_a_day_cost_nothing(firm: Town, desk: Client, same_queries: Any) -> None:  # noqa: F811
    later(firm.plan(), 30)

    def grow() -> None:
        for _n in range(3):
            firm.plan()

    same_queries(lambda: page(desk, "rounds"), grow)
