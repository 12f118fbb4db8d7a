"""What lives in a system now, and what must not be eaten yet."""

import datetime as dt
from dataclasses import dataclass
from uuid import UUID

from django.db.models import Prefetch, Sum

from apps.batches.models import Deaths, FishBatch, HarvestHold, Planting, Weighing


@dataclass(frozen=True)
class FishNow:
    """A batch with its count, its last sample and the one before it (day, mean). Weights in grams.

    `weighed`: all samples, the oldest first.
    """

    batch: FishBatch
    count: int
    mean_g: float
    weighed_on: dt.date
    sample_g: tuple[float, ...]
    deaths: int
    earlier: tuple[dt.date, float] | None = None
    weighed: tuple[tuple[dt.date, float], ...] = ()


def fish_now(loop_ids: list[UUID], on: dt.date) -> list[FishNow]:
    """Return the batches that live in these loops on a day: three queries."""
    batches = (
        FishBatch.objects.filter(loop_id__in=loop_ids, stocked_on__lte=on)
        .exclude(ended_on__lte=on)
        .prefetch_related(
            Prefetch(
                "weighings", Weighing.objects.filter(on__lte=on).order_by("-on"), to_attr="seen"
            )
        )
        .order_by("stocked_on")
    )
    lost = dict(
        Deaths.objects.filter(batch__loop_id__in=loop_ids, on__lte=on)
        .values_list("batch_id")
        .annotate(Sum("count"))
    )
    found = []
    for batch in batches:
        last = batch.seen[0] if batch.seen else None
        before = batch.seen[1] if len(batch.seen) > 1 else None
        dead = lost.get(batch.pk, 0)
        found.append(
            FishNow(
                batch=batch,
                count=max(0, batch.count - dead),
                mean_g=last.mean_g if last else batch.mean_weight_g,
                weighed_on=last.on if last else batch.stocked_on,
                sample_g=tuple(last.weights_g) if last else (),
                deaths=dead,
                earlier=(before.on, before.mean_g) if before else None,
                weighed=tuple((row.on, row.mean_g) for row in reversed(batch.seen)),
            )
        )
    return found


def plantings_now(loop_ids: list[UUID], on: dt.date) -> list[Planting]:
    """Return the plantings that stand in these loops on a day."""
    return list(
        Planting.objects.filter(component__loop_id__in=loop_ids)
        .exclude(ended_on__lte=on)
        .exclude(transplanted_on__gt=on)
        .select_related("component")
        .order_by("component__place_in_flow", "transplanted_on")
    )


def holds_now(loop_ids: list[UUID], on: dt.date) -> list[HarvestHold]:
    """Return the harvest holds that have not ended by a day."""
    return list(
        HarvestHold.objects.filter(
            treatment__loop_id__in=loop_ids, treatment__began_on__lte=on, until__gt=on
        )
        .select_related("treatment")
        .order_by("-until")
    )
