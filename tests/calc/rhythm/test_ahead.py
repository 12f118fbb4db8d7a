"""The state from the record, the windows to come, forecasts held still, and rules refused."""

import datetime as dt
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from apps.calc.rhythm import (
    Dates,
    Done,
    Meter,
    Reading,
    Rhythm,
    RuleError,
    State,
    advanced,
    faults,
    next_dates,
    replay,
    rule_check,
    settled,
    upcoming,
    window,
)
from tests.effort import cases

DAY = dt.date(2026, 6, 1)
MONTHLY = Rhythm("fixed", 1, "month", anchor=DAY, early_min_days=3, early_max_days=3)


def june(day: int) -> dt.date:
    return dt.date(2026, 6, day)


class TestReplay:
    @cases(100)
    @given(
        days=st.lists(st.integers(0, 400), min_size=1, max_size=8),
        told=st.lists(st.integers(0, 7), max_size=20), seed=st.randoms(),
        rule=st.sampled_from([MONTHLY, Rhythm("after_done", 9), Rhythm(
            "calendar", anchor=DAY, rrule="FREQ=WEEKLY;BYDAY=MO,FR")]),
    )  # fmt: skip
    def test_order_and_repeats_do_not_matter(self, days, told, seed, rule):
        record = [Done(DAY + dt.timedelta(days=day)) for day in days]
        again = record + [record[n % len(record)] for n in told]
        seed.shuffle(again)
        assert replay(rule, again) == replay(rule, record)
        assert window(rule, replay(rule, again)).due > max(done.on for done in record)

    def test_goes_by_the_occurrence_that_was_meant(self):
        state = replay(MONTHLY, [Done(june(10), occurrence=dt.date(2026, 7, 1))])
        assert state.last_occurrence == dt.date(2026, 7, 1)
        assert window(MONTHLY, state).due == dt.date(2026, 8, 1)

    def test_finds_the_occurrence_by_the_day(self):
        state = replay(MONTHLY, [Done(june(29)), Done(june(2))])
        assert (state.last_done, state.last_occurrence) == (june(29), dt.date(2026, 7, 1))

    def test_keeps_what_else_is_known_and_the_last_reading(self):
        rule = Rhythm("meter", meter="litres", meter_limit=5.0, max_days=99)
        known = State(raised_on=DAY, meters={"litres": Meter((Reading(DAY, 1.0),))})
        record = [Done(june(4), meters={"litres": 3.0}), Done(june(2), meters={"litres": 2.0})]
        state = replay(rule, record, known)
        assert state.meters["litres"].at_done == 3.0
        assert state.raised_on == DAY

    def test_nothing_done(self):
        state = replay(MONTHLY, [], State(last_done=DAY, last_occurrence=DAY))
        assert (state.last_done, state.last_occurrence) == (None, None)


class TestUpcoming:
    def test_ten_if_each_is_done_on_its_day(self):
        found = upcoming(Rhythm("after_done", 14, anchor=DAY))
        assert [dates.due for dates in found] == [
            DAY + dt.timedelta(days=14 * n) for n in range(10)
        ]

    def test_ends_where_the_rule_ends(self):
        assert len(upcoming(Rhythm("once", anchor=DAY))) == 1
        assert upcoming(Rhythm("every_visit")) == []
        assert len(upcoming(Rhythm("condition"), State(raised_on=DAY))) == 1

    def test_a_counter_that_stands_still_comes_round_all_the_same(self):
        rule = Rhythm("meter", meter="litres", meter_limit=5.0, max_days=30, anchor=DAY)
        still = Meter(tuple(Reading(june(n), 4.0) for n in range(1, 6)))
        found = upcoming(rule, State(meters={"litres": still}), count=3)
        assert [dates.due for dates in found] == [
            DAY + dt.timedelta(days=30 * n) for n in range(1, 4)
        ]

    def test_a_forecast_counts_once(self):
        rule = Rhythm("forecast", max_days=30)
        given = Dates(june(8), june(9), june(12))
        found = upcoming(rule, State(last_done=DAY, forecast=given), count=2)
        assert [dates.due for dates in found] == [june(9), dt.date(2026, 7, 9)]

    def test_a_step_on_a_day_of_choice(self):
        state = advanced(MONTHLY, State(), june(27))
        assert window(MONTHLY, state).due == dt.date(2026, 7, 1)
        state = advanced(MONTHLY, State(), june(28))
        assert window(MONTHLY, state).due == dt.date(2026, 8, 1)


class TestSettled:
    held = Dates(june(18), june(20), june(25))

    def moved(self, *days: int) -> Dates:
        opens, due, late = days
        return Dates(june(18 + opens), june(20 + due), june(25 + late))

    @pytest.mark.parametrize(
        ("days", "on", "taken"),
        [
            ((0, 1, 0), june(1), False),   # 1 day of 19
            ((0, 2, 0), june(1), True),
            ((0, 0, 2), june(1), True),
            ((-1, -1, -1), june(1), False),
            ((0, 1, 0), june(10), False),  # just a tenth of 10 days
            ((0, 1, 0), june(11), True),   # more than a tenth of 9 days
            ((0, 0, 0), june(20), False),
            ((0, 1, 0), june(28), True),   # past it every move counts
        ],
    )  # fmt: skip
    def test_small_moves_change_nothing(self, days, on, taken):
        fresh = self.moved(*days)
        assert settled(self.held, fresh, on) == (fresh if taken else self.held)

    def test_coming_and_going_always_counts(self):
        sleeping = Dates(None, None, None)
        assert settled(sleeping, self.held, DAY) == self.held
        assert settled(self.held, sleeping, DAY) == sleeping


