"""When a task opens, is due and is late, for each kind of rule."""

import datetime as dt
import os
import time
from dataclasses import replace
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from apps.calc.rhythm import (
    DORMANT,
    Dates,
    Rhythm,
    State,
    add,
    in_season,
    next_dates,
    occurrence_after,
    occurrence_before,
    satisfied,
    season_of,
    season_opening,
    upcoming,
    window,
)
from tests.effort import cases

DAY = dt.date(2026, 6, 1)
ONE = dt.timedelta(days=1)


def june(day: int) -> dt.date:
    return dt.date(2026, 6, day)


class TestAfterDone:
    def test_is_not_open_on_the_day_it_was_done(self):
        weekly = Rhythm("after_done", 7, early_min_days=9, early_max_days=9)
        assert next_dates(weekly, last_done=DAY) == Dates(june(2), june(8), june(8))

    def test_months_clamp(self):
        rhythm = Rhythm("after_done", 1, "month")
        assert next_dates(rhythm, last_done=dt.date(2026, 1, 31)).due == dt.date(2026, 2, 28)

    @pytest.mark.parametrize(
        ("share", "low", "high", "days"),
        [(0.2, 0, 99, 6), (0.2, 8, 99, 8), (0.2, 0, 4, 4), (0, 3, 3, 3), (0.25, 0, 99, 8)],
    )
    def test_tolerance_is_a_share_between_floor_and_cap(self, share, low, high, days):
        rhythm = Rhythm(
            "after_done", 30, early_share=share, early_min_days=low, early_max_days=high,
            late_share=share, late_min_days=low, late_max_days=high,
        )  # fmt: skip
        found = next_dates(rhythm, last_done=DAY)
        assert found.due - found.open == found.late - found.due == dt.timedelta(days=days)


class TestFixed:
    def test_counts_from_the_anchor_each_time(self):
        rhythm = Rhythm("fixed", 1, "month", anchor=dt.date(2026, 1, 31))
        days = [found.due for found in upcoming(rhythm, count=4)]
        assert days == [dt.date(2026, *md) for md in ((1, 31), (2, 28), (3, 31), (4, 30))]

    def test_early_inside_its_window_goes_to_the_one_after(self):
        rhythm = Rhythm("fixed", 1, "week", anchor=DAY, early_min_days=2, early_max_days=2)
        assert next_dates(rhythm, last_done=june(6)).due == june(15)

    def test_early_before_its_window_goes_by_the_occurrence_that_was_meant(self):
        rhythm = Rhythm("fixed", 1, "month", anchor=DAY)
        assert next_dates(rhythm, last_done=june(20), last_occurrence=dt.date(2026, 7, 1)).due == (
            dt.date(2026, 8, 1)
        )

    def test_late_past_the_next_leaves_out_what_was_missed(self):
        rhythm = Rhythm("fixed", 1, "month", anchor=dt.date(2026, 1, 1))
        found = next_dates(
            rhythm, last_done=dt.date(2026, 3, 10), last_occurrence=dt.date(2026, 1, 1)
        )
        assert found.due == dt.date(2026, 4, 1)

    def test_late_but_before_the_next_keeps_the_next(self):
        rhythm = Rhythm("fixed", 1, "month", anchor=dt.date(2026, 1, 1))
        found = next_dates(
            rhythm, last_done=dt.date(2026, 1, 28), last_occurrence=dt.date(2026, 1, 1)
        )
        assert found.due == dt.date(2026, 2, 1)

    def test_tolerances_give_way_to_the_neighbour(self):
        rhythm = Rhythm(
            "fixed", 1, "week", anchor=DAY, early_min_days=5, early_max_days=5, late_min_days=10,
            late_max_days=10,
        )  # fmt: skip
        first, second = upcoming(rhythm, count=2)
        assert second.open - first.late == ONE
        assert first.late - first.due == dt.timedelta(days=4)

    def test_every_day_has_no_room_for_a_tolerance(self):
        daily = Rhythm("fixed", 1, anchor=DAY, early_max_days=3, early_min_days=3, late_max_days=3,
                       late_min_days=3)  # fmt: skip
        assert next_dates(daily, last_done=june(4)) == Dates(june(5), june(5), june(5))

    def test_without_an_anchor_it_sleeps(self):
        assert next_dates(Rhythm("fixed", 7)) == DORMANT
        assert occurrence_before(Rhythm("fixed", 7), DAY) is None
        assert satisfied(Rhythm("fixed", 7), DAY) is None

    def test_an_anchor_long_ago_costs_nothing(self):
        rhythm = Rhythm("fixed", 1, anchor=dt.date(1, 1, 2))
        assert next_dates(rhythm, last_done=DAY).due == june(2)

    def test_ends_with_the_calendar(self):
        rhythm = Rhythm("fixed", 1000, "month", anchor=dt.date(9990, 1, 1))
        assert next_dates(rhythm, last_done=dt.date(9990, 1, 1)) == DORMANT


