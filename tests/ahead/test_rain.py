"""Rain into open water: it dilutes, it runs over, and no nitrogen is lost on the way."""

from dataclasses import replace

import pytest

from apps.calc.ahead.drive import drive_of, gear_of
from apps.calc.ahead.facts import Weather
from apps.calc.ahead.members import STEPS
from apps.calc.ahead.ops import FLOATS
from apps.calc.ahead.step import COMING, advance
from tests.ahead import example
from tests.ahead.loops import facts

LOST = 4 * (1.05 * 3 + 0.7 * 6)  # L/day of 4 mm from 3 m2 of water and 6 m2 of beds


def wet(rain_mm: float, area: float, share: float = 1.0):
    return facts(rain_area_m2=area, weather=(Weather(27.0, 4.0, rain_mm, share),))


def test_covered_water_gets_none():
    assert drive_of(wet(50.0, 0.0)).at(3) == drive_of(facts()).at(3)


def test_a_little_rain_saves_top_up_and_what_it_would_bring():
    dry, damp = drive_of(facts()).at(3), drive_of(wet(2.0, 5.0)).at(3)
    assert drive_of(wet(2.0, 5.0)).topped_up_l[3] == pytest.approx(20 + LOST - 10)
    assert damp.leaving == dry.leaving
    place = COMING.index("alk")
    assert damp.coming[place] == pytest.approx((20 + LOST - 10) * 80 / 2200)


def test_what_has_no_room_runs_over_with_what_is_in_it():
    drive = drive_of(wet(40.0, 5.0))
    assert drive.topped_up_l[3] == 0
    assert drive.at(3).leaving == pytest.approx((20 + 200 - LOST - 20) / 2200)
    assert drive.at(3).coming == (0.0,) * len(COMING)


def test_a_storm_a_week_runs_over_where_drizzle_does_not():
    drizzle, storm = drive_of(wet(7.0, 5.0)), drive_of(wet(7.0, 5.0, 1 / 7))
    assert drizzle.at(3).leaving == pytest.approx(20 / 2200)
    # 49 mm on one day in seven: 245 L, of which the day's losses make room for
    over = (245 - LOST - 20) / 7
    assert storm.at(3).leaving == pytest.approx((20 + over) / 2200)
    assert storm.topped_up_l[3] == pytest.approx((LOST + 20) * 6 / 7)
    # either way what comes and what goes keep the volume
    for drive in (drizzle, storm):
        gone = drive.at(3).leaving * 2200 + LOST
        assert drive.topped_up_l[3] + 35 == pytest.approx(gone)


@pytest.mark.parametrize("share", [1.0, 0.3])
@pytest.mark.parametrize("rain_mm", [0.0, 3.0, 30.0])
def test_nitrogen_is_conserved_with_what_runs_over(rain_mm, share):
    """Stored more = fed and topped up - drawn off - run over - taken up: each counted by itself."""
    known = wet(rain_mm, 12.0, share)
    drive = drive_of(known)
    gear = gear_of(known)
    params = example.PARAMS._replace(loss=0.0)
    day = drive.at(3)._replace(renewed=0.0)
    spill = day.leaving * 2200 - 20
    assert (spill > 0) == (rain_mm == 30.0 or (rain_mm == 3.0 and share < 1))
    water, came, drawn, over, taken = example.BEGIN, 0.0, 0.0, 0.0, 0.0
    begun = water.tan + water.no2 + water.no3
    for _ in range(28 * STEPS):
        after = advance(FLOATS, gear, params, day, water, 1 / STEPS)
        level = (after.tan + after.no2 + after.no3) / 1000
        came += (after.eaten * 0.32 * 0.092 + drive.topped_up_l[3] * 2.0 / 1000) / STEPS
        drawn += 20 * level / STEPS
        over += spill * level / STEPS
        taken += 6 * params.uptake * after.no3 / (10 + after.no3) / STEPS
        water = after
    stored = (water.tan + water.no2 + water.no3 - begun) * 2.2
    assert stored == pytest.approx(came - drawn - over - taken, rel=1e-9, abs=1e-9)


def test_a_wet_month_thins_the_water():
    def nitrate(known):
        drive = drive_of(known)
        water = example.BEGIN._replace(no3=90.0)
        for number in range(28):
            day = drive.at(number)
            for _ in range(STEPS):
                water = advance(FLOATS, gear_of(known), example.PARAMS, day, water, 1 / STEPS)
        return water.no3

    assert nitrate(wet(30.0, 6.0)) < nitrate(wet(3.0, 6.0)) - 20
    assert nitrate(replace(wet(30.0, 6.0), rain_area_m2=0.0)) == nitrate(facts(
        weather=(Weather(27.0, 4.0, 0.0),)))  # fmt: skip
