"""What the rows say beyond single readings: swings, usual amounts, what became of feed and seed.

Each function takes rows that were read already and asks no database.
"""

import datetime as dt
from collections.abc import Iterable, Sequence
from statistics import mean, median
from uuid import UUID

from django.utils import timezone

from apps.batches.models import Planting
from apps.batches.selectors import FishNow
from apps.calc.advice.situation import Event
from apps.visits.models import Reading

# common practice: fewer figures, or older ones, say nothing about what is usual
USUAL_NEEDS = 3
USUAL_DAYS = 60
WEIGHED_APART = range(14, 121)
SEED_DAYS = 30


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
    weighed = list(getattr(fish[0].batch, "seen", ())) if len(fish) == 1 else []
    if len(weighed) < 2:
        return None
    last, before = weighed[:2]
    days = (last.on - before.on).days
    gained = fish[0].count * (last.mean_g - before.mean_g)
    fed = [
        row.value
        for row in past
        if row.measurand == "feed"
        and row.trusted
        and before.on <= timezone.localdate(row.taken_at) <= last.on
    ]
    if days not in WEIGHED_APART or gained <= 0 or len(fed) < 2:
        return None
    return mean(fed) * days / gained


def sown_crop(loop_id: UUID, plantings: Sequence[Planting], on: dt.date) -> str:
    """Return the crop sown last in a loop within 30 days, empty without one."""
    sown = [
        planting
        for planting in plantings
        if planting.component.loop_id == loop_id
        and planting.sown_on is not None
        and 0 <= (on - planting.sown_on).days <= SEED_DAYS
    ]
    last = max(sown, key=lambda planting: (planting.sown_on, planting.pk), default=None)
    return last.crop_code if last else ""


def outages(past: Iterable[Reading]) -> list[Event]:
    """Return the power cuts that earlier sheets noted."""
    return [
        Event("power_cut", timezone.localdate(row.taken_at))
        for row in past
        if row.measurand == "outage" and row.value > 0
    ]
