"""The usual year of a place, and how a loop's own warmth follows it."""

import datetime as dt
import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from statistics import median

from apps.calc import climate
from apps.calc.ahead.facts import Weather
from apps.calc.climate_months import Month, UsualDay, between, on_day

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
UNKNOWN_C = 20.0  # where neither the water was read nor the air is known (common practice)


@dataclass(frozen=True)
class Site:
    """Where a loop stands: its latitude, its height [m], and its climate's months where known."""

    latitude: float | None
    altitude_m: float = 0.0
    months: tuple[Month, ...] = ()

    def air_c(self, day: dt.date) -> float | None:
        """Return the usual mean air temperature [°C] of a day; None where it is not known."""
        if self.months:
            return (between(self.months, "low_c", day) + between(self.months, "high_c", day)) / 2
        if self.latitude is None:
            return None
        return usual_air_c(self.latitude, day, self.altitude_m)

    def on(self, day: dt.date) -> UsualDay | None:
        """Return what is usual on a day; None where neither months nor latitude are known.

        References: fao56 (Hargreaves' evapotranspiration), common practice.
        """
        if self.months:
            return on_day(self.months, day, self.latitude, self.altitude_m)
        if self.latitude is None:
            return None
        air, half = usual_air_c(self.latitude, day, self.altitude_m), DAILY_SPAN / 2
        weather = climate.Weather(day, self.latitude, self.altitude_m, air + half, air - half)
        return UsualDay(air, climate.reference_et0(weather).et0_mm_day, 0.0, 1.0)


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


def follows(pairs: Sequence[tuple[float, float]]) -> float:
    """Return by how much of a change of the usual air the water of past readings has changed.

    ``pairs``: (usual air, water read) [°C]. Least squares, between 0 and 1; where the air changed
    by less than 4 °C over the readings the usual share. Source: common practice.
    """
    airs = [air for air, _value in pairs]
    if len(pairs) < 4 or max(airs) - min(airs) < 4:
        return FOLLOWS
    mean_air = sum(airs) / len(pairs)
    mean_water = sum(value for _air, value in pairs) / len(pairs)
    spread = sum((air - mean_air) ** 2 for air in airs)
    slope = sum((air - mean_air) * (value - mean_water) for air, value in pairs) / spread
    return min(1.0, max(0.0, slope))


def weather_ahead(
    site: Site,
    taken: Sequence[tuple[dt.date, float]],
    first: dt.date,
    days: int,
    *,
    heated_to: float | None = None,
) -> tuple[Weather, ...]:
    """Return the weather of so many days from the first one.

    Water keeps the distance from the usual year that the readings of its last 30 days show. Where
    it was never read it is as warm as the usual air, with a heater no colder than ``heated_to``
    [°C]; where the air is not known either it stays as it was last read, or is taken as 20 °C.
    Rain is that of the climate's months, and none without them. ``taken``: (day, °C), oldest first.
    References: fao56 (Hargreaves' evapotranspiration), common practice.

    >>> [round(day.temp_c, 1) for day in
    ...  weather_ahead(Site(None), [(dt.date(2026, 6, 1), 24.0)], dt.date(2026, 6, 2), 2)]
    [24.0, 24.0]
    """
    kept, share = _kept(site, taken, first, heated_to)
    coldest = WATER_C[0] if taken or heated_to is None else max(WATER_C[0], heated_to)
    found = []
    for number in range(days):
        day = first + dt.timedelta(days=number)
        usual = site.on(day)
        water = kept + share * usual.air_c if usual else kept
        et0 = usual.et0_mm if usual and usual.et0_mm is not None else ET0_MM_UNKNOWN
        rain, wet = (usual.rain_mm, usual.wet) if usual else (0.0, 1.0)
        found.append(Weather(max(coldest, min(WATER_C[1], water)), et0, rain, wet))
    return tuple(found)


def _kept(
    site: Site, taken: Sequence[tuple[dt.date, float]], first: dt.date, heated_to: float | None
) -> tuple[float, float]:
    """Return what of the water's warmth stays [°C], and by which share it follows the air."""
    recent = [row for row in taken if (first - row[0]).days <= RECENT_DAYS] or list(taken[-3:])
    if site.air_c(first) is None:
        unread = UNKNOWN_C if heated_to is None else heated_to
        return (median(value for _day, value in recent) if recent else unread), 0.0
    if not recent:
        return 0.0, 1.0
    pairs = [(site.air_c(day) or 0.0, value) for day, value in taken]
    share = follows(pairs) if heated_to is None else FOLLOWS_HEATED
    return median(value - share * (site.air_c(day) or 0.0) for day, value in recent), share
