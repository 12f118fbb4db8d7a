"""Rules that go by a counter: its pace, replaced counters, the limit, the longest time."""

import datetime as dt

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from scipy import stats

from apps.calc.rhythm import (
    DORMANT,
    Dates,
    Meter,
    Reading,
    Rhythm,
    RuleError,
    State,
    next_dates,
    pace,
    running_totals,
    upcoming,
)
from tests.effort import cases

DAY = dt.date(2026, 6, 1)
PUMP = Rhythm("meter", meter="run_hours", meter_limit=1000.0, max_days=365, anchor=DAY)


def on(days: int) -> dt.date:
    return DAY + dt.timedelta(days=days)


def meter(*pairs: tuple[int, float], at_done: float | None = None, **more: float) -> Meter:
    return Meter(tuple(Reading(on(day), value) for day, value in pairs), at_done, **more)


def due(rule: Rhythm, counter: Meter, last_done: dt.date | None = None) -> Dates:
    return next_dates(rule, last_done=last_done, meters={"run_hours": counter})


STEADY = meter((0, 0.0), (10, 200.0), (20, 400.0), (30, 600.0))


class TestPace:
    @pytest.mark.outside(source="SciPy, stats.theilslopes", kind="computed", tolerance=1e-9)
    @settings(cases(60),
              suppress_health_check=[HealthCheck.function_scoped_fixture])  # fmt: skip
    @given(
        steps=st.lists(st.tuples(st.integers(1, 30), st.floats(0.5, 900)), min_size=4, max_size=8)
    )
    def test_is_the_median_of_slopes(self, steps, outside):
        day, total, totals = 0, 0.0, []
        for wait, amount in steps:
            day, total = day + wait, total + amount
            totals.append((on(day), total))
        theirs = stats.theilslopes([t for _, t in totals], [d.toordinal() for d, _ in totals])
        outside(pace(totals).rate, float(theirs.slope))

    def test_goes_by_the_last_eight(self):
        old = [(on(day), day * 1.0) for day in range(20)]
        new = [(on(20 + day), 20 + day * 9.0) for day in range(8)]
        assert pace(old + new).rate == 9.0

    def test_one_wrong_reading_does_not_turn_it(self):
        totals = [(on(10 * n), 200.0 * n) for n in range(7)] + [(on(70), 1e6)]
        assert pace(totals).rate == pytest.approx(20.0)

    def test_the_slow_pace_is_passed_nine_times_in_ten(self):
        totals = [(on(n), total) for n, total in enumerate([0.0, 10, 30, 60, 100, 150])]
        found = pace(totals)
        assert 0 < found.slow < found.rate

    def test_few_readings_give_way_to_the_plan(self):
        few = running_totals(meter((0, 0.0), (10, 900.0)).readings)
        assert pace(few, 30.0).rate == 30.0
        assert pace(few).rate == 90.0
        assert pace(few[:1]) is None
        assert pace([]) is None


class TestTotals:
    def test_a_replaced_counter_starts_again(self):
        readings = [
            Reading(on(0), 4000.0), Reading(on(10), 4200.0), Reading(on(12), 3.0, replaced=True),
            Reading(on(20), 163.0),
        ]  # fmt: skip
        assert [total for _, total in running_totals(readings)] == [0, 200, 200, 360]

    def test_order_does_not_matter(self):
        readings = list(STEADY.readings)
        assert running_totals(readings[::-1]) == running_totals(readings)

    def test_backwards_without_a_new_counter_is_refused(self):
        with pytest.raises(RuleError) as caught:
            running_totals([Reading(on(0), 4000.0), Reading(on(10), 12.0)])
        assert (caught.value.field, caught.value.value) == ("readings", 12.0)
        assert "say that it was replaced" in caught.value.message

    def test_no_number_is_refused(self):
        with pytest.raises(RuleError, match="readings: a counter shows a number"):
            running_totals([Reading(on(0), float("nan"))])