class TestCalendar:
    def test_first_monday(self):
        rhythm = Rhythm("calendar", anchor=DAY, rrule="FREQ=MONTHLY;BYDAY=1MO", late_share=0.2,
                        late_max_days=9)  # fmt: skip
        assert next_dates(rhythm, last_done=DAY) == Dates(
            dt.date(2026, 7, 6), dt.date(2026, 7, 6), dt.date(2026, 7, 12)
        )

    def test_ends_with_its_count(self):
        rhythm = Rhythm("calendar", anchor=DAY, rrule="FREQ=WEEKLY;COUNT=2", late_min_days=3,
                        late_max_days=3)  # fmt: skip
        assert [found.due for found in upcoming(rhythm)] == [june(1), june(8)]
        assert next_dates(rhythm, last_done=june(3)).late == june(11)
        assert next_dates(rhythm, last_done=june(8)) == DORMANT

    def test_uneven_days_keep_their_windows_apart(self):
        rhythm = Rhythm(
            "calendar", anchor=DAY, rrule="FREQ=MONTHLY;BYMONTHDAY=1,3,28", early_min_days=6,
            early_max_days=6, late_min_days=6, late_max_days=6,
        )  # fmt: skip
        found = upcoming(rhythm, count=9)
        assert all(a.late < b.open for a, b in pairwise(found))
        assert found[1].late - found[1].due == dt.timedelta(days=6)


