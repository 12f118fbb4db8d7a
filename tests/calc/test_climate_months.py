"""Climate normals by day: sums that are kept, temperatures without steps, evaporation as published."""

import calendar
import datetime as dt
import itertools
from dataclasses import replace

import pytest

from apps.calc.climate_months import Month, between, days_in, on_day
from tests.ahead.climates import MONTHS

YEAR = [dt.date(2027, 1, 1) + dt.timedelta(days=number) for number in range(365)]


def test_a_months_rain_falls_within_the_month():
    for month in range(1, 13):
        fallen = sum(on_day(MONTHS, day).rain_mm for day in YEAR if day.month == month)
        length = calendar.monthrange(2027, month)[1]
        assert fallen == pytest.approx(MONTHS[month - 1].rain_mm * length / days_in(month))


def test_no_day_is_far_from_the_day_before():
    airs = [on_day(MONTHS, day).air_c for day in (*YEAR, dt.date(2028, 1, 1))]
    assert max(abs(b - a) for a, b in itertools.pairwise(airs)) < 0.2


def test_the_middle_of_a_month_is_its_mean():
    for day in (dt.date(2027, 1, 16), dt.date(2027, 6, 15), dt.date(2027, 12, 16)):
        assert on_day(MONTHS, day).air_c == pytest.approx(MONTHS[day.month - 1].mean_c, abs=0.15)


def test_december_runs_into_january():
    cold = [replace(MONTHS[0], low_c=-10.0), *MONTHS[1:]]
    assert between(cold, "low_c", dt.date(2026, 12, 31)) == pytest.approx(-5, abs=0.3)


@pytest.mark.outside(
    source="FAO-56, example 20 (Lyon, July, by Hargreaves, 5.0 mm a day)", kind="memory",
    tolerance=0.05, absolute=True,
)  # fmt: skip
def test_evaporation_from_temperatures_and_latitude(outside):
    lyon = [Month(14.8, 26.6, 50.0)] * 12
    outside(on_day(lyon, dt.date(2015, 7, 15), 45.72, 200).et0_mm, 5.0)


def test_evaporation_that_was_entered_goes_first_and_none_is_made_up():
    told = [Month(10.0, 20.0, 0.0, None, 93.0)] * 12
    assert on_day(told, dt.date(2027, 7, 1), 45.0).et0_mm == pytest.approx(3.0)
    assert on_day(MONTHS, dt.date(2027, 7, 1)).et0_mm is None


@pytest.mark.parametrize(
    ("rain", "days", "wet"),
    [(62, 10, 10 / 31), (62, None, 62 / 7 / 31), (900, None, 0.5), (0.0, 0, 1.0), (40, 0, 1 / 31)],
)
def test_share_of_days_with_rain(rain, days, wet):
    usual = on_day([Month(5.0, 15.0, rain, days)] * 12, dt.date(2027, 7, 1))
    assert usual.wet == pytest.approx(wet)
