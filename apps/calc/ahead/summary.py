"""An ensemble put into words: fans, crossings, fish and needs from quantiles by day."""

import math
from collections.abc import Mapping, Sequence

from apps.calc.ahead.facts import LoopFacts
from apps.calc.ahead.outlook import Crossing, Fan, Needs, StockDay
from apps.calc.species import species_named

LOW, MIDDLE, HIGH = 0.1, 0.5, 0.9
Z80 = 1.2815515655446004
NEVER = math.inf
# The fish breathe at most this much above their day's mean, in the hours after feeding and before
# dawn (common practice).
PEAK = 1.5

Band = tuple[Sequence[float], Sequence[float], Sequence[float]]


def fan(measurand: str, days: Sequence[float], band: Band) -> Fan:
    """Return the balance's fan, not judged."""
    low, middle, high = (tuple(float(v) for v in part) for part in band)
    return Fan(measurand, "balance", tuple(days), low, middle, high, None, 0)


def quantile(ordered: Sequence[float], share: float) -> float:
    """Return the quantile of an ordered series, straight between its members.

    Infinite where the share falls on or beside an infinite member.

    >>> quantile([1.0, 2.0, 3.0], 0.25)
    1.5
    """
    place = share * (len(ordered) - 1)
    below = math.floor(place)
    left, right = ordered[below], ordered[min(below + 1, len(ordered) - 1)]
    if place == below or left == right:
        return left
    return left + (place - below) * (right - left)


def first_crossing(values: Sequence[float], side: str, level: float) -> float:
    """Return the day, straight between days, on which the series passes the level; else infinite.

    A series that begins past the level crosses on day 0.

    >>> first_crossing([1.0, 2.0, 4.0], "above", 3.0)
    1.5
    """
    sign = 1.0 if side == "above" else -1.0
    before = sign * (values[0] - level)
    if before > 0:
        return 0.0
    for day, value in enumerate(values[1:], start=1):
        past = sign * (value - level)
        if past > 0:
            return day - past / (past - before)
        before = past
    return NEVER


def crossing(measurand: str, side: str, level: float, dates: Sequence[float]) -> Crossing:
    """Return the crossing from the dates of all members."""
    ordered = sorted(dates)
    found = [quantile(ordered, share) for share in (LOW, MIDDLE, HIGH)]
    soonest, middle, latest = (day if math.isfinite(day) else None for day in found)
    return Crossing(measurand, side, level, soonest, middle, latest)


def stock(
    facts: LoopFacts, biomass_g: Sequence[float], feed: Sequence[float], lowest: Sequence[float]
) -> tuple[StockDay, ...]:
    """Return the fish by day from the middles of their mass, feed and lowest oxygen."""
    count = sum(group.count for group in facts.fish)
    if not count:
        return ()
    limit = max(species_named(group.species).oxygen_limit_mg_l for group in facts.fish)
    litres = facts.fish_volume_l or facts.volume_l
    return tuple(
        StockDay(float(day), mass / count, mass / 1000, mass / litres, fed, air, air - limit)
        for day, (mass, fed, air) in enumerate(zip(biomass_g, feed, lowest, strict=True))
    )


def needs(
    facts: LoopFacts,
    feed: Sequence[float],
    alkalinity: Sequence[float],
    dosed_g: Sequence[float],
    steered: tuple[float, float],
    topped_up_l: Sequence[float],
) -> tuple[Needs, ...]:
    """Return what is needed until each day: base is what holds today's alkalinity.

    Where today lies below the lower limit asked for, base is what brings it there and holds it.
    ``steered``: (pull per day, level) of the doses by habit, which count as given.
    """
    limits: Mapping[str, float] = {
        name: level for name, side, level in facts.limits if side == "below"
    }
    wanted = max(alkalinity[0], limits.get("alk", 0.0))
    found, fed, given, topped = [], 0.0, 0.0, 0.0
    for day in range(1, len(alkalinity)):
        fed += feed[day - 1]
        given += dosed_g[day - 1]
        given += steered[0] * (steered[1] - alkalinity[day - 1]) * facts.volume_l / 1000
        topped += topped_up_l[day - 1]
        short = (wanted - alkalinity[day]) * facts.volume_l / 1000 + given
        found.append(Needs(float(day), fed, max(0.0, short), topped))
    return tuple(found)
