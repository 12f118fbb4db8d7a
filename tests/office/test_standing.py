"""Standing appointments on the office's pages: their rules in words, and hours that bar them."""

import datetime as dt
import html

import pytest

from apps.care.models import StandingAppointment
from apps.office.standing_words import standing_words
from tests import factories
from tests.office.conftest import Desk


def agree(desk: Desk, **more: object) -> StandingAppointment:
    values = {
        "rrule": "FREQ=WEEKLY;INTERVAL=2;BYDAY=TU", "first": dt.date(2026, 6, 9),
        "starts": dt.time(9), "ends": dt.time(10), "made_at": factories.NOW,
    }  # fmt: skip
    return StandingAppointment.objects.create(place=desk.place, **(values | more))


@pytest.mark.parametrize(
    ("rule", "said"),
    [
        ("FREQ=WEEKLY;BYDAY=TU", "every Tuesday"),
        ("freq=weekly;byday=tu;interval=2", "every second Tuesday"),
        ("FREQ=WEEKLY;INTERVAL=6;BYDAY=WE", "every 6 weeks on Wednesday"),
        ("FREQ=WEEKLY;BYDAY=FR,TU", "every week on Tuesday and Friday"),
        ("FREQ=WEEKLY;INTERVAL=2;BYDAY=MO,TH", "every second week on Monday and Thursday"),
        ("FREQ=MONTHLY;BYDAY=1MO", "the first Monday of each month"),
        ("FREQ=MONTHLY;INTERVAL=1;BYDAY=-1SU", "the last Sunday of each month"),
    ],
)
def test_a_plain_rule_is_said_in_words(rule: str, said: str) -> None:
    assert standing_words(rule) == said


@pytest.mark.parametrize(
    "rule",
    [
        "FREQ=WEEKLY", "FREQ=WEEKLY;BYDAY=2TU", "FREQ=WEEKLY;INTERVAL=0;BYDAY=TU",
        "FREQ=MONTHLY;BYDAY=TU", "FREQ=MONTHLY;INTERVAL=2;BYDAY=1MO", "FREQ=MONTHLY;BYDAY=1MO,3MO",
        "FREQ=MONTHLY;BYDAY=-2MO", "FREQ=WEEKLY;BYDAY=TU;COUNT=4", "FREQ=DAILY;INTERVAL=3", "x",
    ],
)  # fmt: skip
def test_any_other_rule_is_left_as_it_is_written(rule: str) -> None:
    assert standing_words(rule) == rule


@pytest.mark.django_db
def test_the_list_says_the_rule_in_words(desk: Desk) -> None:
    agree(desk)
    agree(desk, rrule="FREQ=DAILY;INTERVAL=3")
    page = desk.get("place", desk.place.pk).content.decode()
    assert "every second Tuesday" in page
    assert "FREQ=WEEKLY" not in page
    assert "FREQ=DAILY;INTERVAL=3" in page


@pytest.mark.django_db
def test_hours_that_bar_what_was_agreed_name_it(desk: Desk) -> None:
    agree(desk)
    agree(desk, starts=dt.time(14), ends=dt.time(15))
    agree(desk, starts=dt.time(7), ends=dt.time(8), last=dt.date(2026, 6, 10))
    typed = {"d2_0_opens": "08:00", "d2_0_closes": "12:00", "d3_0_opens": "08:00",
             "d3_0_closes": "18:00"}  # fmt: skip
    sent = desk.post("hours", desk.place.pk, **typed)
    assert sent.status_code == 302
    page = html.unescape(desk.get("place", desk.place.pk).content.decode())
    assert "The hours are set." in page
    assert "At these hours nobody may come for every second Tuesday, 14:00–15:00." in page
    # hours that let them all in say nothing
    desk.post("hours", desk.place.pk, **(typed | {"d2_0_closes": "18:00"}))
    page = html.unescape(desk.get("place", desk.place.pk).content.decode())
    assert "The hours are set." in page
    assert "nobody may come for" not in page
