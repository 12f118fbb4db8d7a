"""Climate normals: what is usual in each month, and so on each day."""

import calendar
import datetime as dt
from collections.abc import Sequence
from dataclasses import dataclass, fields

from apps.calc.climate import Weather, reference_et0

# What a month may be at all, with room beyond the records of inhabited places (from memory: monthly
# means of -50 °C in the coldest town and 46 °C of daily highest in the hottest, 3,000 mm of rain;
# 12 mm of evapotranspiration a day is the most that fao56 names, for hot deserts).
LIMITS: dict[str, tuple[float, float]] = {
    "low_c": (-60.0, 40.0),
    "high_c": (-40.0, 50.0),
    "rain_mm": (0.0, 3000.0),
    "wet_days": (0.0, 31.0),
    "et0_mm": (0.0, 400.0),
}
WIDEST_SPAN = 25.0  # °C between a month's mean daily highest and lowest (common practice)
# A day with rain is one of at least 1 mm, as weather services count them. Where nobody has noted
# how many there are: one in so many mm of the month's rain, at most every other day (common practice).
MM_A_WET_DAY = 7.0
DRY = 1.0  # mm


@dataclass(frozen=True)
class Month:
    """One month: mean daily lowest and highest air temperature [°C] and rain [mm in the month].

    ``wet_days``: days with at least 1 mm; ``et0_mm``: reference evapotranspiration [mm in the
    month]. None where nobody has noted it.
    """

    low_c: float
    high_c: float
    rain_mm: float
    wet_days: float | None = None
    et0_mm: float | None = None

    @property
    def mean_c(self) -> float:
        """Mean of highest and lowest, as weather services have it."""
        return (self.low_c + self.high_c) / 2


FIELDS = tuple(field.name for field in fields(Month))


@dataclass(frozen=True)
class UsualDay:
    """Air [°C], evapotranspiration and rain [mm/day], and the share of days on which rain falls.

    ``et0_mm`` is None where neither the month nor a latitude tells it.
    """

    air_c: float
    et0_mm: float | None
    rain_mm: float
    wet: float


def days_in(month: int) -> float:
    """Return the days of a month of the mean year, February with a quarter more."""
    return 28.25 if month == 2 else float(calendar.monthrange(2023, month)[1])


def on_day(
    months: Sequence[Month], day: dt.date, latitude: float | None = None, altitude_m: float = 0.0
) -> UsualDay:
    """Return what is usual on a day, from the normals of January to December.

    Temperatures run straight from the middle of a month to that of the next; rain is spread evenly
    over its month, so that the month's sum is kept. Where a month names no evapotranspiration it is
    Hargreaves' from the span of temperatures. References: fao56, common practice.

    >>> flat = [Month(5.0, 15.0, 62.0, 10)] * 12
    >>> on_day(flat, dt.date(2026, 7, 3)).air_c, on_day(flat, dt.date(2026, 7, 3)).rain_mm
    (10.0, 2.0)
    """
    low = between(months, "low_c", day)
    high = max(low, between(months, "high_c", day))
    now = months[day.month - 1]
    length = days_in(day.month)
    et0 = now.et0_mm / length if now.et0_mm is not None else None
    if et0 is None and latitude is not None:
        et0 = reference_et0(Weather(day, latitude, altitude_m, high, low)).et0_mm_day
    return UsualDay((low + high) / 2, et0, now.rain_mm / length, _wet(now, length))


def _wet(month: Month, length: float) -> float:
    if month.rain_mm < DRY:
        return 1.0
    days = month.wet_days
    if days is None:
        days = min(length / 2, month.rain_mm / MM_A_WET_DAY)
    return min(1.0, max(1.0, days) / length)


def between(months: Sequence[Month], name: str, day: dt.date) -> float:
    """Return a month's figure on a day, straight between the middles of months.

    >>> warm = [Month(float(number), 20.0, 0.0) for number in range(12)]
    >>> between(warm, "low_c", dt.date(2026, 3, 16))
    2.0
    """
    length = calendar.monthrange(day.year, day.month)[1]
    away = (day.day - (length + 1) / 2) / length
    here = months[day.month - 1]
    there = months[(day.month - 1 + (1 if away > 0 else -1)) % 12]
    share = abs(away)
    return float(getattr(here, name)) * (1 - share) + share * float(getattr(there, name))
