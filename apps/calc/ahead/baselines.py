"""Two plain forecasts that a model must beat: the last reading, and the trend of the readings.

Both state an 80 % range of what a reading will show. How far a measurand wanders is learnt from its
own past, with the usual wandering (common practice) standing for four more pairs of readings.
"""

import math
from collections.abc import Sequence
from itertools import pairwise
from statistics import fmean

from apps.calc.ahead.facts import Observed
from apps.calc.ahead.outlook import Crossing
from apps.calc.ahead.priors import ERRORS
from apps.calc.ahead.summary import first_crossing
from apps.calc.control import time_to_level
from apps.calc.statistics import student_t_quantile, theil_sen

Band = tuple[float, float, float]

# Standard deviation of a fortnight's change: at least so many units, or a share of the level.
WANDER: dict[str, tuple[float, float]] = {
    "tan": (0.2, 0.45), "no2": (0.1, 0.45), "no3": (6.0, 0.15), "alk": (25.0, 0.4),
    "ph": (0.4, 0.0), "do": (0.5, 0.0), "ec": (0.08, 0.1), "k": (10.0, 0.4),
    "ca": (10.0, 0.15), "nh3": (0.005, 0.6),
}  # fmt: skip
_FORTNIGHT = 14.0
_BELIEF = 4.0
_T80 = 0.9
LONGEST = 84.0  # days of readings looked back on
TREND_READINGS = 4


def recent(observed: Sequence[Observed], measurand: str) -> list[Observed]:
    """Return the readings of a measurand until today in order, of the last twelve weeks."""
    mine = [o for o in observed if o.measurand == measurand and -LONGEST <= o.day < 1]
    return sorted(mine, key=lambda one: one.day)


def _noise(measurand: str, reading: Observed) -> float:
    """Variance of one reading by its kit."""
    error = ERRORS[measurand]
    width = 0.0 if math.isinf(reading.high) else reading.high - reading.low
    return error.units**2 / 2 + (error.share * reading.value) ** 2 / 2 + width**2 / 12


def wander_a_day(measurand: str, readings: Sequence[Observed]) -> float:
    """Return the variance that a measurand gains a day, from the changes between readings."""
    units, share = WANDER[measurand]
    level = readings[-1].value if readings else 0.0
    usual = max(units, share * level) ** 2 / _FORTNIGHT
    seen, weight = _BELIEF * usual, _BELIEF
    for before, after in pairwise(readings):
        gap = after.day - before.day
        if gap < 1.0:
            continue
        noise = _noise(measurand, before) + _noise(measurand, after)
        moved = min((after.value - before.value) ** 2, 9 * (usual * gap + noise))
        seen += max(0.0, moved - noise) / gap
        weight += 1.0
    return seen / weight


def steady(
    measurand: str, readings: Sequence[Observed], days: Sequence[float], *, of_water: bool = False
) -> list[Band]:
    """Return (low, middle, high) by day: the last reading carried on. Needs one reading.

    ``of_water``: the range of the water, without the error of the reading that is to come.
    """
    last = readings[-1]
    rate = wander_a_day(measurand, readings)
    noise = (1 if of_water else 2) * _noise(measurand, last)
    reach = student_t_quantile(_T80, _BELIEF + len(readings) - 1)
    bands = []
    for day in days:
        half = reach * math.sqrt(noise + rate * max(0.0, day - last.day))
        bands.append((max(0.0, last.value - half), last.value, last.value + half))
    return bands


def trend(
    measurand: str, readings: Sequence[Observed], days: Sequence[float], *, of_water: bool = False
) -> list[Band] | None:
    """Return (low, middle, high) by day: the line of Theil and Sen, from the last eight readings.

    The range is the prediction interval of a straight line, never narrower than what the kit and
    the wandering leave open. The line is carried on no longer than the readings reach back, and
    then held. None with fewer than four readings or with all on one day. References: sen1968.
    """
    readings = readings[-8:]
    times = [one.day for one in readings]
    if len(readings) < TREND_READINGS or times[-1] - times[0] < 3:
        return None
    values = [one.value for one in readings]
    slope, level = theil_sen(times, values)
    count, centre = len(times), fmean(times)
    spread = sum((at - centre) ** 2 for at in times)
    rest = sum((v - level - slope * t) ** 2 for t, v in zip(times, values, strict=True))
    noise = max(rest / (count - 2), _noise(measurand, readings[-1]))
    reach = student_t_quantile(_T80, count - 2)
    rate = 0.5 * wander_a_day(measurand, readings)
    end = times[-1] + (times[-1] - times[0])
    bands = []
    for day in days:
        at = min(day, end)
        middle = max(0.0, level + slope * at)
        variance = noise * ((0 if of_water else 1) + 1 / count + (at - centre) ** 2 / spread)
        half = reach * math.sqrt(variance + rate * max(0.0, day - times[-1]))
        bands.append((max(0.0, middle - half), middle, middle + half))
    return bands


def crossing(
    method: str, side: str, level: float, readings: Sequence[Observed], horizon: int
) -> Crossing:
    """Return when a plain forecast says that the water may pass a level.

    The days of 'steady' are those on which its range and middle pass; those of 'trend' are Fieller's
    interval, no further off than twice as long as the readings reach back. References: fieller1954.
    """
    measurand = readings[-1].measurand
    days = [float(day) for day in range(horizon + 1)]
    bands = trend(measurand, readings, days, of_water=True) if method == "trend" else None
    bands = bands or steady(measurand, readings, days, of_water=True)
    found = _days_passed(side, level, bands)
    if method == "trend" and found[1] > 0:
        found = _by_fieller(readings[-8:], level, found, horizon)
    return _as_crossing(measurand, side, level, found)


def passing(measurand: str, side: str, level: float, bands: Sequence[Band]) -> Crossing:
    """Return when a range by day, from day 0 on, passes a level with its edges and its middle."""
    return _as_crossing(measurand, side, level, _days_passed(side, level, bands))


def _days_passed(side: str, level: float, bands: Sequence[Band]) -> list[float]:
    low, middle, high = zip(*bands, strict=True)
    early, late = (high, low) if side == "above" else (low, high)
    return [first_crossing(part, side, level) for part in (early, middle, late)]


def _as_crossing(measurand: str, side: str, level: float, found: Sequence[float]) -> Crossing:
    soonest, at, latest = (day if math.isfinite(day) else None for day in found)
    return Crossing(measurand, side, level, soonest, at, latest)


def _by_fieller(
    readings: Sequence[Observed], level: float, found: list[float], horizon: int
) -> list[float]:
    """Return the days by Fieller where the line heads for the level at all."""
    times = [one.day for one in readings]
    arrival = time_to_level(times, [one.value for one in readings], level)
    if arrival.middle is None or not math.isfinite(found[1]):
        return found
    most = min(float(horizon), times[-1] + 2 * (times[-1] - times[0]))

    def until(days: float | None) -> float:
        at = math.inf if days is None else max(0.0, days + times[-1])
        return at if at <= most else math.inf

    return [min(until(arrival.soonest), found[1]), found[1], max(until(arrival.latest), found[1])]
