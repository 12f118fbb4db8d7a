"""Standing appointments: visits fall on the days that were agreed; and clients who are just told."""

import datetime as dt
from typing import Any

import pytest

from apps.accounts.models import Closure
from apps.care.models import CareTask, StandingAppointment, VisitDay
from apps.care.selectors import appointment_days
from apps.care.services import standing_add, standing_remove
from apps.clients.models import Client, VisitingHours
from apps.core.exceptions import Invalid
from apps.core.models import Job
from apps.flows import nightly
from apps.reports.models import Letter
from tests import factories
from tests.care.conftest import Yard, on

NOW = factories.NOW
SECOND_TUESDAY = "FREQ=WEEKLY;INTERVAL=2;BYDAY=TU"
pytestmark = pytest.mark.django_db


def agree(place: Yard, **more: Any) -> StandingAppointment:
    values = {
        "rrule": SECOND_TUESDAY, "first": dt.date(2026, 6, 9), "last": None,
        "starts": dt.time(8), "ends": dt.time(10), "technician": place.ana,
    } | more  # fmt: skip
    return standing_add(place=place.place, by=factories.actor(place.office), at=NOW, **values)


@pytest.mark.outside(
    source="RFC 5545 section 3.8.5.3: every other week on Tuesday (and Sunday) from 5 August 1997",
    kind="memory", tolerance=0, absolute=True,
)  # fmt: skip
def test_days_are_those_of_the_standard(yard: Yard, outside: Any) -> None:
    row = agree(yard, rrule="FREQ=WEEKLY;INTERVAL=2;COUNT=4;BYDAY=TU,SU;WKST=MO",
                first=dt.date(1997, 8, 5))  # fmt: skip
    found = appointment_days(row, dt.date(1997, 8, 1), dt.date(1997, 12, 31))
    known = [dt.date(1997, 8, day) for day in (5, 10, 19, 24)]
    outside(len(set(found) ^ set(known)), 0)


def test_visits_fall_on_the_days_that_were_agreed(yard: Yard) -> None:
    yard.task("flow_test", 10, every=14, slack=5)
    row = agree(yard)
    yard.plan()
    days = list(VisitDay.objects.order_by("on"))
    agreed = appointment_days(row, on(0), on(90))
    assert len(days) > 4
    assert {day.on for day in days} <= set(agreed)
    assert {day.appointment for day in days} == {row}


def test_a_closed_day_moves_one_visit_and_not_the_others(yard: Yard) -> None:
    yard.task("flow_test", 10, every=14, slack=5)
    agreed = appointment_days(agree(yard), on(0), on(90))
    Closure.objects.create(first=agreed[1], last=agreed[1], name="Stocktaking")
    yard.plan()
    days = set(VisitDay.objects.values_list("on", flat=True))
    assert agreed[1] not in days
    assert set(agreed[2:-1]) <= days


def test_it_ends_with_its_last_day_and_can_be_let_go(yard: Yard) -> None:
    row = agree(yard, last=on(20))
    assert appointment_days(row, on(0), on(90)) == [on(12)]
    Job.objects.all().delete()
    standing_remove(row=row, by=factories.actor(yard.office), at=NOW)
    assert not StandingAppointment.objects.exists()
    assert Job.objects.filter(kind="care.visit_days").count() == 1


@pytest.mark.parametrize(
    ("change", "field"),
    [({"rrule": "every second Tuesday"}, "rrule"), ({"rrule": "FREQ=SECONDLY"}, "rrule"),
     ({"rrule": "FREQ=YEARLY;BYMONTH=2;BYMONTHDAY=30"}, "rrule"), ({"rrule": ""}, "rrule"),
     ({"rrule": "FREQ=DAILY;BYHOUR=9"}, "rrule"), ({"ends": dt.time(8)}, "ends"),
     ({"last": dt.date(2026, 6, 1)}, "last"), ({"starts": dt.time(7)}, "starts"),
     ({"rrule": "FREQ=WEEKLY;BYDAY=SU"}, "starts"), ({"ends": dt.time(8, 29)}, "ends")],
)  # fmt: skip
def test_what_cannot_be_kept_is_refused_at_its_field(
    yard: Yard,
    change: dict[str, Any],
    field: str,
) -> None:
    VisitingHours.objects.create(place=yard.place, weekday=2, opens=dt.time(8), closes=dt.time(18))
    with pytest.raises(Invalid) as refused:
        agree(yard, **change)
    assert refused.value.errors[0]["pointer"] == f"/{field}"
    assert not StandingAppointment.objects.exists()


def test_half_an_hour_within_the_hours_is_enough(yard: Yard) -> None:
    VisitingHours.objects.create(place=yard.place, weekday=2, opens=dt.time(8), closes=dt.time(9))
    assert agree(yard, ends=dt.time(8, 30)).pk
    with pytest.raises(Invalid, match="or change those first"):
        agree(yard, starts=dt.time(8, 45), ends=dt.time(9, 15))


def test_the_same_is_not_agreed_on_twice(yard: Yard) -> None:
    agree(yard)
    for rule in (SECOND_TUESDAY, "freq=weekly;BYDAY=TU;INTERVAL=2"):
        with pytest.raises(Invalid, match="agreed already, from Tue 9 June") as refused:
            agree(yard, rrule=rule, technician=None, first=dt.date(2026, 6, 23))
        assert refused.value.errors[0]["pointer"] == "/rrule"
    assert StandingAppointment.objects.count() == 1


def test_what_shares_no_day_or_no_hour_may_stand_beside_it(yard: Yard) -> None:
    agree(yard, last=dt.date(2026, 9, 1))
    agree(yard, first=dt.date(2026, 6, 16))
    agree(yard, starts=dt.time(14), ends=dt.time(15))
    agree(yard, first=dt.date(2026, 9, 15))
    assert StandingAppointment.objects.count() == 4


# --- just tell me
def test_who_wants_no_question_is_told(yard: Yard) -> None:
    Client.objects.update(just_tell=True)
    yard.place.client.refresh_from_db()
    visit = yard.book(1)
    assert (visit.client_answer, visit.is_told, visit.answer_words) == ("not_asked", True, "told")
    letter = Letter.objects.get()
    assert letter.parameters["told"] is True
    assert nightly.reminders(NOW + dt.timedelta(hours=2)) == 1


def test_others_are_asked_as_before(yard: Yard) -> None:
    visit = yard.book(1)
    assert (visit.client_answer, visit.told_at) == ("asked", None)
    assert CareTask.objects.count() == 0
