"""Due dates: replayable, in order, and in season."""

import datetime as dt

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from apps.calc.rhythm import DORMANT, Rhythm, in_season, next_dates

DAY = dt.date(2026, 6, 1)


class TestAfterDone:
    def test_counts_from_the_day_it_was_done(self) -> None:
        rhythm = Rhythm(
            "after_done", 14, early_min_days=4, early_max_days=4, late_min_days=4, late_max_days=4
        )
        dates = next_dates(rhythm, last_done=DAY)
        assert dates.open == dt.date(2026, 6, 11)
        assert dates.due == dt.date(2026, 6, 15)
        assert dates.late == dt.date(2026, 6, 19)

    def test_first_time_is_the_anchor(self) -> None:
        assert next_dates(Rhythm("after_done", 30, anchor=DAY)).due == DAY

    def test_tolerance_by_share_between_floor_and_cap(self) -> None:
        rhythm = Rhythm(
            "after_done", 6, "month", late_share=0.25, late_min_days=3, late_max_days=21
        )
        dates = next_dates(rhythm, last_done=DAY)
        assert (dates.late - dates.due).days == 21


class TestFixed:
    @pytest.mark.parametrize(
        ("month_end", "second"),
        [
            ("clamp", dt.date(2026, 2, 28)),
            ("last", dt.date(2026, 2, 28)),
            ("skip", dt.date(2026, 3, 31)),
        ],
    )
    def test_month_ends(self, month_end: str, second: dt.date) -> None:
        rhythm = Rhythm("fixed", 1, "month", anchor=dt.date(2026, 1, 31), month_end=month_end)
        assert next_dates(rhythm, last_occurrence=dt.date(2026, 1, 31)).due == second

    def test_goes_by_the_occurrence_not_by_the_day_it_was_done(self) -> None:
        rhythm = Rhythm("fixed", 1, "week", anchor=DAY)
        late = next_dates(rhythm, last_done=DAY + dt.timedelta(days=5), last_occurrence=DAY)
        assert late.due == DAY + dt.timedelta(days=7)


class TestOthers:
    def test_once(self) -> None:
        assert next_dates(Rhythm("once", anchor=DAY)).due == DAY
        assert next_dates(Rhythm("once", anchor=DAY), last_done=DAY) == DORMANT

    def test_every_visit_has_no_date(self) -> None:
        assert next_dates(Rhythm("every_visit")) == DORMANT

    def test_condition_waits_until_it_is_raised(self) -> None:
        assert next_dates(Rhythm("condition")) == DORMANT
        assert next_dates(Rhythm("condition"), raised_on=DAY).due == DAY
        assert next_dates(Rhythm("condition"), raised_on=DAY, last_done=DAY) == DORMANT

    def test_season_over_the_turn_of_the_year(self) -> None:
        winter = Rhythm("after_done", 30, season_from=(11, 1), season_to=(2, 28))
        assert in_season(dt.date(2026, 1, 5), winter)
        assert next_dates(winter, last_done=DAY).due == dt.date(2026, 11, 1)

    def test_unknown_words_are_refused(self) -> None:
        with pytest.raises(ValueError, match="sometimes"):
            next_dates(Rhythm("sometimes"))
        with pytest.raises(ValueError, match="year"):
            next_dates(Rhythm("after_done", 1, "year"), last_done=DAY)


@settings(derandomize=True, max_examples=150, deadline=None)
@given(
    n=st.integers(1, 24), unit=st.sampled_from(["day", "week", "month"]),
    done=st.dates(dt.date(2020, 1, 1), dt.date(2030, 1, 1)), early=st.integers(0, 30),
    late=st.integers(0, 60), mode=st.sampled_from(["after_done", "fixed"]),
)  # fmt: skip
def test_windows_are_in_order_and_move_forward(
    n: int, unit: str, done: dt.date, early: int, late: int, mode: str
) -> None:
    rhythm = Rhythm(
        mode, n, unit, anchor=done, early_max_days=early, early_min_days=early,
        late_min_days=late, late_max_days=late,
    )  # fmt: skip
    dates = next_dates(rhythm, last_done=done, last_occurrence=done)
    assert dates.open <= dates.due <= dates.late
    assert dates.due > done
