"""How fast a batch of fish grows, by its weighings and the warmth between them."""

import datetime as dt
from collections.abc import Sequence
from itertools import pairwise
from statistics import median

from apps.calc.growth import Growth, growth_fitted
from apps.calc.species import Species

USUAL_C = 22.0  # where no temperature was ever read (common practice)
_LAST = 5

Taken = Sequence[tuple[dt.date, float]]


def warmth_now(temps: Taken) -> float:
    """Return the water's temperature [°C] by its last five readings, oldest first.

    >>> warmth_now([(dt.date(2026, 6, 1), 24.0), (dt.date(2026, 6, 8), 26.0)])
    25.0
    """
    last = [value for _day, value in temps][-_LAST:]
    return median(last) if last else USUAL_C


def growth_weighed(weighed: Taken, temps: Taken, kind: Species) -> Growth | None:
    """Return how fast a batch grows; None where it was not weighed on two days in warmth.

    ``weighed``: (day, mean weight [g]) of its samples, ``temps``: (day, °C) read, both oldest
    first. Between two weighings counts the middle of what was read, else what it is now; outside
    the warmth in which they feed they do not grow. References: iwama1981, practice.
    """
    if len({day for day, _mean in weighed}) < 2:
        return None
    points, warm = [(0.0, weighed[0][1])], 0.0
    for (begin, _mean), (end, mean) in pairwise(weighed):
        warm += _degree_days(begin, end, temps, kind)
        points.append((warm, mean))
    return growth_fitted(points, kind.tgc) if warm > 0 else None


def _degree_days(begin: dt.date, end: dt.date, temps: Taken, kind: Species) -> float:
    read = [value for day, value in temps if begin <= day <= end]
    temp_c = median(read) if read else warmth_now(temps)
    feeds = kind.feed_min_c <= temp_c <= kind.feed_max_c
    return temp_c * (end - begin).days if feeds else 0.0
