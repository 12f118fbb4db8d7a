"""Reference evapotranspiration against FAO-56's examples and an independent program."""

from datetime import UTC, date, datetime

import pytest
import refet
from astral import Observer
from astral.sun import sunrise

from apps.calc import climate

UCCLE = climate.Weather(
    day=date(2015, 7, 6),
    latitude_deg=50.8,
    altitude_m=100,
    tmax_c=21.5,
    tmin_c=12.3,
    rh_max=84,
    rh_min=63,
    wind_m_s=10 / 3.6,
    wind_height_m=10,
    sunshine_h=9.25,
)
BANGKOK = climate.Weather(
    day=date(2015, 4, 15),
    latitude_deg=13 + 44 / 60,
    altitude_m=2,
    tmax_c=34.8,
    tmin_c=25.6,
    ea_kpa=2.85,
    wind_m_s=2,
    sunshine_h=8.5,
    soil_heat_mj_m2_day=0.14,
)
LYON = climate.Weather(
    day=date(2015, 7, 15),
    latitude_deg=45 + 43 / 60,
    altitude_m=200,
    tmax_c=26.6,
    tmin_c=14.8,
    wind_m_s=2,
)


class TestSunrise:
    @pytest.mark.outside(
        source="astral 3.2 (Meeus' algorithms, with refraction: some minutes sooner)",
        kind="computed",
        tolerance=0.17,
        absolute=True,
    )
    @pytest.mark.parametrize(
        ("latitude", "longitude", "day"),
        [(50.85, 4.35, date(2026, 6, 21)), (50.85, 4.35, date(2026, 12, 21)), (-33.9, 151.2, date(2026, 3, 1)),
         (0.0, -78.5, date(2026, 9, 23)), (59.3, 18.1, date(2026, 4, 10))],
    )  # fmt: skip
    def test_is_that_of_others(self, outside, latitude, longitude, day):
        seen = sunrise(Observer(latitude, longitude), date=day, tzinfo=UTC)
        hours = (seen - datetime(day.year, day.month, day.day, tzinfo=UTC)).total_seconds() / 3600
        found = climate.sunrise_utc_h(latitude, longitude, day.timetuple().tm_yday)
        # a day's sunrise far in the east falls into the evening before by UTC
        outside((found - hours + 12) % 24, 12)

    def test_comes_not_in_the_polar_night_or_day(self):
        assert climate.sunrise_utc_h(80, 10, 1) is None
        assert climate.sunrise_utc_h(80, 10, 172) is None


class TestReferenceEt0:
    @pytest.mark.outside(
        source="FAO-56, example 18 (Uccle, 6 July)", kind="memory", tolerance=0.02, absolute=True
    )
    def test_of_a_day(self, outside):
        found = climate.reference_et0(UCCLE)
        assert found.method == climate.PENMAN_MONTEITH
        assert found.assumptions == ()
        outside(found.et0_mm_day, 3.88)

    @pytest.mark.outside(
        source="FAO-56, example 17 (Bangkok, April)", kind="memory", tolerance=0.01, absolute=True
    )
    def test_of_a_month(self, outside):
        outside(climate.reference_et0(BANGKOK).et0_mm_day, 5.72)

    @pytest.mark.outside(
        source="FAO-56, example 20 (Lyon, temperatures and an assumed wind)",
        kind="memory",
        tolerance=0.01,
        absolute=True,
    )
    def test_with_missing_readings(self, outside):
        found = climate.reference_et0(LYON)
        assert len(found.assumptions) == 2
        outside(found.et0_mm_day, 4.56)

    @pytest.mark.outside(
        source="FAO-56, example 20 (Lyon, by Hargreaves)",
        kind="memory",
        tolerance=0.05,
        absolute=True,
    )
    def test_with_temperatures_alone(self, outside):
        from dataclasses import replace

        found = climate.reference_et0(replace(LYON, wind_m_s=None))
        assert found.method == climate.HARGREAVES
        outside(found.et0_mm_day, 5.0)

    @pytest.mark.outside(
        source="refet 0.5, ASCE standardised, daily", kind="computed", tolerance=0.02
    )
    @pytest.mark.parametrize("latitude", [-35, 0, 20, 50])
    @pytest.mark.parametrize(
        ("tmax", "tmin", "vapour", "wind"), [(33, 24, 2.6, 1.2), (21, 9, 1.0, 3.5)]
    )
    def test_agrees_with_an_independent_program(self, latitude, tmax, tmin, vapour, wind, outside):
        day = date(2015, 9, 3)
        solar = 0.5 * climate.extraterrestrial_mj(latitude, 246)
        ours = climate.reference_et0(
            climate.Weather(
                day=day,
                latitude_deg=latitude,
                altitude_m=150,
                tmax_c=tmax,
                tmin_c=tmin,
                ea_kpa=vapour,
                wind_m_s=wind,
                rs_mj_m2_day=solar,
            )
        )
        theirs = refet.Daily(
            tmin=float(tmin),
            tmax=float(tmax),
            ea=vapour,
            rs=solar,
            uz=wind,
            zw=2,
            elev=150.0,
            lat=float(latitude),
            doy=246,
            method="asce",
        )
        outside(ours.et0_mm_day, float(theirs.eto()[0]))

    def test_of_the_polar_night_is_not_negative(self):
        dark = climate.Weather(
            date(2015, 12, 21), 80, 0, -20, -30, rh_max=90, rh_min=80, sunshine_h=0
        )
        assert climate.reference_et0(dark).et0_mm_day >= 0

    def test_refuses_a_night_warmer_than_the_day(self):
        with pytest.raises(ValueError, match="tmin_c must not be above tmax_c"):
            climate.Weather(date(2015, 7, 6), 50, 100, 10, 20)

    def test_refuses_impossible_humidity(self):
        with pytest.raises(ValueError, match="rh_max must be between 1 and 100"):
            climate.Weather(date(2015, 7, 6), 50, 100, 20, 10, rh_max=120)


class TestSun:
    @pytest.mark.outside(
        source="FAO-56, example 8 (20 °S, 3 September)",
        kind="memory",
        tolerance=0.01,
        absolute=True,
    )
    def test_radiation_above_the_air(self, outside):
        outside(climate.extraterrestrial_mj(-20, 246), 32.19)

    @pytest.mark.outside(
        source="FAO-56, example 9 (20 °S, 3 September)",
        kind="memory",
        tolerance=0.05,
        absolute=True,
    )
    def test_hours_of_daylight(self, outside):
        outside(climate.daylight_h(-20, 246), 11.7)
