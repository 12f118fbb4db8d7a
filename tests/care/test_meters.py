"""Counters: read once, never backwards, withdrawn where wrong; what waits for them moves along."""

import datetime as dt
from typing import Any

import pytest
from django.db import IntegrityError, transaction

from apps.accounts.models import AuditEntry
from apps.calc.rhythm import Dates
from apps.care.models import CareTask, Completion, MeterReading, MeterWithdrawal, Standing
from apps.care.services import (
    conditions_raise,
    dates_ahead,
    forecasts_set,
    meter_add,
    meter_withdraw,
    task_save,
    tasks_recompute,
)
from apps.core.exceptions import Conflict, Invalid
from apps.core.scoping import Actor
from tests import factories
from tests.factories import NOW, TODAY

pytestmark = pytest.mark.django_db
OFFICE = Actor(role="office", at=NOW)


def day(ago: int) -> dt.date:
    return TODAY - dt.timedelta(days=ago)


@pytest.fixture
def task(db: None) -> CareTask:
    """A pump's service every 240 hours run, after a year at the latest."""
    factories.firm()
    built = factories.system(factories.place(factories.client("Okafor")), "s")
    CareTask.objects.filter(system=built.system).delete()
    row = CareTask(
        system=built.system, code="pump_clean", mode="meter", meter="run_hours", meter_limit=240.0,
        max_days=365, anchor=day(10),
    )  # fmt: skip
    return task_save(task=row, at=NOW)


def read(task: CareTask, ago: int, value: float, **more: Any) -> MeterReading:
    return meter_add(
        system=task.system, meter="run_hours", value=value, taken_on=day(ago), by=OFFICE, at=NOW,
        **more,
    )  # fmt: skip


def refusal(task: CareTask, ago: int, value: float, **more: Any) -> dict[str, Any]:
    before = list(MeterReading.objects.values())
    with pytest.raises(Invalid) as error:
        read(task, ago, value, **more)
    assert list(MeterReading.objects.values()) == before
    return error.value.errors[0]


class TestDates:
    def test_without_a_reading_the_last_day_holds(self, task: CareTask) -> None:
        assert task.next_due == day(10) + dt.timedelta(days=365)

    def test_a_reading_moves_what_waits_and_the_standing(self, task: CareTask) -> None:
        # 20 hours a day: 240 hours from the tenth day before today end in two days
        read(task, 10, 1000.0)
        read(task, 5, 1100.0)
        task.refresh_from_db()
        assert task.next_due == day(-2)
        assert Standing.objects.get(system=task.system).due_from == day(-2)

    def test_a_counter_elsewhere_moves_nothing(self, task: CareTask) -> None:
        loop = task.system.loops.first()
        before = task.next_due
        read(task, 10, 0.0, loop=loop)
        read(task, 5, 100.0, loop=loop)
        task.refresh_from_db()
        assert task.next_due == before

    def test_the_order_of_arrival_does_not_matter(self, task: CareTask) -> None:
        readings = [(10, 1000.0), (7, 1060.0), (5, 1100.0)]
        for ago, value in reversed(readings):
            read(task, ago, value)
        task.refresh_from_db()
        late = (task.next_open, task.next_due, task.next_late)
        tasks_recompute(task_ids=[task.pk], at=NOW)
        task.refresh_from_db()
        assert (task.next_open, task.next_due, task.next_late) == late
        assert task.next_due == day(-2)

    def test_a_new_counter_counts_on(self, task: CareTask) -> None:
        read(task, 10, 1000.0)
        read(task, 5, 1100.0)
        read(task, 5, 0.0, is_reset=True)
        read(task, 0, 100.0)
        task.refresh_from_db()
        assert task.next_due == day(-2)

    def test_the_dates_ahead_are_not_stored(self, task: CareTask) -> None:
        task.meter_limit = 24.0
        assert len(dates_ahead(task)) == 10
        assert CareTask.objects.get(pk=task.pk).meter_limit == 240.0


class TestBesideDaysOfItsOwn:
    """A task every 90 days that comes sooner by its counter, or once alkalinity reads under 40."""

    @pytest.fixture
    def either(self, task: CareTask) -> CareTask:
        task.mode, task.every_n, task.max_days = "after_done", 90, None
        task.condition, task.anchor = {"measurand": "alk", "below": 40.0}, day(-80)
        return task_save(task=task, at=NOW)

    def test_whichever_comes_first_counts(self, either: CareTask) -> None:
        assert (either.next_due, either.basis) == (day(-80), "calendar")
        read(either, 10, 1000.0)
        read(either, 5, 1100.0)
        either.refresh_from_db()
        assert (either.next_due, either.basis) == (day(-2), "calendar")
        conditions_raise(tasks=[either], readings={"alk": 39.0}, on=TODAY, at=NOW)
        either.refresh_from_db()
        assert (either.next_due, either.basis) == (TODAY, "condition")
        conditions_raise(tasks=[either], readings={"alk": 40.0}, on=TODAY, at=NOW)
        either.refresh_from_db()
        assert either.next_due == day(-2)

    def test_the_forecast_of_its_limit_counts_as_well(self, either: CareTask) -> None:
        window = Dates(day(-20), day(-30), day(-40))
        forecasts_set(system_ids=[either.system_id], windows={either.pk: window}, on=TODAY, at=NOW)
        either.refresh_from_db()
        assert (either.next_due, either.basis) == (day(-30), "forecast")

    def test_done_it_counts_anew_by_all_of_them(self, either: CareTask) -> None:
        read(either, 10, 1000.0)
        read(either, 5, 1100.0)
        Completion.objects.create(task=either, done_on=day(5), by=str(OFFICE), made_at=NOW)
        tasks_recompute(task_ids=[either.pk], at=NOW)
        either.refresh_from_db()
        # 240 hours at 20 a day from the fifth day before today: sooner than 90 days
        assert either.next_due == day(-7)

    @pytest.mark.parametrize(
        ("wrong", "field"),
        [({"meter_limit": 0.0}, "/meter_limit"), ({"meter": "knots"}, "/meter"),
         ({"mode": "every_visit", "condition": {}}, "/also"), ({"mode": "once", "meter": ""}, "/also")],
    )  # fmt: skip
    def test_half_a_trigger_is_refused_at_its_field(
        self, either: CareTask, wrong: dict[str, Any], field: str
    ) -> None:
        for name, value in wrong.items():
            setattr(either, name, value)
        with pytest.raises(Invalid) as error:
            task_save(task=either, at=NOW)
        assert [row["pointer"] for row in error.value.errors] == [field]