class TestDue:
    def test_when_the_limit_is_reached(self):
        assert due(PUMP, STEADY).due == on(50)

    def test_counts_from_what_it_showed_when_done(self):
        counter = meter((0, 0.0), (10, 200.0), (20, 400.0), (30, 600.0), at_done=500.0)
        assert due(PUMP, counter, on(25)).due == on(75)

    def test_without_it_counts_from_the_reading_between(self):
        assert due(PUMP, STEADY, on(25)).due == on(75)

    def test_done_after_the_last_reading(self):
        assert due(PUMP, STEADY, on(40)).due == on(90)

    def test_done_before_the_first_reading(self):
        assert due(PUMP, STEADY, on(-10)).due == on(50)

    def test_days_passed_by_stay_where_they_were(self):
        """A limit that the readings have passed does not move on with the day."""
        counter = meter((0, 0.0), (10, 200.0), (20, 400.0), (30, 600.0), (60, 1200.0))
        assert due(PUMP, counter).due == on(50)
        later = meter(*[(r.on.toordinal() - DAY.toordinal(), r.value) for r in counter.readings],
                      (90, 1800.0))  # fmt: skip
        assert due(PUMP, later).due == on(50)

    def test_late_at_the_slow_pace(self):
        uneven = meter((0, 0.0), (10, 100.0), (20, 400.0), (30, 600.0), (40, 900.0))
        found = due(PUMP, uneven)
        assert found.due < found.late < on(365)

    def test_tolerance_beside_the_slow_pace(self):
        rule = Rhythm("meter", meter="run_hours", meter_limit=1000.0, max_days=365, anchor=DAY,
                      early_share=0.2, early_max_days=99, late_min_days=4, late_max_days=4)  # fmt: skip
        assert due(rule, STEADY) == Dates(on(40), on(50), on(54))

    def test_standing_still_it_is_due_after_the_longest_time(self):
        still = meter((0, 5.0), (10, 5.0), (20, 5.0), (30, 5.0))
        assert due(PUMP, still) == Dates(on(365), on(365), on(365))
        assert due(PUMP, still, on(30)).due == on(395)

    def test_the_longest_time_comes_first(self):
        rule = Rhythm("meter", meter="run_hours", meter_limit=1e6, max_days=90, anchor=DAY)
        assert due(rule, STEADY, on(30)) == Dates(on(120), on(120), on(120))

    def test_without_readings(self):
        assert next_dates(PUMP, last_done=DAY).due == on(365)
        assert due(PUMP, Meter(), DAY).due == on(365)
        assert next_dates(Rhythm("meter", meter="run_hours", meter_limit=9.0)) == DORMANT

    def test_planned_feed_before_anything_was_read(self):
        feed = Rhythm("meter", meter="feed_g", meter_limit=20_000, max_days=365)
        counter = Meter((Reading(on(0), 0.0),), planned_rate=250.0)
        assert next_dates(feed, last_done=DAY, meters={"feed_g": counter}).due == on(80)

    def test_three_months_or_twenty_kilograms(self):
        rule = Rhythm(
            "after_done", 3, "month",
            also=(Rhythm("meter", meter="feed_g", meter_limit=20_000, max_days=3650),),
        )  # fmt: skip
        slow, fast = (Meter((Reading(on(0), 0.0),), planned_rate=rate) for rate in (100.0, 400.0))
        assert next_dates(rule, last_done=DAY, meters={"feed_g": slow}).due == on(92)
        assert next_dates(rule, last_done=DAY, meters={"feed_g": fast}).due == on(50)

    def test_a_pump_replaced_on_the_day_it_was_done(self):
        readings = (
            Reading(on(0), 0.0), Reading(on(10), 200.0), Reading(on(20), 400.0),
            Reading(on(20), 0.0, replaced=True), Reading(on(30), 200.0),
        )  # fmt: skip
        for shown in (400.0, 0.0, None):
            assert due(PUMP, Meter(readings, shown), on(20)).due == on(70)

    def test_a_pump_replaced_a_day_before_its_reading(self):
        readings = (
            Reading(on(0), 0.0), Reading(on(10), 200.0), Reading(on(20), 400.0),
            Reading(on(30), 180.0, replaced=True), Reading(on(40), 380.0),
        )  # fmt: skip
        assert due(PUMP, Meter(readings, 5.0), on(21)).due > on(60)

    def test_a_far_limit_names_no_day(self):
        rule = Rhythm("meter", meter="run_hours", meter_limit=1e12, anchor=DAY)
        assert due(rule, STEADY) == DORMANT

    def test_out_of_season_it_waits(self):
        rule = Rhythm("meter", meter="run_hours", meter_limit=1000.0, max_days=365, anchor=DAY,
                      season_from=(9, 1), season_to=(10, 31))  # fmt: skip
        assert due(rule, STEADY).due == dt.date(2026, 9, 1)


def test_upcoming_runs_on_at_the_pace():
    found = upcoming(PUMP, State(meters={"run_hours": STEADY}), count=3)
    assert [dates.due for dates in found] == [on(50), on(100), on(150)]


@cases(150)
@given(
    steps=st.lists(st.tuples(st.integers(0, 40), st.floats(0, 500)), min_size=1, max_size=10),
    done=st.none() | st.integers(-20, 400), limit=st.floats(1, 5000),
    early=st.integers(0, 30), late=st.integers(0, 30), most=st.integers(1, 800),
)  # fmt: skip
def test_windows_are_in_order_within_the_longest_time(steps, done, limit, early, late, most):
    day, total, pairs = 0, 0.0, []
    for wait, amount in steps:
        day, total = day + wait, total + amount
        pairs.append((day, total))
    rule = Rhythm("meter", meter="run_hours", meter_limit=limit, max_days=most, anchor=DAY,
                  early_min_days=early, early_max_days=early, late_min_days=late,
                  late_max_days=late)  # fmt: skip
    last = None if done is None else on(done)
    found = due(rule, meter(*pairs), last)
    assert found.open <= found.due <= found.late <= (last or DAY) + dt.timedelta(days=most)
    assert last is None or last < found.open
