"""The weather of a forecast: whose normals, what readings move, what nobody has noted."""

import datetime as dt
from typing import Any

import pytest

from apps.ahead.choices import Assumed
from apps.calc.ahead.normals import Site, follows, usual_air_c, weather_ahead
from apps.calc.climate_months import Month
from apps.systems.models import Component
from tests.ahead.climates import MONTHS, climate
from tests.ahead.conftest import read
from tests.ahead.outlooks import found
from tests.factories import TODAY, Built

JUNE = dt.date(2026, 6, 15)
FLAT = (Month(8.0, 18.0, 62.0, 10, 93.0),) * 12


class TestWarmth:
    def test_never_read_is_as_warm_as_the_air(self):
        days = weather_ahead(Site(50.9, 0, FLAT), [], JUNE, 43)
        assert [day.temp_c for day in days] == pytest.approx([13.0] * 43)

    def test_readings_keep_their_distance_from_the_air(self):
        read = [(JUNE - dt.timedelta(days=ago), 24.0) for ago in (20, 13, 6)]
        days = weather_ahead(Site(None, 0, FLAT), read, JUNE, 3)
        assert [day.temp_c for day in days] == pytest.approx([24.0] * 3)

    def test_water_follows_the_months_as_it_has(self):
        site = Site(None, 0, MONTHS)
        read = [
            (day, 4 + 0.5 * (site.air_c(day) or 0))
            for day in (JUNE - dt.timedelta(days=ago) for ago in range(150, 0, -10))
        ]
        ahead = weather_ahead(site, read, JUNE, 43)
        for number in (0, 42):
            air = site.air_c(JUNE + dt.timedelta(days=number)) or 0
            assert ahead[number].temp_c == pytest.approx(4 + 0.5 * air, abs=0.15)

    def test_a_heater_keeps_it_warm_in_winter(self):
        winter = dt.date(2026, 1, 10)
        cold = weather_ahead(Site(50.9, 0, MONTHS), [], winter, 5)
        warm = weather_ahead(Site(50.9, 0, MONTHS), [], winter, 5, heated_to=26.0)
        assert {day.temp_c for day in warm} == {26.0}
        assert max(day.temp_c for day in cold) < 6

    def test_heated_water_hardly_follows_the_air(self):
        site = Site(None, 0, MONTHS)
        read = [(JUNE - dt.timedelta(days=ago), 26.0) for ago in (20, 13, 6)]
        heated = weather_ahead(site, read, JUNE, 43, heated_to=26.0)
        plain = weather_ahead(site, read, JUNE, 43)
        rise = (site.air_c(JUNE + dt.timedelta(days=42)) or 0) - (site.air_c(JUNE) or 0)
        assert heated[42].temp_c - heated[0].temp_c == pytest.approx(0.1 * rise)
        assert plain[42].temp_c - plain[0].temp_c == pytest.approx(0.7 * rise)

    def test_nothing_known_at_all(self):
        (day,) = weather_ahead(Site(None), [], JUNE, 1)
        assert (day.temp_c, day.et0_mm, day.rain_mm) == (20.0, 3.0, 0.0)

    def test_the_latitude_alone_brings_no_rain(self):
        (day,) = weather_ahead(Site(50.9), [], JUNE, 1)
        assert day.temp_c == pytest.approx(usual_air_c(50.9, JUNE))
        assert day.rain_mm == 0

    def test_follows_is_a_share(self):
        assert follows([(5, 10), (10, 12), (15, 14), (20, 16)]) == pytest.approx(0.4)
        assert follows([(5, 10), (10, 30), (15, 50), (20, 70)]) == 1.0
        assert follows([(5, 10)]) == 0.7


@pytest.mark.django_db
class TestWhose:
    def codes(self, built: Built) -> set[str]:
        return set(found(built)[0].assumed)

    def test_the_places_before_the_firms_before_the_latitude(self, built: Built) -> None:
        assert "climate" in self.codes(built)
        climate()
        assert {"normals", "unread"} <= self.codes(built)
        firm = found(built)[0].facts.weather
        colder = tuple(Month(m.low_c - 5, m.high_c - 5, m.rain_mm) for m in MONTHS)
        climate(built.system.place, colder)
        assert "normals_place" in self.codes(built)
        own = found(built)[0].facts.weather
        assert own[0].temp_c == pytest.approx(firm[0].temp_c - 5)

    def test_without_position_the_normals_tell_the_season(self, built: Built) -> None:
        built.system.place.latitude = built.system.place.longitude = None
        built.system.place.save()
        assert "place" in self.codes(built)
        climate()
        days = found(built)[0].facts.weather
        assert days[-1].temp_c > days[0].temp_c + 1

    def test_a_heater_is_named_where_nobody_has_read(self, built: Built) -> None:
        Component.objects.create(loop=built.loop, kind="heater", name="Heater", watts=300)
        assert "heated" in self.codes(built)
        # Nile tilapia like it from 27 °C on
        assert found(built)[0].facts.weather[0].temp_c >= 26
        read(built, "temp", 24.5, 3)
        assert not {"heated", "unread"} & self.codes(built)
        assert found(built)[0].facts.weather[0].temp_c == pytest.approx(24.5, abs=0.3)

    def test_rain_needs_an_area_and_normals(self, built: Built) -> None:
        def facts(area: float | None) -> Any:
            built.loop.rain_area_m2 = area
            built.loop.save()
            return found(built)[0]

        assert "covered" in facts(None).assumed
        assert not {"covered", "no_rain"} & set(facts(0).assumed)
        assert "no_rain" in facts(4.0).assumed
        climate()
        one = facts(4.0)
        assert not {"covered", "no_rain"} & set(one.assumed)
        assert one.facts.rain_area_m2 == 4.0
        assert one.facts.weather[0].rain_mm == pytest.approx(2.0)
        assert one.facts.weather[0].wet == pytest.approx(60 / 7 / 30)

    def test_each_code_has_its_words(self) -> None:
        assert all(str(code.label) for code in Assumed)
        assert TODAY.month == 6