class TestSeason:
    winter = Rhythm("fixed", 1, "month", anchor=dt.date(2026, 6, 5), season_from=(11, 1),
                    season_to=(2, 28))  # fmt: skip

    def test_holds_until_the_opening(self):
        days = [found.due for found in upcoming(self.winter, count=5)]
        assert days == [
            dt.date(2026, 11, 1), dt.date(2026, 11, 5), dt.date(2026, 12, 5),
            dt.date(2027, 1, 5), dt.date(2027, 2, 5),
        ]  # fmt: skip
        assert occurrence_before(self.winter, dt.date(2026, 11, 5)) == dt.date(2026, 11, 1)
        assert occurrence_before(self.winter, dt.date(2027, 6, 30)) == dt.date(2027, 2, 5)
        assert occurrence_before(self.winter, dt.date(2026, 10, 30)) is None

    def test_lets_what_lies_outside_go(self):
        skipping = replace(self.winter, off_season="skip")
        days = [found.due for found in upcoming(skipping, count=5)]
        assert days[0] == dt.date(2026, 11, 5)
        assert days[4] == dt.date(2027, 11, 5)
        assert occurrence_before(skipping, dt.date(2027, 11, 5)) == dt.date(2027, 2, 5)

    def test_what_was_held_before_a_day_opens_after_it(self):
        assert occurrence_after(self.winter, dt.date(2026, 10, 20)) == dt.date(2026, 11, 1)

    def test_the_window_is_cut_to_the_season(self):
        wide = replace(self.winter, early_min_days=9, early_max_days=9, late_min_days=9,
                       late_max_days=9)  # fmt: skip
        held = next_dates(wide)
        assert held.open == held.due == dt.date(2026, 11, 1)
        weekly = Rhythm(
            "after_done", 7, late_min_days=30, late_max_days=30, season_from=(4, 15),
            season_to=(10, 15),
        )  # fmt: skip
        assert next_dates(weekly, last_done=dt.date(2026, 10, 1)).late == dt.date(2026, 10, 15)

    def test_outside_all_year_it_sleeps(self):
        yearly = Rhythm("fixed", 12, "month", anchor=DAY, season_from=(11, 1), season_to=(2, 28),
                        off_season="skip")  # fmt: skip
        assert next_dates(yearly) == DORMANT

    @pytest.mark.parametrize(
        ("day", "inside"),
        [
            (dt.date(2026, 11, 1), True), (dt.date(2027, 2, 28), True),
            (dt.date(2028, 2, 29), False), (dt.date(2026, 10, 31), False),
        ],
    )  # fmt: skip
    def test_both_ends_are_in(self, day, inside):
        assert in_season(day, self.winter) is inside

    def test_a_leap_day_opens_on_the_28th_in_a_common_year(self):
        spring = Rhythm("after_done", 7, season_from=(2, 29), season_to=(5, 31))
        assert season_opening(dt.date(2027, 1, 1), spring) == dt.date(2027, 2, 28)
        assert in_season(dt.date(2027, 2, 28), spring)
        assert season_of(dt.date(2028, 2, 28), spring)[0] == dt.date(2028, 2, 29)

    def test_no_season_is_all_year(self):
        assert season_of(DAY, Rhythm("fixed")) is None
        assert in_season(DAY, Rhythm("fixed"))
        assert season_opening(DAY, Rhythm("fixed")) == DAY


class TestWhicheverFirst:
    both = Rhythm("after_done", 3, "month", late_min_days=5, late_max_days=5,
                  also=(Rhythm("fixed", 1, "month", anchor=dt.date(2026, 1, 20)),))  # fmt: skip

    def test_takes_the_earliest_of_each(self):
        found = next_dates(self.both, last_done=DAY)
        assert found == Dates(june(20), june(20), june(20))

    def test_a_sleeping_rule_does_not_count(self):
        rule = Rhythm("after_done", 30, also=(Rhythm("condition"),))
        assert next_dates(rule, last_done=DAY).due == dt.date(2026, 7, 1)
        assert next_dates(rule, last_done=DAY, raised_on=june(4)).due == june(4)

    def test_all_asleep(self):
        assert next_dates(Rhythm("condition", also=(Rhythm("condition"),))) == DORMANT

    def test_an_unknown_word_among_them_is_refused(self):
        with pytest.raises(ValueError, match="sometimes"):
            next_dates(Rhythm("condition", also=(Rhythm("sometimes"),)))


class TestForecast:
    given = Dates(june(10), june(12), june(20))

    def test_takes_what_is_given(self):
        assert next_dates(Rhythm("forecast"), forecast=self.given) == self.given

    def test_what_was_forecast_before_it_was_done_is_over(self):
        assert next_dates(Rhythm("forecast"), forecast=self.given, last_done=june(12)) == DORMANT

    def test_the_longest_time_holds_beside_it(self):
        rule = Rhythm("forecast", max_days=14)
        assert next_dates(rule, forecast=self.given, last_done=DAY) == Dates(
            june(10), june(12), june(15)
        )
        assert next_dates(rule, last_done=DAY).due == june(15)


