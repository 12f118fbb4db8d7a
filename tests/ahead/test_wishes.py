"""A what-if changes what it is asked to change, and nothing else."""

from dataclasses import replace
from typing import Any

import pytest

from apps.calc.ahead.facts import Fed, FishGroup, LoopFacts, Renewed, Weather
from apps.calc.ahead.wishes import Wishes, wished
from tests.ahead.outlooks import found
from tests.factories import Built

pytestmark = pytest.mark.django_db


@pytest.fixture
def facts(built: Built) -> LoopFacts:
    one = found(built)[0].facts
    fish = (FishGroup("nile_tilapia", 30, 200.0), FishGroup("nile_tilapia", 11, 90.0))
    return replace(one, fish=fish, feed_g_day=100.0, fed=(Fed(-3.0, 100.0),))


def test_nothing_asked_is_nothing_changed(facts: LoopFacts) -> None:
    assert wished(facts, Wishes()) == facts


def test_fewer_fish_come_out_of_each_batch_and_take_their_feed_along(facts: LoopFacts) -> None:
    less = wished(facts, Wishes(fewer=20))
    assert [group.count for group in less.fish] == [15, 6]
    assert less.feed_g_day == pytest.approx(100 * 21 / 41)
    assert less.fed[0].grams == pytest.approx(100 * 21 / 41)
    assert wished(facts, Wishes(fewer=41)).fish == ()
    with pytest.raises(ValueError, match="fewer must be between 0 and 41, not 42"):
        wished(facts, Wishes(fewer=42))


@pytest.mark.parametrize("fewer", range(42))
def test_as_many_fish_are_left_as_were_asked_for(facts: LoopFacts, fewer: int) -> None:
    assert sum(g.count for g in wished(facts, Wishes(fewer=fewer)).fish) == 41 - fewer


def test_heat_feed_beds_and_water(facts: LoopFacts) -> None:
    hot = wished(facts, Wishes(warmer_c=5, warm_days=3))
    rise = [a.temp_c - b.temp_c for a, b in zip(hot.weather, facts.weather, strict=True)]
    assert rise == pytest.approx([5, 5, 5, *[0] * 40])
    # Hargreaves: with temperature + 17.8 °C; no rain falls in a heat wave
    warmth = facts.weather[0].temp_c
    assert hot.weather[0].et0_mm / facts.weather[0].et0_mm == pytest.approx(
        (warmth + 5 + 17.8) / (warmth + 17.8)
    )
    rainy = replace(facts, weather=tuple(replace(day, rain_mm=3.0) for day in facts.weather))
    after = wished(rainy, Wishes(warmer_c=5, warm_days=3)).weather
    assert [day.rain_mm for day in after[:4]] == [0, 0, 0, 3.0]
    away = wished(facts, Wishes(holiday_days=10))
    assert [(fed.day, fed.grams) for fed in away.fed if fed.day >= 0] == [
        (float(day), 0.0) for day in range(10)
    ]
    assert wished(facts, Wishes(protein=0.42)).protein_fraction == 0.42
    assert wished(facts, Wishes(more_beds_m2=3)).plant_area_m2 == 5
    assert wished(replace(facts, kind="fish"), Wishes(more_beds_m2=3)).plant_area_m2 == 2


def test_a_water_change_comes_on_top_of_the_usual_ones(facts: LoopFacts) -> None:
    assert wished(facts, Wishes(change_l=300)).renewed == (Renewed(0.0, 300),)
    usual = replace(facts, renewed=(Renewed(-20.0, 210), Renewed(-6.0, 210)))
    ahead = [row for row in wished(usual, Wishes(change_l=300)).renewed if row.day >= 0]
    # 420 L in six weeks are 10 L a day
    assert [row.litres for row in ahead[:3]] == pytest.approx([310, 10, 10])


def test_it_is_never_hotter_than_the_formulas_hold(facts: LoopFacts) -> None:
    scalding = replace(facts, weather=(Weather(40.0, 3, 0), Weather(40.0, 3, 0)))
    days: Any = wished(scalding, Wishes(warmer_c=15, warm_days=1)).weather
    assert [day.temp_c for day in days] == [44.0, 40.0]