class TestRefused:
    def test_a_counter_that_runs_backwards(self, task: CareTask) -> None:
        read(task, 5, 1100.0)
        error = refusal(task, 2, 1090.0)
        assert (error["pointer"], error["value"]) == ("/value", 1090.0)
        assert "replaced" in error["message"]
        read(task, 2, 10.0, is_reset=True)

    def test_a_late_reading_above_the_next_one(self, task: CareTask) -> None:
        read(task, 2, 1100.0)
        assert refusal(task, 5, 1101.0)["pointer"] == "/value"

    @pytest.mark.parametrize("value", [-1.0, float("nan"), float("inf")])
    def test_no_number(self, task: CareTask, value: float) -> None:
        assert refusal(task, 2, value)["pointer"] == "/value"

    def test_a_day_ahead(self, task: CareTask) -> None:
        assert refusal(task, -1, 5.0)["pointer"] == "/taken_on"

    def test_a_loop_of_another_system(self, task: CareTask) -> None:
        other = factories.system(factories.place(factories.client("Lindqvist")), "o")
        assert refusal(task, 1, 5.0, loop=other.loop)["pointer"] == "/loop"


def test_many_meters_take_one_query(task: CareTask, same_queries: Any) -> None:
    def more() -> None:
        for code in ("a", "b", "c"):
            row = CareTask(
                system=task.system, code=code, mode="meter", meter="litres", meter_limit=1.0,
                max_days=9,
            )  # fmt: skip
            task_save(task=row, at=NOW)

    def call() -> None:
        tasks_recompute(task_ids=CareTask.objects.values_list("pk", flat=True), at=NOW)

    same_queries(call, more)


class TestWithdrawn:
    def withdraw(self, reading: MeterReading, reason: str = "read off the neighbour's") -> None:
        meter_withdraw(reading=reading, reason=reason, by=OFFICE, at=NOW)

    def test_dates_go_by_what_is_left(self, task: CareTask) -> None:
        read(task, 10, 1000.0)
        read(task, 5, 1100.0)
        task.refresh_from_db()
        due = task.next_due
        wrong = read(task, 1, 1900.0)
        task.refresh_from_db()
        assert task.next_due is not None
        assert due is not None
        assert task.next_due < due
        self.withdraw(wrong)
        task.refresh_from_db()
        assert task.next_due == due == day(-2)
        assert Standing.objects.get(system=task.system).due_from == due

    def test_the_figure_stays_with_who_when_and_why(self, task: CareTask) -> None:
        wrong = read(task, 5, 1100.0)
        before = MeterReading.objects.values().get()
        self.withdraw(wrong, "  a digit too many ")
        assert MeterReading.objects.values().get() == before
        gone = MeterWithdrawal.objects.get()
        assert (gone.reading, gone.reason, gone.made_at) == (wrong, "a digit too many", NOW)
        assert gone.by.startswith("office:")
        assert AuditEntry.objects.filter(verb="withdrew a counter's reading").count() == 1

    def test_the_right_figure_can_be_noted_then(self, task: CareTask) -> None:
        wrong = read(task, 5, 11000.0)
        assert refusal(task, 2, 1100.0)["pointer"] == "/value"
        self.withdraw(wrong)
        read(task, 2, 1100.0)

    def test_once_only(self, task: CareTask) -> None:
        wrong = read(task, 5, 1100.0)
        self.withdraw(wrong)
        with pytest.raises(Conflict, match="already"):
            self.withdraw(wrong)
        assert MeterWithdrawal.objects.count() == 1

    @pytest.mark.parametrize("reason", ["", "   "])
    def test_not_without_a_reason(self, task: CareTask, reason: str) -> None:
        wrong = read(task, 5, 1100.0)
        with pytest.raises(Invalid) as error:
            self.withdraw(wrong, reason)
        assert error.value.errors[0]["pointer"] == "/reason"
        assert not MeterWithdrawal.objects.exists()

    def test_a_new_counter_is_not_taken_from_what_rests_on_it(self, task: CareTask) -> None:
        read(task, 10, 1000.0)
        fresh = read(task, 5, 0.0, is_reset=True)
        later = read(task, 2, 60.0)
        with pytest.raises(Invalid, match="withdraw the one of 2026-06-09 first"):
            self.withdraw(fresh)
        assert not MeterWithdrawal.objects.exists()
        self.withdraw(later)
        self.withdraw(fresh)
        read(task, 2, 1060.0)

    def test_of_two_at_once_one_is_told(self, task: CareTask) -> None:
        """The row says once only, whoever looked before it was there."""
        wrong = read(task, 5, 1100.0)
        self.withdraw(wrong)
        with pytest.raises(IntegrityError), transaction.atomic():
            MeterWithdrawal.objects.create(reading=wrong, reason="x", made_at=NOW)
