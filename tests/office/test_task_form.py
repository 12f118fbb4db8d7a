"""The form of a care task: what is late at once, what the end of a month means, a mark passed."""

import datetime as dt
from typing import Any
from uuid import uuid4

import pytest

from apps.care.models import CareTask, Completion
from apps.systems.models import System
from apps.visits.models import Reading
from tests import factories
from tests.office.conftest import Desk
from tests.office.test_systems import task

LONG_AGO = "2019-06-03"
pytestmark = pytest.mark.django_db


@pytest.fixture
def bare(desk: Desk) -> System:
    """A system without a plan."""
    CareTask.objects.all().delete()
    return desk.built.system


def text(answer: Any) -> str:
    return " ".join(answer.content.decode().split())


# --- late at once
def test_a_first_day_years_back_asks_when_it_was_last_done(desk: Desk, bare: System) -> None:
    answer = desk.post("task_new", bare.pk, **task(anchor=LONG_AGO))
    assert answer.status_code == 422
    # 3 June 2019 and 3 days of grace to 11 June 2026, counted on the calendar
    days = (factories.TODAY - dt.date(2019, 6, 6)).days
    said = text(answer)
    assert "“First on” Mon 3 June 2019 lies back" in said
    assert f"late by {days:,} days at once" in said
    assert "When was it last done?" in said
    assert " checked" not in said.split('name="all_the_same"')[1].split(">")[0]
    assert not CareTask.objects.exists()


def test_the_preview_asks_as_well_and_ticks_nothing(desk: Desk, bare: System) -> None:
    answer = desk.post("task_new", bare.pk, **task(anchor=LONG_AGO), preview="1")
    assert answer.status_code == 200
    said = text(answer)
    assert "it would be late by" in said
    assert " checked" not in said.split('name="all_the_same"')[1].split(">")[0]


def test_when_it_was_last_done_answers_and_goes_on_record(desk: Desk, bare: System) -> None:
    sent = task(anchor=LONG_AGO, last_done="2026-06-01")
    assert desk.post("task_new", bare.pk, **sent).status_code == 302
    row, done = CareTask.objects.get(), Completion.objects.get()
    assert (row.last_done, row.next_due) == (dt.date(2026, 6, 1), dt.date(2026, 6, 15))
    assert done.by.startswith("office:")
    assert done.visit_id is None


def test_a_last_day_that_is_long_ago_asks_as_well(desk: Desk, bare: System) -> None:
    answer = desk.post("task_new", bare.pk, **task(anchor=LONG_AGO, last_done="2024-06-01"))
    assert answer.status_code == 422
    assert "Last done on Sat 1 June 2024, it would be late by" in text(answer)
    ahead = desk.post("task_new", bare.pk, **task(last_done="2026-06-12"))
    assert "This day lies ahead" in text(ahead)


def test_ticked_it_is_kept_late_and_another_doubt_asks_anew(desk: Desk, bare: System) -> None:
    doubt = desk.post("task_new", bare.pk, **task(anchor=LONG_AGO)).context["form"].doubted
    other = task(anchor="2018-06-03", all_the_same=doubt)
    assert desk.post("task_new", bare.pk, **other).status_code == 422
    kept = desk.post("task_new", bare.pk, **task(anchor=LONG_AGO, all_the_same=doubt))
    assert kept.status_code == 302
    row = CareTask.objects.get()
    assert row.next_due == dt.date(2019, 6, 3)
    # what stood late before is no news: another length of it asks nothing
    changed = desk.post("task_edit", row.pk, **task(anchor=LONG_AGO, minutes="30"))
    assert changed.status_code == 302


@pytest.mark.parametrize(
    "rule",
    [{"mode": "once"}, {"mode": "fixed"}, {"mode": "calendar", "rrule": "FREQ=WEEKLY;BYDAY=MO"},
     {"mode": "meter", "meter": "litres", "meter_limit": "5", "max_days": "9"}],
)  # fmt: skip
def test_each_rule_with_a_first_day_asks(desk: Desk, bare: System, rule: dict[str, str]) -> None:
    answer = desk.post("task_new", bare.pk, **task(anchor=LONG_AGO, **rule))
    assert answer.status_code == 422
    assert list(answer.context["form"].errors) == ["all_the_same"]
    if rule["mode"] != "once":
        done = task(anchor=LONG_AGO, last_done="2026-06-10", **rule)
        assert desk.post("task_new", bare.pk, **done).status_code == 302


