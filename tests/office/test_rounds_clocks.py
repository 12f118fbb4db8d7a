"""Rounds in the nights in which the clocks change: the page shows hours that there are.

Europe/Brussels goes from 02:00 to 03:00 on 28 March 2027 and from 03:00 back to 02:00 on 25 October
2026 (tz database).
"""

import datetime as dt
import re
from itertools import pairwise

import pytest
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from apps.clients.models import VisitingHours
from apps.core import clock
from apps.rounds.models import WorkingHours
from apps.rounds.selectors.axis import gap_of
from apps.visits.models import Visit
from tests import factories
from tests.rounds.world import Town, town, wants

pytestmark = pytest.mark.django_db
SPRING, AUTUMN = dt.date(2027, 3, 28), dt.date(2026, 10, 25)
H = 3600


@pytest.fixture
def night(monkeypatch: pytest.MonkeyPatch, settings: object) -> Town:
    """A firm that works on Sundays from midnight to seven, at gardens open from one to half past six."""
    settings.TIME_ZONE = "Europe/Brussels"
    monkeypatch.setattr(clock, "now", lambda: factories.NOW)
    firm = town()
    firm.marek.is_active = False
    firm.marek.save()
    WorkingHours.objects.create(
        user=firm.ana, weekday=7, starts="00:00", ends="07:00", lunch_minutes=0
    )
    return firm


def gardens(firm: Town, day: dt.date) -> None:
    for name in ("Heron", "Sedge"):
        built = firm.garden(name)
        VisitingHours.objects.create(
            place=built.system.place, weekday=7, opens="01:00", closes="06:30"
        )
        wants(built, day, minutes=40)


def shown(page: str) -> list[tuple[str, str]]:
    return re.findall(r'<bdi class="age">(\d\d:\d\d)–(\d\d:\d\d)</bdi>', page)


@pytest.mark.outside(source="IANA tz database 2025b", kind="memory", tolerance="none")
def test_what_the_clocks_leave_out() -> None:
    with timezone.override("Europe/Brussels"):
        assert gap_of(SPRING) == (2 * H, 3 * H)
        assert gap_of(AUTUMN) is None
        assert gap_of(SPRING - dt.timedelta(days=1)) is None
    with timezone.override("Australia/Lord_Howe"):  # half an hour, from two o'clock
        assert gap_of(dt.date(2026, 10, 4)) == (2 * H, 2 * H + 1800)


@pytest.mark.parametrize("day", [SPRING, AUTUMN])
def test_a_round_of_that_night(night: Town, day: dt.date) -> None:
    gardens(night, day)
    plan = night.plan(day, 1)
    assert (plan.state, plan.plan["left_out"]) == ("ready", [])
    desk = Client()
    desk.force_login(night.office)
    said = shown(desk.get(reverse("office:round_plan", args=[plan.pk])).content.decode())
    assert len(said) == 2
    assert desk.post(reverse("office:round_accept", args=[plan.pk])).status_code == 302
    visits = list(Visit.objects.order_by("start"))
    local = [
        tuple(f"{timezone.localtime(moment):%H:%M}" for moment in (visit.start, visit.end))
        for visit in visits
    ]
    assert local == said, "what the plan showed is what the visits say"

    assert all(one.end <= other.start for one, other in pairwise(visits))
    if day == SPRING:
        assert not [hour for pair in said for hour in pair if hour.startswith("02:")]
    # the calendar of that week shows the same hours
    week = desk.get(reverse("office:rounds"), {"from": day.isoformat()}).content.decode()
    for start, end in said:
        assert f"{start}–{end}" in week