GOOD = [
    Rhythm("after_done", 14), Rhythm("every_visit"), Rhythm("condition"), Rhythm("forecast"),
    Rhythm("once", anchor=DAY), MONTHLY,
    Rhythm("calendar", anchor=DAY, rrule="FREQ=MONTHLY;BYDAY=1MO"),
    Rhythm("meter", meter="feed_g", meter_limit=20_000, max_days=365),
    Rhythm("after_done", 3, "month", also=(Rhythm("meter", meter="litres", meter_limit=9.0,
                                                  max_days=90),)),
    replace(MONTHLY, season_from=(11, 1), season_to=(2, 29), off_season="skip"),
]  # fmt: skip
BAD = [
    (Rhythm("sometimes"), "mode", "sometimes", "must be one of after_done"),
    (Rhythm("after_done", 0), "every_n", 0, "between 1 and 3650"),
    (Rhythm("after_done", 1, "year"), "unit", "year", "day, week, month"),
    (Rhythm("after_done", month_end="first"), "month_end", "first", "clamp"),
    (Rhythm("after_done", off_season="wait"), "off_season", "wait", "hold, skip"),
    (Rhythm("after_done", early_share=1.5), "early_share", 1.5, "between 0 and 1"),
    (Rhythm("after_done", late_share=float("nan")), "late_share", None, "between 0 and 1"),
    (Rhythm("after_done", late_min_days=-1), "late_min_days", -1, "between 0 and"),
    (Rhythm("after_done", early_min_days=5, early_max_days=3), "early_max_days", 3,
     "between 5 and"),
    (Rhythm("after_done", season_from=(4, 1)), "season_to", None, "both ends"),
    (Rhythm("after_done", season_to=(4, 1)), "season_from", None, "both ends"),
    (Rhythm("after_done", season_from=(4, 31), season_to=(9, 1)), "season_from", (4, 31),
     "a month and a day"),
    (Rhythm("fixed"), "anchor", None, "a fixed rule needs the day"),
    (Rhythm("once"), "anchor", None, "needs the day"),
    (Rhythm("calendar", rrule="FREQ=DAILY"), "anchor", None, "needs the day"),
    (Rhythm("calendar", anchor=DAY), "rrule", "", "is not a part"),
    (Rhythm("calendar", anchor=DAY, rrule="FREQ=DAILY;BYHOUR=9"), "rrule", "BYHOUR=9",
     "does not belong"),
    (Rhythm("calendar", anchor=DAY, rrule="FREQ=MONTHLY;BYMONTH=2;BYMONTHDAY=30"), "rrule",
     "FREQ=MONTHLY;BYMONTH=2;BYMONTHDAY=30", "does not come up once in its first 5 years"),
    (Rhythm("calendar", anchor=DAY, rrule="FREQ=DAILY;UNTIL=20260101"), "rrule",
     "FREQ=DAILY;UNTIL=20260101", "does not come up"),
    (Rhythm("meter", meter="miles", meter_limit=1.0, max_days=9), "meter", "miles", "run_hours"),
    (Rhythm("meter", meter="litres", max_days=9), "meter_limit", None, "above 0"),
    (Rhythm("meter", meter="litres", meter_limit=0.0, max_days=9), "meter_limit", 0.0, "above 0"),
    (Rhythm("meter", meter="litres", meter_limit=float("inf"), max_days=9), "meter_limit",
     float("inf"), "above 0"),
    (Rhythm("meter", meter="litres", meter_limit=1.0), "max_days", None, "at the latest"),
    (Rhythm("forecast", max_days=0), "max_days", 0, "between 1 and"),
    (Rhythm("fixed", 12, "month", anchor=DAY, season_from=(11, 1), season_to=(2, 1),
            off_season="skip"), "season_from", (11, 1), "no day of this rule"),
    (Rhythm("once", anchor=DAY, also=(Rhythm("condition"),)), "also", 1, "no other trigger"),
    (Rhythm("condition", also=(Rhythm("every_visit"),)), "also", "every_visit", "one rule"),
    (Rhythm("condition", also=(Rhythm("condition", also=(Rhythm("condition"),)),)), "also",
     "condition", "one rule"),
    (Rhythm("condition", also=(Rhythm("condition"),) * 5), "also", 5, "at most 4"),
    (Rhythm("condition", also=(Rhythm("fixed"),)), "also.anchor", None, "needs the day"),
]  # fmt: skip


class TestChecks:
    @pytest.mark.parametrize("rule", GOOD, ids=[f"{rule.mode}{n}" for n, rule in enumerate(GOOD)])
    def test_a_good_rule_passes(self, rule):
        assert faults(rule) == []
        rule_check(rule)
        next_dates(rule, last_done=DAY)

    @pytest.mark.parametrize(
        ("rule", "field", "value", "says"), BAD, ids=[f"{n}-{b[1]}" for n, b in enumerate(BAD)]
    )
    def test_a_fault_names_field_value_and_way_out(self, rule, field, value, says):
        with pytest.raises(RuleError) as caught:
            rule_check(rule)
        assert caught.value.field == field
        assert caught.value.value == value or value is None
        assert says in caught.value.message
        assert str(caught.value).startswith(f"{field}: ")

    def test_every_fault_is_told(self):
        found = faults(Rhythm("sometimes", 0, early_share=2.0))
        assert [fault.field for fault in found] == ["mode", "every_n", "early_share"]