rhythms = st.builds(
    Rhythm,
    mode=st.sampled_from(["after_done", "fixed", "calendar"]),
    every_n=st.integers(1, 24),
    unit=st.sampled_from(["day", "week", "month"]),
    anchor=st.dates(dt.date(2020, 1, 1), dt.date(2026, 1, 1)),
    early_share=st.sampled_from([0, 0.1, 0.3]),
    early_min_days=st.integers(0, 5),
    early_max_days=st.integers(5, 40),
    late_share=st.sampled_from([0, 0.1, 0.5]),
    late_min_days=st.integers(0, 5),
    late_max_days=st.integers(5, 40),
    month_end=st.sampled_from(["clamp", "last", "skip"]),
    rrule=st.sampled_from(
        [
            "FREQ=DAILY;INTERVAL=9", "FREQ=WEEKLY;BYDAY=MO,TH", "FREQ=MONTHLY;BYDAY=-1FR",
            "FREQ=MONTHLY;BYMONTHDAY=1,-1", "FREQ=YEARLY;BYMONTH=3,10;BYDAY=1MO",
        ]
    ),
)  # fmt: skip
seasons = st.sampled_from([(None, None), ((4, 15), (10, 15)), ((11, 1), (2, 28))])
record = st.dates(dt.date(2021, 1, 1), dt.date(2027, 1, 1))


@cases(200)
@given(rhythm=rhythms, season=seasons, off=st.sampled_from(["hold", "skip"]), done=record)
def test_windows_are_in_order_and_after_the_work(rhythm, season, off, done):
    rule = replace(rhythm, season_from=season[0], season_to=season[1], off_season=off)
    found = next_dates(rule, last_done=done)
    if found.due is not None:
        assert done < found.open <= found.due <= found.late
        assert in_season(found.open, rule)
        assert in_season(found.late, rule)
    assert next_dates(rule, last_done=done) == found


@cases(150)
@given(rhythm=rhythms, season=seasons, off=st.sampled_from(["hold", "skip"]), start=record)
def test_neighbouring_windows_never_meet(rhythm, season, off, start):
    rule = replace(rhythm, mode="calendar" if rhythm.mode == "calendar" else "fixed",
                   season_from=season[0], season_to=season[1], off_season=off)  # fmt: skip
    found = upcoming(rule, State(last_done=start), count=4)
    for one, other in pairwise(found):
        assert one.late < other.open
        assert occurrence_before(rule, other.due) == one.due


@cases(150)
@given(rhythm=rhythms, start=record, share=st.floats(0, 1))
def test_done_anywhere_in_its_window_the_next_is_the_same(rhythm, start, share):
    rule = replace(rhythm, mode="calendar" if rhythm.mode == "calendar" else "fixed")
    now, following = upcoming(rule, State(last_done=start), count=2)
    day = now.open + dt.timedelta(days=round(share * (now.late - now.open).days))
    assert next_dates(rule, last_done=day) == following
    assert next_dates(rule, last_done=day, last_occurrence=now.due) == following
    assert satisfied(rule, day) == now.due


@cases(60)
@given(rhythm=rhythms, start=record)
def test_materialised_days_are_those_of_the_naive_walk(rhythm, start):
    rule = replace(rhythm, mode="fixed")
    steps = [
        add(rule.anchor, n * rule.every_n, rule.unit, rule.month_end)
        for n in range(3000 if rule.unit == "day" else 500)
    ]
    ahead = [day for day in steps if day is not None and day > start]
    behind = [day for day in steps if day is not None and day < start]
    assert occurrence_after(rule, start) == ahead[0]
    assert occurrence_before(rule, start) == (behind[-1] if behind else None)


@pytest.mark.parametrize("zone", ["America/New_York", "Pacific/Auckland", "UTC"])
def test_neither_clocks_nor_zones_move_a_day(zone, monkeypatch):
    """The clocks change on 29 March and 25 October 2026 in Europe, on other days elsewhere."""
    rule = Rhythm("fixed", 1, anchor=dt.date(2026, 1, 1))
    monkeypatch.setitem(os.environ, "TZ", zone)
    time.tzset()
    try:
        days = [found.due for found in upcoming(rule, count=365)]
    finally:
        monkeypatch.undo()
        time.tzset()
    assert days == [dt.date(2026, 1, 1) + n * ONE for n in range(365)]


def test_one_state_says_it_all():
    state = State(last_done=DAY, raised_on=june(2))
    assert window(Rhythm("condition"), state) == next_dates(
        Rhythm("condition"), last_done=DAY, raised_on=june(2)
    )
