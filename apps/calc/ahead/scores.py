"""How far forecasts were right: error of the middle, share of readings inside the range."""

import math
from collections.abc import Iterable
from dataclasses import dataclass

from apps.calc.ahead.facts import Observed


@dataclass(frozen=True)
class Score:
    """Errors summed over readings, in units of the measurand, and how many lay in the range.

    A reading that is an interval lies in the range by the share of it that does, so that coarse
    steps make no range look better or worse than it is; the error is how far the middle lies off it.
    """

    judged: float = 0
    error: float = 0.0
    inside: float = 0.0

    def __add__(self, other: "Score") -> "Score":
        """Return both together."""
        return Score(
            self.judged + other.judged, self.error + other.error, self.inside + other.inside
        )

    def counting(self, share: float) -> "Score":
        """Return the same as so much of it."""
        return Score(share * self.judged, share * self.error, share * self.inside)

    @property
    def mean_error(self) -> float:
        """Mean absolute error; infinite where nothing was judged."""
        return self.error / self.judged if self.judged else math.inf

    @property
    def hit_rate(self) -> float | None:
        """Share inside the range; None where nothing was judged."""
        return self.inside / self.judged if self.judged else None


def score(low: float, middle: float, high: float, seen: Observed) -> Score:
    """Return the score of one forecast against one reading.

    >>> score(1.0, 2.0, 3.0, Observed(7.0, "tan", 2.5, 2.0, 4.0))
    Score(judged=1, error=0.0, inside=0.5)
    """
    return Score(1, max(seen.low - middle, middle - seen.high, 0.0), share_inside(low, high, seen))


def share_inside(low: float, high: float, seen: Observed) -> float:
    """Return the share of a reading's interval that lies between ``low`` and ``high``."""
    if math.isinf(seen.high):
        return 1.0 if high >= seen.low else 0.0
    if seen.high <= seen.low:
        return 1.0 if low <= seen.value <= high else 0.0
    return max(0.0, min(high, seen.high) - max(low, seen.low)) / (seen.high - seen.low)


def total(scores: Iterable[Score]) -> Score:
    """Return all together."""
    return sum(scores, Score())
