"""The scale of a water line: limits stand at fixed places, values between them.

The start of the scale lies at 0, harmful-low at 1/8, good-low at 3/8, good-high at 5/8,
harmful-high at 7/8 and the end at 1 of the width. Between two anchors the scale is straight, or
logarithmic where the measurand says so. A limit that does not exist drops its anchor.
"""

from __future__ import annotations

import itertools
import math
from dataclasses import dataclass
from typing import Protocol


class BandLike(Protocol):
    """The limits of one measurand; None where there is no limit on that side."""

    @property
    def scale_min(self) -> float | None: ...
    @property
    def harmful_low(self) -> float | None: ...
    @property
    def good_low(self) -> float | None: ...
    @property
    def good_high(self) -> float | None: ...
    @property
    def harmful_high(self) -> float | None: ...
    @property
    def scale_max(self) -> float | None: ...


@dataclass(frozen=True, slots=True)
class Band:
    """A band by itself, for callers that hold no richer object. Units are the measurand's."""

    good_low: float | None = None
    good_high: float | None = None
    harmful_low: float | None = None
    harmful_high: float | None = None
    scale_min: float | None = None
    scale_max: float | None = None


_PLACES = (
    ("harmful_low", 1 / 8),
    ("good_low", 3 / 8),
    ("good_high", 5 / 8),
    ("harmful_high", 7 / 8),
)


def _limits(band: BandLike) -> list[tuple[float, float]]:
    found: list[tuple[float, float]] = []
    for name, place in _PLACES:
        value = getattr(band, name)
        if value is None:
            continue
        if not math.isfinite(value):
            raise ValueError(f"{name} is not a finite number")
        if not found or value >= found[-1][0]:
            found.append((float(value), place))
    return found


def _ends(band: BandLike, limits: list[tuple[float, float]]) -> tuple[float, float]:
    """The ends of the scale; where the band names none, the outermost step is carried on."""
    low, high = band.scale_min, band.scale_max
    if not limits:
        return (0.0 if low is None else low), (1.0 if high is None else high)
    (first, first_at), (final, final_at) = limits[0], limits[-1]
    if len(limits) > 1 and final > first:
        step = (final - first) / (final_at - first_at)
    else:
        step = (abs(final) or 1.0) / final_at
    if low is None:
        low = max(0.0, first - step * first_at) if first >= 0 else first - step * first_at
    if high is None:
        high = final + step * (1 - final_at)
    return min(low, first), max(high, final)


def anchors(band: BandLike) -> list[tuple[float, float]]:
    """The fixed places: pairs of value and place (0 to 1), rising in both.

    Raises ValueError for a limit that is not a finite number.
    """
    limits = _limits(band)
    low, high = _ends(band, limits)
    return [(low, 0.0), *limits, (high, 1.0)]


def place(band: BandLike, value: float, *, log: bool = False) -> float:
    """Place of a value on the scale, 0 to 1; values beyond an end sit on that end.

    Raises ValueError for a value that is not a finite number.
    """
    if not math.isfinite(value):
        raise ValueError("a value on a water line must be a finite number")
    points = anchors(band)
    if value <= points[0][0]:
        return 0.0
    for (low, low_at), (high, high_at) in itertools.pairwise(points):
        if value > high:
            continue
        if high <= low:
            return high_at
        if log and low > 0:
            share = math.log(value / low) / math.log(high / low)
        else:
            share = (value - low) / (high - low)
        return low_at + (high_at - low_at) * share
    return 1.0


def is_beyond(band: BandLike, value: float) -> bool:
    """Whether a value lies outside the scale, so that its mark sits on an end."""
    points = anchors(band)
    return value < points[0][0] or value > points[-1][0]
