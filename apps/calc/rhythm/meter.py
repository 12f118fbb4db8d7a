"""When a counter reaches its limit: running totals over replaced counters, a robust pace, the day."""

import datetime as dt
import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import combinations, pairwise

from apps.calc.rhythm.model import Meter, Reading, Rhythm, RuleError
from apps.calc.statistics import theil_sen
from apps.calc.wording import text as _

FEWEST, MOST = 4, 8
SLOW = 0.1
# further ahead than anybody plans: no day is named
FURTHEST_DAYS = 36_500


@dataclass(frozen=True)
class Pace:
    """How fast a counter runs, a day: the median of all slopes, and a slow one (a tenth are slower)."""

    rate: float
    slow: float


def running_totals(readings: Sequence[Reading]) -> list[tuple[dt.date, float]]:
    """Return what has gone through a counter since its first reading, day by day in order.

    At the first reading of a replaced or reset counter nothing is added. Raises RuleError where a
    counter runs backwards without having been replaced, or shows no number.

    >>> running_totals([Reading(dt.date(2026, 6, 1), 40.0), Reading(dt.date(2026, 6, 3), 70.0),
    ...                 Reading(dt.date(2026, 6, 4), 0.0, replaced=True),
    ...                 Reading(dt.date(2026, 6, 6), 20.0)])[-1]
    (datetime.date(2026, 6, 6), 50.0)
    """
    ordered = sorted(readings, key=lambda reading: reading.on)
    for reading in ordered:
        if not math.isfinite(reading.value):
            raise RuleError("readings", reading.value, _("a counter shows a number"))
    totals = [(reading.on, 0.0) for reading in ordered[:1]]
    for last, reading in pairwise(ordered):
        if reading.value < last.value and not reading.replaced:
            message = _(
                "the counter showed {last} before and {value} on {day}: "
                "say that it was replaced, or mend the reading",
                last=last.value, value=reading.value, day=reading.on.isoformat(),
            )  # fmt: skip
            raise RuleError("readings", reading.value, message)
        step = 0.0 if reading.replaced else reading.value - last.value
        totals.append((reading.on, totals[-1][1] + step))
    return totals


def pace(totals: Sequence[tuple[dt.date, float]], planned: float | None = None) -> Pace | None:
    """Return how fast a counter runs from its last 4 to 8 running totals [per day].

    With fewer the planned pace goes; without one two readings have to do. None where there is
    nothing to go by. Source: Sen 1968 (sen1968) for the median of slopes.
    """
    recent = totals[-MOST:]
    if len(recent) < FEWEST and planned is not None:
        return Pace(planned, planned)
    points = [(float(day.toordinal()), total) for day, total in recent]
    slopes = sorted(
        (b[1] - a[1]) / (b[0] - a[0]) for a, b in combinations(points, 2) if a[0] < b[0]
    )
    if not slopes:
        return None
    rate, _level = theil_sen([day for day, _total in points], [total for _day, total in points])
    return Pace(rate, _quantile(slopes, SLOW))


def _quantile(ordered: Sequence[float], share: float) -> float:
    """Return a quantile by linear interpolation between neighbours."""
    place = share * (len(ordered) - 1)
    low = int(place)
    high = min(low + 1, len(ordered) - 1)
    return ordered[low] + (place - low) * (ordered[high] - ordered[low])


def _at(totals: Sequence[tuple[dt.date, float]], day: dt.date, rate: float) -> float:
    """Return the running total on a day: between readings in proportion, after them by the pace."""
    if day <= totals[0][0]:
        return totals[0][1]
    for (before, low), (after, high) in pairwise(totals):
        if before <= day < after:
            return low + (high - low) * (day - before).days / (after - before).days
    last, total = totals[-1]
    return total + max(0.0, rate) * (day - last).days


def _at_done(
    meter: Meter, totals: Sequence[tuple[dt.date, float]], day: dt.date, rate: float
) -> float:
    """Return the running total when the task was done, from what the counter showed if known."""
    shown = meter.at_done
    if shown is None:
        return _at(totals, day, rate)
    ordered = sorted(meter.readings, key=lambda reading: reading.on)
    same = [i for i, r in enumerate(ordered) if r.on == day and r.value == shown]
    if same:
        return totals[same[-1]][1]
    place = max((i for i, r in enumerate(ordered) if r.on <= day), default=0)
    following = place + 1
    # a counter replaced soon after may have been new already when the task was done
    if shown < ordered[place].value and following < len(ordered) and ordered[following].replaced:
        place = following
    return totals[place][1] + shown - ordered[place].value


def meter_due(
    rhythm: Rhythm, meter: Meter, base: dt.date | None
) -> tuple[dt.date, dt.date | None] | None:
    """Return the day on which the limit is reached, and the day at the slow pace if there is one.

    Counted from `base`, the day the task was last done or the rule begins; without it from the
    first reading. None where no day can be named: no readings, or a counter that stands still.
    """
    if rhythm.meter_limit is None or not meter.readings:
        return None
    totals = running_totals(meter.readings)
    found = pace(totals, meter.planned_rate)
    rate = found.rate if found else 0.0
    begun = totals[0][0] if base is None else base
    target = _at_done(meter, totals, begun, rate) + rhythm.meter_limit
    passed = _passed(totals, target)
    if passed is not None:
        return passed, passed
    due = _reached(totals[-1], target, rate)
    if due is None:
        return None
    return due, _reached(totals[-1], target, found.slow if found else 0.0)


def _passed(totals: Sequence[tuple[dt.date, float]], target: float) -> dt.date | None:
    """Return the day on which the readings passed the target, if they have."""
    for (before, low), (after, high) in pairwise(totals):
        if low < target <= high:
            days = (after - before).days * (target - low) / (high - low)
            return before + dt.timedelta(days=int(days))
    return None


def _reached(last: tuple[dt.date, float], target: float, rate: float) -> dt.date | None:
    if rate <= 0:
        return None
    days = (target - last[1]) / rate
    return last[0] + dt.timedelta(days=int(days)) if days <= FURTHEST_DAYS else None