def test_what_was_noted_may_be_mended_and_what_a_visit_did_not(desk: Desk, bare: System) -> None:
    desk.post("task_new", bare.pk, **task(last_done="2026-06-01"))
    row = CareTask.objects.get()
    assert desk.get("task_edit", row.pk).context["form"].initial["last_done"] == dt.date(2026, 6, 1)
    desk.post("task_edit", row.pk, **task(last_done="2026-06-05"))
    row.refresh_from_db()
    assert row.last_done == dt.date(2026, 6, 5)
    desk.post("task_edit", row.pk, **task(last_done=""))
    row.refresh_from_db()
    assert row.last_done is None
    assert Completion.objects.filter(withdraws=None).count() == 2  # nothing is overwritten
    visit = uuid4()
    Completion.objects.create(
        task=row, done_on=factories.TODAY, visit_id=visit, made_at=factories.NOW
    )
    CareTask.objects.filter(pk=row.pk).update(last_done=factories.TODAY)
    assert "last_done" not in desk.get("task_edit", row.pk).context["form"].fields
    desk.post("task_edit", row.pk, **task(last_done="2026-05-01"))
    assert not Completion.objects.filter(done_on=dt.date(2026, 5, 1)).exists()


# --- the end of a month
def test_the_last_day_of_a_month_goes_with_fixed_days_in_months(desk: Desk, bare: System) -> None:
    wrong = task(mode="fixed", unit="week", month_end="last")
    answer = desk.post("task_new", bare.pk, **wrong)
    assert answer.status_code == 422
    assert "Only months have a last day: choose months, or leave it at “its last day”." in text(
        answer
    )
    groups = {title: modes for title, _fields, modes in answer.context["groups"]}
    assert groups["At the end of a month"] == "fixed"
    assert desk.post("task_new", bare.pk, **(wrong | {"unit": "month"})).status_code == 302
    assert CareTask.objects.get().next_due == dt.date(2026, 6, 30)


def test_what_counts_from_the_day_it_was_done_has_no_last_day(desk: Desk, bare: System) -> None:
    desk.post("task_new", bare.pk, **task(unit="month", month_end="last"))
    assert CareTask.objects.get().month_end == "clamp"


# --- a mark that is passed already
def read(desk: Desk, value: float, on: dt.date, **more: Any) -> Reading:
    values = {
        "loop": desk.built.loop, "measurand": "no2", "value": value, "word": "in_band",
        "taken_at": dt.datetime.combine(on, dt.time(9), dt.UTC), "received_at": factories.NOW,
    }  # fmt: skip
    return Reading.objects.create(**(values | more))


RULE = {"mode": "condition", "measurand": "no2", "above": "0.5"}


def test_a_mark_passed_already_is_said_and_brings_it_round(desk: Desk, bare: System) -> None:
    read(desk, 0.8, dt.date(2026, 6, 4))
    asked = desk.post("task_new", bare.pk, **task(**RULE), preview="1")
    said = "nitrite as N read 0.8\xa0mg/L on Thu 4 June, over 0.5\xa0mg/L. The task is due at once."
    assert f"The mark is passed already: {said}" in asked.content.decode()
    assert [row.due for row in asked.context["ahead"]][:1] == [factories.TODAY]
    assert not CareTask.objects.exists()
    kept = desk.browser.post(
        f"/systems/{bare.pk}/plan/new/", task(**RULE), follow=True
    ).content.decode()
    assert "The mark is passed already" in kept
    assert CareTask.objects.get().next_due == factories.TODAY


