"""The usual year at a latitude, and how a loop's own warmth follows it."""

import datetime as dt
import math
from collections.abc import Sequence
from itertools import pairwise
from statistics import median

from apps.calc import climate
from apps.calc.ahead.facts import Weather

# Yearly mean and half the span of the monthly means [°C] near sea level, by latitude north: zonal
# means of the handbooks of climate, from memory, rounded; a default until a firm knows better.
ZONES: tuple[tuple[float, float, float], ...] = (
    (0, 26, 1), (10, 26.5, 1.5), (20, 25, 4), (30, 20.5, 7), (40, 14, 10), (50, 9, 10),
    (60, 3, 13), (70, -8, 15), (90, -20, 17),
)  # fmt: skip
PER_100_M = 0.65  # °C, standard atmosphere
DAILY_SPAN = 10.0  # °C between a day's highest and lowest, inland (common practice)
WARMEST_DAY = 205  # of the year in the north, about 24 July (common practice)
WATER_C = (2.0, 34.0)
ET0_MM_UNKNOWN = 3.0  # a mild summer's day (common practice)
RECENT_DAYS = 30
# the water of a heated loop, or of one whose readings show nothing, follows the air this much
FOLLOWS, FOLLOWS_HEATED = 0.7, 0.1


def usual_air_c(latitude: float, day: dt.date, altitude_m: float = 0.0) -> float:
    """Return the usual mean air temperature [°C] of a day. Source: memory (ZONES).

    >>> usual_air_c(50, dt.date(2026, 7, 24)) > usual_air_c(50, dt.date(2026, 1, 24)) + 15
    True
    """
    mean, half = _zone(abs(latitude))
    turn = WARMEST_DAY if latitude >= 0 else WARMEST_DAY + 183
    wave = math.cos(2 * math.pi * (day.timetuple().tm_yday - turn) / 365.25)
    return mean + half * wave - PER_100_M * altitude_m / 100


def _zone(latitude: float) -> tuple[float, float]:
    for (a, mean_a, half_a), (b, mean_b, half_b) in pairwise(ZONES):
        if latitude <= b:
            share = (latitude - a) / (b - a)
            return mean_a + share * (mean_b - mean_a), half_a + share * (half_b - half_a)
    return ZONES[-1][1:]


def follows(latitude: float, altitude_m: float, taken: Sequence[tuple[dt.date, float]]) -> float:
    """Return by how much of a change of the usual air the water of past readings has changed.

    Least squares, between 0 and 1; where the air changed by less than 4 °C over the readings the
    usual share. Source: common practice.
    """
    pairs = [(usual_air_c(latitude, day, altitude_m), value) for day, value in taken]
    airs = [air for air, _value in pairs]
    if len(pairs) < 4 or max(airs) - min(airs) < 4:
        return FOLLOWS
    mean_air = sum(airs) / len(pairs)
    mean_water = sum(value for _air, value in pairs) / len(pairs)
    spread = sum((air - mean_air) ** 2 for air in airs)
    slope = sum((air - mean_air) * (value - mean_water) for air, value in pairs) / spread
    return min(1.0, max(0.0, slope))


def weather_ahead(
    latitude: float | None,
    altitude_m: float,
    taken: Sequence[tuple[dt.date, float]],
    first: dt.date,
    days: int,
    *,
    heated: bool = False,
) -> tuple[Weather, ...]:
    """Return the weather of so many days from the first one, without rain.

    Water keeps the distance from the usual year that the readings of its last 30 days show; where
    no latitude is known it stays as warm as last read. ``taken``: (day, °C), oldest first.
    References: fao56 (Hargreaves' evapotranspiration), common practice.

    >>> [round(day.temp_c, 1) for day in
    ...  weather_ahead(None, 0, [(dt.date(2026, 6, 1), 24.0)], dt.date(2026, 6, 2), 2)]
    [24.0, 24.0]
    """
    recent = [row for row in taken if (first - row[0]).days <= RECENT_DAYS] or list(taken[-3:])
    if latitude is None:
        warmth = median(value for _day, value in recent) if recent else 20.0
        return (Weather(warmth, ET0_MM_UNKNOWN, 0.0),) * days
    share = FOLLOWS_HEATED if heated else follows(latitude, altitude_m, taken)
    base = None
    if recent:
        base = median(
            value - share * usual_air_c(latitude, day, altitude_m) for day, value in recent
        )
    found = []
    for number in range(days):
        day = first + dt.timedelta(days=number)
        air = usual_air_c(latitude, day, altitude_m)
        water = air if base is None else base + share * air
        found.append(
            Weather(
                min(WATER_C[1], max(WATER_C[0], water)), _et0(latitude, altitude_m, day, air), 0.0
            )
        )
    return tuple(found)


def _et0(latitude: float, altitude_m: float, day: dt.date, air_c: float) -> float:
    half = DAILY_SPAN / 2
    weather = climate.Weather(day, latitude, altitude_m, air_c + half, air_c - half)
    return climate.reference_et0(weather).et0_mm_day
