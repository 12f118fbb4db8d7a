"""Tasks that go by a limit take the window that a forecast gives, and hold it still."""

import datetime as dt
from typing import Any

import pytest
from django.utils import translation

from apps.calc.rhythm import Dates
from apps.care.models import CareTask, Standing
from apps.care.selectors import due_rows, ranked
from apps.care.services import (
    conditions_raise,
    forecasts_set,
    standing_ahead_set,
    standing_refresh_dates,
    task_save,
    tasks_locked,
)
from apps.catalogue.selectors import catalogue_current
from apps.core.models import Job
from apps.core.scoping import system as system_actor
from apps.flows.wording import crossing_text, reason_text
from tests import factories
from tests.factories import NOW, TODAY

pytestmark = pytest.mark.django_db
SEEN = {
    "loop": "x", "measurand": "no2", "side": "above", "level": 0.5, "unit": "mg/L",
    "soonest": "2026-06-14", "middle": "2026-06-17", "latest": "2026-06-23",
}  # fmt: skip


def days(*numbers: int) -> Dates:
    return Dates(*(dt.date(2026, 6, number) for number in numbers))


@pytest.fixture
def built() -> factories.Built:
    factories.firm()
    row = factories.system(factories.place(factories.client("Osei")), "Patio")
    factories.quiet(row)
    standing_refresh_dates([row.system.pk], NOW)
    return row


@pytest.fixture
def task(built: Any) -> CareTask:
    return CareTask.objects.get(system=built.system, code="water_change")


def given(task: CareTask, window: Dates | None, on: dt.date = TODAY) -> CareTask:
    windows = {task.pk: window} if window else {}
    forecasts_set(system_ids=[task.system_id], windows=windows, on=on, at=NOW)
    task.refresh_from_db()
    return task


def test_a_condition_takes_the_forecast_date_and_says_so(task: CareTask) -> None:
    row = given(task, days(20, 24, 29))
    assert (row.next_open, row.next_due, row.next_late) == tuple(
        dt.date(2026, 6, day) for day in (20, 24, 29)
    )
    assert row.basis == "forecast"
    standing = Standing.objects.get(system=task.system_id)
    assert standing.due_from == dt.date(2026, 6, 24)
    assert Job.objects.filter(kind="care.visit_days").exists()


def test_a_small_move_changes_nothing_and_a_large_one_does(task: CareTask) -> None:
    given(task, days(20, 24, 29))
    Job.objects.all().delete()
    assert given(task, days(20, 25, 29)).next_due == dt.date(2026, 6, 24)
    assert not Job.objects.exists()
    assert given(task, days(18, 21, 27)).next_due == dt.date(2026, 6, 21)


def test_what_is_no_longer_in_sight_is_not_due(task: CareTask) -> None:
    given(task, days(20, 24, 29))
    row = given(task, None)
    assert (row.next_due, row.basis) == (None, "condition")


def test_a_reading_beyond_the_limit_comes_before_the_forecast(task: CareTask) -> None:
    given(task, days(20, 24, 29))
    conditions_raise(
        tasks=tasks_locked([task.system_id]).values(), readings={"no3": 120.0}, on=TODAY, at=NOW
    )
    task.refresh_from_db()
    assert (task.next_due, task.basis) == (TODAY, "condition")


def test_another_limit_drops_the_forecast_that_was_made_for_the_old_one(task: CareTask) -> None:
    given(task, days(20, 24, 29))
    task.condition = {"measurand": "no3", "above": 150}
    assert task_save(task=task, at=NOW).next_due is None


def test_a_crossing_brings_a_system_forward(built: Any) -> None:
    office = system_actor("test", NOW)
    standing_ahead_set({built.system.pk: (SEEN, TODAY + dt.timedelta(days=1))}, NOW)
    assert not due_rows(ranked(office, TODAY), TODAY)
    tomorrow = TODAY + dt.timedelta(days=1)
    (row,) = due_rows(ranked(office, tomorrow), tomorrow)
    assert [reason.code for reason in row.reasons] == ["ahead"]
    assert reason_text(row.reasons[0], catalogue_current()) == (
        "Nitrite as N may pass 0.5\u00a0mg/L around Wed 17 June (80 %: 14–23 June)."
    )


@pytest.mark.parametrize(
    ("changed", "text"),
    [
        ({"side": "below", "measurand": "ph", "level": 6.2},
         "pH may fall below 6.2 around Wed 17 June (80 %: 14–23 June)."),
        ({"latest": "2026-07-02"},
         "Nitrite as N may pass 0.5\u00a0mg/L around Wed 17 June (80 %: 14 June – 2 July)."),
        ({"latest": None},
         "Nitrite as N may pass 0.5\u00a0mg/L around Wed 17 June (80 %: from 14 June on)."),
        ({"middle": None, "latest": None},
         "Nitrite as N may pass 0.5\u00a0mg/L from Sun 14 June on, though it more likely stays below."),
    ],
)  # fmt: skip
def test_how_a_crossing_reads(changed: dict[str, Any], text: str) -> None:
    with translation.override("en"):
        assert crossing_text(SEEN | changed, catalogue_current()) == text
