"""What fish are fed on each day, what they make of it, and the ammonia that follows from it."""

import math
from bisect import bisect_right
from collections import defaultdict
from collections.abc import Sequence
from dataclasses import replace
from functools import lru_cache

from apps.calc import feed, growth
from apps.calc.ahead.facts import FishGroup, LoopFacts
from apps.calc.ahead.priors import CONVERSION
from apps.calc.ahead.span import first_day, temperatures
from apps.calc.species import Species, interpolate, species_named

_FEED_KEPT_DAYS = 10.0
_FEW_FED = 5
# beyond these a weighing or a feed log is wrong (common practice)
_LEAST_SHARE, _MOST_SHARE = 0.3, 3.0


def growth_share(facts: LoopFacts, group: FishGroup, tgc: float) -> float:
    """Return how much of its usual gain a group makes that grows by a coefficient (times 1000).

    What it gains in a day by the coefficient, against what its part of the feed usually makes of
    it; where it is too cold or too warm to feed today, at its best temperature by its ration.
    References: iwama1981, practice.
    """
    first, kind = first_day(facts), _species(group)
    temps = temperatures(facts, first, 1)
    temp, given = temps[-1], feed_given(facts, first, 1, temps)[-1]
    if not kind.feed_min_c <= temp <= kind.feed_max_c:
        temp, given = (kind.best_low_c + kind.best_high_c) / 2, -1.0
    wanted = _rationed(facts, temp)
    eaten = ration(group, temp) * math.pow(group.weight_g, power_law(group)[1])
    if given >= 0:
        eaten *= given / wanted if wanted else 0.0
    if eaten <= 0:
        return 1.0
    gain = growth.weight_after_g(group.weight_g, temp, 1.0, tgc) - group.weight_g
    return max(_LEAST_SHARE, min(_MOST_SHARE, gain * CONVERSION / eaten))


def _species(group: FishGroup) -> Species:
    return species_named(group.species)


@lru_cache(maxsize=4096)
def _law(species: str, weight: float) -> tuple[float, float]:
    table = species_named(species).ration

    def grams(at: float) -> float:
        return interpolate(table, at, logarithmic=True) * at / 100

    low, high = 0.8 * weight, 1.6 * weight
    power = math.log(grams(high) / grams(low)) / math.log(high / low)
    return grams(low) / low**power, power


def power_law(group: FishGroup) -> tuple[float, float]:
    """Return (grams a day of a fish of 1 g, power) through the ration's table near its weight."""
    return _law(group.species, max(0.1, group.weight_g))


def ration(group: FishGroup, temp: float) -> float:
    """Return the grams a day of a fish of 1 g in water of a temperature [°C]."""
    return power_law(group)[0] * feed.temperature_factor(_species(group), temp)


def feed_given(
    facts: LoopFacts, first: int, horizon: int, temps: Sequence[float]
) -> tuple[float, ...]:
    """Return grams by day, below 0 where the ration decides.

    Before day 0 the log, each entry kept for ten days; after it plans, else ``feed_g_day`` with
    the warmth that the fish feel against today.
    """
    by_day: dict[int, float] = defaultdict(float)
    for entry in facts.fed:
        by_day[math.floor(entry.day)] += entry.grams
    logged = sorted(by_day)
    usual = -1.0 if facts.feed_g_day is None else facts.feed_g_day
    today = _appetite(facts, temps[-first]) if len(temps) > -first else 0.0
    keen = _keenness(facts, by_day, first, temps)
    found = []
    for day in range(first, horizon):
        place = bisect_right(logged, day) - 1
        if day in by_day:
            found.append(by_day[day])
        elif day < 0 and place >= 0 and day - logged[place] <= _FEED_KEPT_DAYS:
            found.append(by_day[logged[place]])
        elif usual < 0 or not today:
            found.append(keen * _rationed(facts, temps[day - first]) if keen else -1.0)
        else:
            found.append(usual * _appetite(facts, temps[day - first]) / today)
    return tuple(found)


def _rationed(facts: LoopFacts, temp: float) -> float:
    return sum(
        g.count * ration(g, temp) * math.pow(g.weight_g, power_law(g)[1]) for g in facts.fish
    )


def _keenness(
    facts: LoopFacts, logged: dict[int, float], first: int, temps: Sequence[float]
) -> float:
    """Return what was fed against the ration on the days that were written down; 0 where few were."""
    days = [day for day in logged if first <= day < 0]
    wanted = sum(_rationed(facts, temps[day - first]) for day in days)
    if len(days) < _FEW_FED or not wanted:
        return 0.0
    return min(3.0, sum(logged[day] for day in days) / wanted)


def _appetite(facts: LoopFacts, temp: float) -> float:
    mass = sum(group.count * group.weight_g for group in facts.fish)
    if not mass:
        return 0.0
    felt = sum(
        g.count * g.weight_g * feed.temperature_factor(_species(g), temp) for g in facts.fish
    )
    return felt / mass


def acid_of(
    facts: LoopFacts, usual: LoopFacts | None, first: int, horizon: int
) -> tuple[float, ...]:
    """Return by day the ammonia that the feed makes against what it would usually make.

    1 where nothing is planned otherwise, on the days before, and where nothing was fed usually.
    """
    known = facts if usual is None else usual
    begin = 1 if usual is None else 0
    plain = replace(known, fed=tuple(fed for fed in known.fed if fed.day < begin))
    if plain == facts:
        return (1.0,) * (horizon - first)
    found = []
    made, wanted = _made(facts, first, horizon), _made(plain, first, horizon)
    for day, one, other in zip(range(first, horizon), made, wanted, strict=True):
        found.append(min(_MOST_SHARE, one / other) if day >= begin and other > 0 else 1.0)
    return tuple(found)


def _made(facts: LoopFacts, first: int, horizon: int) -> list[float]:
    """Return by day the feed's protein [g]: what is given, else the ration."""
    temps = temperatures(facts, first, horizon)
    given = feed_given(facts, first, horizon, temps)
    return [
        facts.protein_fraction * (grams if grams >= 0 else _rationed(facts, temp))
        for grams, temp in zip(given, temps, strict=True)
    ]