@pytest.mark.parametrize("how", ["in_band", "old", "corrected", "doubted", "done"])
def test_a_mark_that_is_not_passed_is_not_said(desk: Desk, bare: System, how: str) -> None:
    on = dt.date(2026, 1, 5) if how == "old" else dt.date(2026, 6, 4)
    row = read(desk, 0.4 if how == "in_band" else 0.8, on, trusted=how != "doubted")
    if how == "corrected":
        read(desk, 0.08, on, corrects=row, correction_reason="a point too far")
    more = {"every_n": "10", "mode": "after_done", "last_done": "2026-06-10"}
    sent = task(**(RULE | more)) if how == "done" else task(**RULE)
    assert "passed already" not in text(desk.post("task_new", bare.pk, **sent, preview="1"))
    desk.post("task_new", bare.pk, **sent)
    kept = CareTask.objects.get()
    if how == "done":
        # what was read before the day on which it was done was answered by that
        assert desk.post("task_edit", kept.pk, **sent).status_code == 302
        kept.refresh_from_db()
    assert kept.raised_on is None


def test_a_mark_that_is_passed_no_more_leaves_nothing_due(desk: Desk, bare: System) -> None:
    read(desk, 0.8, dt.date(2026, 6, 4))
    desk.post("task_new", bare.pk, **task(**RULE))
    row = CareTask.objects.get()
    assert row.raised_on == factories.TODAY
    other = task(**(RULE | {"above": "0.9"}))
    shown = desk.post("task_edit", row.pk, **other, preview="1").context["ahead"]
    assert [dates.due for dates in shown] == []
    assert desk.post("task_edit", row.pk, **other).status_code == 302
    row.refresh_from_db()
    assert (row.raised_on, row.next_due) == (None, None)


def test_the_same_mark_stays_raised_when_something_else_is_changed(
    desk: Desk, bare: System
) -> None:
    read(desk, 0.8, dt.date(2026, 6, 4))
    desk.post("task_new", bare.pk, **task(**RULE))
    row = CareTask.objects.get()
    raised = dt.date(2026, 6, 5)
    late = raised + dt.timedelta(days=3)
    CareTask.objects.update(raised_on=raised, next_open=raised, next_due=raised, next_late=late)
    desk.post("task_edit", row.pk, **task(**RULE, minutes="30"))
    row.refresh_from_db()
    assert (row.minutes, row.raised_on) == (30, raised)


def test_a_mark_passed_after_it_was_done_brings_it_round_again(desk: Desk, bare: System) -> None:
    """What was said of the last time is over: the page says due at once, and so do the dates."""
    read(desk, 0.8, dt.date(2026, 6, 4))
    row = CareTask.objects.create(
        system=bare, code="water_full_test", mode="condition", raised_on=dt.date(2026, 5, 20),
        condition={"measurand": "no2", "above": 0.5},
    )  # fmt: skip
    Completion.objects.create(
        task=row, done_on=dt.date(2026, 5, 21), by="office:1", made_at=factories.NOW
    )
    CareTask.objects.update(last_done=dt.date(2026, 5, 21))
    assert desk.post("task_edit", row.pk, **task(**RULE)).status_code == 302
    row.refresh_from_db()
    assert row.next_due == factories.TODAY


def test_what_was_done_does_not_silently_come_once_more(desk: Desk, bare: System) -> None:
    """A rule that names no day any more is refused with the rule that does."""
    desk.post("task_new", bare.pk, **task(last_done="2026-06-01"))
    row = CareTask.objects.get()
    once = desk.post("task_edit", row.pk, **task(mode="once", anchor="2026-07-01"))
    assert once.status_code == 422
    (said,) = once.context["form"].errors["mode"]
    assert said.startswith("It was done on Mon 1 June 2026, and what comes once")
    assert "FREQ=DAILY;COUNT=1" in said
    way_out = task(mode="calendar", rrule="FREQ=DAILY;COUNT=1", anchor="2026-07-01",
                   last_done="2026-06-01")  # fmt: skip
    assert desk.post("task_edit", row.pk, **way_out).status_code == 302
    row.refresh_from_db()
    assert row.next_due == dt.date(2026, 7, 1)


def test_what_came_once_and_was_done_can_still_be_changed(desk: Desk, bare: System) -> None:
    desk.post("task_new", bare.pk, **task(mode="once", anchor="2026-06-20"))
    CareTask.objects.update(last_done=dt.date(2026, 6, 10))
    row = CareTask.objects.get()
    sent = task(mode="once", anchor="2026-06-20", minutes="35")
    assert desk.post("task_edit", row.pk, **sent).status_code == 302
    row.refresh_from_db()
    assert row.minutes == 35
