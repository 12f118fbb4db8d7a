"""Series of readings under control: limits, slow drift, bad single ones, stuck probes, time to a level."""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from statistics import fmean, stdev

from apps.calc.quantities import require_between
from apps.calc.statistics import student_t_quantile

_D2 = 1.128  # mean range of two readings, in standard deviations
_D4 = 3.2665  # upper limit of such a range, in mean ranges
STUCK = 5


@dataclass(frozen=True)
class Limits:
    """Centre and control limits of single readings, and the upper limit of their moving range."""

    centre: float
    low: float
    high: float
    moving_range: float
    range_high: float


def control_limits(values: Sequence[float]) -> Limits:
    """Return the limits of single readings: three deviations, by the mean moving range.

    Valid range: at least two readings; ValueError otherwise. References: nist.

    >>> found = control_limits([49.6, 47.6, 49.9, 51.3, 47.8, 51.2, 52.6, 52.4, 53.6, 52.1])
    >>> found.centre, found.low, found.high
    (50.81, 45.816, 55.804)
    """
    _need(values, 2)
    centre = fmean(values)
    moving = fmean(abs(b - a) for a, b in pairwise(values))
    reach = 3 * moving / _D2
    return Limits(centre, centre - reach, centre + reach, moving, _D4 * moving)


def ewma_limits(
    target: float, deviation: float, weight: float = 0.3, reach: float = 3.0
) -> tuple[float, float]:
    """Return the settled limits of the exponentially weighted mean of readings.

    Valid range: weight 0.01 to 1, deviation and reach not below 0; ValueError outside.
    References: nist.

    >>> ewma_limits(50, 2.0539)
    (47.4116, 52.5884)
    """
    require_between("weight", weight, 0.01, 1.0)
    require_between("deviation", deviation, 0.0, 1e12)
    half = reach * deviation * math.sqrt(weight / (2 - weight))
    return target - half, target + half


def ewma(values: Sequence[float], begin: float, weight: float = 0.3) -> tuple[float, ...]:
    """Return the exponentially weighted means, from ``begin`` on. References: nist.

    >>> ewma([52.0, 47.0], 50.0)
    (50.6, 49.52)
    """
    require_between("weight", weight, 0.01, 1.0)
    found, mean = [], begin
    for value in values:
        mean = weight * value + (1 - weight) * mean
        found.append(mean)
    return tuple(found)


@dataclass(frozen=True)
class Grubbs:
    """The reading farthest from the mean: its place, its distance in deviations, what is allowed."""

    place: int
    distance: float
    critical: float

    @property
    def outlies(self) -> bool:
        """Whether it is farther than chance explains."""
        return self.distance > self.critical


def grubbs_highest(values: Sequence[float], alpha: float = 0.05) -> Grubbs:
    """Return Grubbs' one-sided test of the highest reading.

    Valid range: at least three readings that differ, alpha 0.001 to 0.5; ValueError otherwise.
    References: nist.

    >>> found = grubbs_highest([199.31, 199.53, 200.19, 200.82, 201.92, 201.95, 202.18, 245.57])
    >>> found.distance, found.critical
    (2.4688, 2.0317)
    """
    _need(values, 3)
    require_between("alpha", alpha, 0.001, 0.5)
    count, spread = len(values), stdev(values)
    if spread == 0:
        message = "values must differ for Grubbs' test"
        raise ValueError(message)
    place = max(range(count), key=lambda n: values[n])
    distance = (values[place] - fmean(values)) / spread
    t = student_t_quantile(1 - alpha / count, count - 2)
    critical = (count - 1) / math.sqrt(count) * math.sqrt(t * t / (count - 2 + t * t))
    return Grubbs(place, distance, critical)


def stuck(values: Sequence[float], length: int = STUCK) -> bool:
    """Tell whether the last ``length`` readings of a probe are all the same: it is likely stuck.

    >>> stuck([6.9, 7.0, 7.0, 7.0, 7.0, 7.0])
    True
    """
    return len(values) >= length and len(set(values[-length:])) == 1


@dataclass(frozen=True)
class Arrival:
    """Days after the last reading until a line reaches a level, with its interval."""

    middle: float | None
    soonest: float | None
    latest: float | None


def time_to_level(
    times: Sequence[float], values: Sequence[float], level: float, confidence: float = 0.8
) -> Arrival:
    """Return when a straight line through readings reaches ``level``, by Fieller's interval.

    The interval is that of the line, not of a reading. All None where it lies in the past; where the
    slope may be nothing at all there is no latest day.
    Valid range: at least three readings at different times; ValueError otherwise.
    References: fieller1954.

    >>> found = time_to_level([0, 7, 14, 21, 28, 35, 42], [60, 55, 52, 46, 41, 37, 33], 20)
    >>> found.middle, found.soonest, found.latest
    (19.25, 17.56, 21.08)
    """
    _need(values, 3)
    count, centre, mean = len(times), fmean(times), fmean(values)
    spread = sum((t - centre) ** 2 for t in times)
    if spread == 0 or len(times) != len(values):
        message = "times must be as many as values and not all the same"
        raise ValueError(message)
    slope = sum((t - centre) * (v - mean) for t, v in zip(times, values, strict=True)) / spread
    rest = sum((v - mean - slope * (t - centre)) ** 2 for t, v in zip(times, values, strict=True))
    t2 = student_t_quantile((1 + confidence) / 2, count - 2) ** 2 * rest / (count - 2)
    last, short = times[-1], level - mean
    # where (slope d - short)^2 = t2 (1/n + d^2/spread), d the time from the centre
    a, b, c = slope * slope - t2 / spread, -2 * slope * short, short * short - t2 / count
    middle = centre + short / slope - last if slope else -1.0
    ends = [centre + end - last for end in _roots(a, b, c)]
    if a > 0:
        # readings that are all the same leave a slope of rounding alone, and no end
        if not ends or max(ends) < 0:
            return Arrival(None, None, None)
        return Arrival(max(0.0, middle), max(0.0, min(ends)), max(ends))
    later = [end for end in ends if end > 0]
    return Arrival(middle if middle >= 0 else None, min(later, default=None), None)


def _roots(a: float, b: float, c: float) -> tuple[float, ...]:
    if a == 0:
        return (-c / b,) if b else ()
    inside = b * b - 4 * a * c
    if inside < 0:
        return ()
    root = math.sqrt(inside)
    return ((-b - root) / (2 * a), (-b + root) / (2 * a))


def _need(values: Sequence[float], least: int) -> None:
    if len(values) < least:
        message = f"at least {least} readings are needed, not {len(values)}"
        raise ValueError(message)
