"""What the rows say beyond single readings: swings, usual amounts, what became of feed and seed.

Each function takes rows that were read already and asks no database.
"""

import datetime as dt
from collections.abc import Iterable, Sequence
from statistics import mean, median

from django.utils import timezone

from apps.batches.selectors import FishNow
from apps.calc.advice.situation import Event
from apps.visits.models import Reading

# common practice: fewer figures, or older ones, say nothing about what is usual
USUAL_NEEDS = 3
USUAL_DAYS = 60
WEIGHED_APART = range(14, 121)


def ph_swing(rows: Iterable[Reading], on: dt.date) -> float | None:
    """Return the widest span of trusted pH by one method within a day of the last fourteen."""
    days: dict[tuple[dt.date, str], list[float]] = {}
    for row in rows:
        day = timezone.localdate(row.taken_at)
        if row.measurand == "ph" and row.trusted and row.when == "before":
            days.setdefault((day, row.method), []).append(row.value)
    recent = [values for (day, _method), values in days.items() if 0 <= (on - day).days < 14]
    return max((max(values) - min(values) for values in recent if len(values) > 1), default=None)


def usual_topup(past: Sequence[Reading], on: dt.date) -> float | None:
    """Return the median make-up water of the last 60 days [L/day]; None under three readings."""
    values = [
        row.value
        for row in past
        if row.measurand == "topup"
        and row.trusted
        and (on - timezone.localdate(row.taken_at)).days <= USUAL_DAYS
    ]
    return median(values) if len(values) >= USUAL_NEEDS else None


def feed_conversion(fish: Sequence[FishNow], past: Sequence[Reading]) -> float | None:
    """Return grams of feed per gram of growth between the last two weighings of a lone batch.

    Feed is the mean of the amounts noted in between, two at least; deaths are counted as if they
    had never grown, so that the figure errs on the high side.
    """
    if len(fish) != 1 or fish[0].earlier is None:
        return None
    last, (began, mean_g) = fish[0], fish[0].earlier
    days = (last.weighed_on - began).days
    gained = last.count * (last.mean_g - mean_g)
    fed = [
        row.value
        for row in past
        if row.measurand == "feed"
        and row.trusted
        and began <= timezone.localdate(row.taken_at) <= last.weighed_on
    ]
    if days not in WEIGHED_APART or gained <= 0 or len(fed) < 2:
        return None
    return mean(fed) * days / gained


def outages(past: Iterable[Reading]) -> list[Event]:
    """Return the power cuts that earlier sheets noted."""
    return [
        Event("power_cut", timezone.localdate(row.taken_at))
        for row in past
        if row.measurand == "outage" and row.value > 0
    ]
