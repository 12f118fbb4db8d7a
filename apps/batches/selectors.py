"""What lives in a system now, and what must not be eaten yet."""

import datetime as dt
from collections.abc import Collection
from dataclasses import dataclass
from uuid import UUID

from django.db.models import OuterRef, Prefetch, Q, Subquery, Sum
from django.db.models.functions import Coalesce

from apps.batches.choices import Harvest
from apps.batches.models import (
    Deaths,
    FishBatch,
    FishHarvest,
    HarvestHold,
    HarvestPrice,
    Picking,
    Planting,
    Weighing,
)

# kind, code and what a price is for
PriceKey = tuple[str, str, str]


@dataclass(frozen=True)
class FishNow:
    """A batch with its count, its last sample and the one before it (day, mean). Weights in grams.

    `weighed`: all samples, the oldest first.
    `count`: those that were stocked, less `deaths` and those `taken` to be eaten.
    """

    batch: FishBatch
    count: int
    mean_g: float
    weighed_on: dt.date
    sample_g: tuple[float, ...]
    deaths: int
    earlier: tuple[dt.date, float] | None = None
    weighed: tuple[tuple[dt.date, float], ...] = ()
    taken: int = 0


def fish_now(loop_ids: list[UUID], on: dt.date) -> list[FishNow]:
    """Return the batches that live in these loops on a day: two queries."""
    batches = (
        FishBatch.objects.filter(loop_id__in=loop_ids, stocked_on__lte=on)
        .exclude(ended_on__lte=on)
        .annotate(dead=_counted(Deaths, on), taken=_counted(FishHarvest, on))
        .prefetch_related(
            Prefetch(
                "weighings", Weighing.objects.filter(on__lte=on).order_by("-on"), to_attr="seen"
            )
        )
        .order_by("stocked_on")
    )
    found = []
    for batch in batches:
        last = batch.seen[0] if batch.seen else None
        before = batch.seen[1] if len(batch.seen) > 1 else None
        found.append(
            FishNow(
                batch=batch,
                count=max(0, batch.count - batch.dead - batch.taken),
                mean_g=last.mean_g if last else batch.mean_weight_g,
                weighed_on=last.on if last else batch.stocked_on,
                sample_g=tuple(last.weights_g) if last else (),
                deaths=batch.dead,
                earlier=(before.on, before.mean_g) if before else None,
                weighed=tuple((row.on, row.mean_g) for row in reversed(batch.seen)),
                taken=batch.taken,
            )
        )
    return found


def _counted(model: type[Deaths | FishHarvest], on: dt.date) -> Coalesce:
    """Return how many fish of a batch such rows have counted up to a day."""
    rows = model.objects.filter(batch=OuterRef("pk"), on__lte=on).order_by().values("batch")
    return Coalesce(Subquery(rows.annotate(sum=Sum("count")).values("sum")), 0)


def fish_least(batch: FishBatch, on: dt.date, today: dt.date) -> int:
    """Return how many fish of a batch may still be counted off on a day; 0 where it lived not.

    The fewest there were from that day to today: fish are only ever counted off, so those of the
    last day. Whatever was written of later days already stands. One query.
    """
    if batch.stocked_on > on or (batch.ended_on is not None and batch.ended_on <= on):
        return 0
    last = max(on, today)
    row = FishBatch.objects.annotate(dead=_counted(Deaths, last), taken=_counted(FishHarvest, last))
    found = row.get(pk=batch.pk)
    return max(0, found.count - found.dead - found.taken)


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


@dataclass(frozen=True)
class Harvested:
    """What was harvested of one crop or species: kilograms where weighed, and heads or fish.

    `unweighed`: those of `count` whose mass nobody noted.
    """

    kind: str
    code: str
    kg: float
    count: int
    unweighed: int = 0


def harvest_of(loop_ids: Collection[UUID], first: dt.date, last: dt.date) -> list[Harvested]:
    """Return what was picked and taken out from the first to the last day, the heaviest first.

    Two queries.
    """
    days = {"on__gte": first, "on__lte": last}
    picked = Picking.objects.filter(planting__component__loop_id__in=loop_ids, **days)
    taken = FishHarvest.objects.filter(batch__loop_id__in=loop_ids, **days)
    sums = [
        (Harvest.CROPS, row)
        for row in picked.values_list("planting__crop_code").annotate(
            Sum("mass_kg"), Sum("heads"), unweighed=Sum("heads", filter=Q(mass_kg=None))
        )
    ] + [
        (Harvest.SPECIES, row)
        for row in taken.values_list("batch__species_code").annotate(
            Sum("mass_kg"), Sum("count"), unweighed=Sum("count", filter=Q(mass_kg=None))
        )
    ]
    rows = [
        Harvested(kind.value, code, round(kg or 0.0, 2), count or 0, unweighed or 0)
        for kind, (code, kg, count, unweighed) in sums
    ]
    return sorted(rows, key=lambda row: (-row.kg, -row.count, row.code))


def harvest_prices() -> dict[PriceKey, int]:
    """Return (kind, code, per) -> ten-thousandths of the firm's currency: one query."""
    rows = HarvestPrice.objects.values_list("kind", "code", "per", "amount")
    return {(kind, code, per): amount for kind, code, per, amount in rows}


def grown_here() -> set[tuple[str, str]]:
    """Return (kind, code) of all crops and fish that any system has or had: two queries."""
    crops = Planting.objects.order_by().values_list("crop_code", flat=True).distinct()
    fish = FishBatch.objects.order_by().values_list("species_code", flat=True).distinct()
    return {(Harvest.CROPS.value, code) for code in crops} | {
        (Harvest.SPECIES.value, code) for code in fish
    }
