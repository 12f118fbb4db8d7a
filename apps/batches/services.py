"""Changes of what lives in a system."""

import datetime as dt
from collections.abc import Mapping
from uuid import UUID, uuid4

from django.db import transaction
from django.utils import timezone
from django.utils.translation import gettext as _

from apps.accounts.services import audit, firm_hold
from apps.batches.models import (
    Deaths,
    FishBatch,
    FishHarvest,
    HarvestHold,
    HarvestPrice,
    Picking,
    Planting,
    Treatment,
    Weighing,
)
from apps.batches.selectors import PriceKey, fish_least, harvest_prices
from apps.core.exceptions import Invalid
from apps.core.scoping import Actor


@transaction.atomic
def batch_stock(*, batch: FishBatch, by: Actor, at: dt.datetime) -> FishBatch:
    """Note fish that were stocked."""
    batch.full_clean()
    batch.save()
    audit(at=at, by=by, verb="stocked", kind="fish batch", object_id=batch.pk)
    return batch


@transaction.atomic
def weighing_add(
    *, batch: FishBatch, on: dt.date, weights_g: list[float], by: Actor, at: dt.datetime
) -> Weighing:
    """Note a sample of weights in grams. Raises Invalid for none, or one that is not positive."""
    bad = [weight for weight in weights_g if not 0.05 <= weight <= 20_000]
    if not weights_g or bad:
        value = bad[0] if bad else None
        raise Invalid(
            [
                {
                    "pointer": "/weights_g",
                    "value": value,
                    "message": "weights_g: "
                    + _("one or more weights from 0.05 to 20,000 g are needed"),
                }
            ]
        )
    row = Weighing(batch=batch, on=on, weights_g=weights_g, mean_g=sum(weights_g) / len(weights_g))
    row.full_clean()
    row.save()
    audit(at=at, by=by, verb="weighed", kind="fish batch", object_id=batch.pk)
    return row


@transaction.atomic
def deaths_add(
    *, batch: FishBatch, on: dt.date, count: int, note: str, by: Actor, at: dt.datetime,
    pk: UUID | None = None,
) -> Deaths:  # fmt: skip
    """Note fish found dead."""
    row = Deaths(pk=pk or uuid4(), batch=batch, on=on, count=count, note=note)
    row.full_clean()
    row.save()
    audit(at=at, by=by, verb="counted dead", kind="fish batch", object_id=batch.pk)
    return row


@transaction.atomic
def fish_take(*, row: FishHarvest, by: Actor, at: dt.datetime) -> FishHarvest:
    """Note fish that were taken out to be eaten.

    Raises Invalid for more than there were on any day from then to today.
    """
    batch = FishBatch.objects.select_for_update().get(pk=row.batch_id)
    there = fish_least(batch, row.on, timezone.localdate(at))
    if row.count is None or not 1 <= row.count <= there:
        words = _("a whole number from 1 to %(count)s, as many as there are, is needed")
        message = "count: " + words % {"count": there} if there else _("count: no fish are left")
        raise Invalid([{"pointer": "/count", "value": row.count, "message": message}])
    row.full_clean()
    row.save(force_insert=True)
    audit(at=at, by=by, verb="took out", kind="fish batch", object_id=row.batch_id)
    return row


@transaction.atomic
def harvest_prices_set(
    *, prices: Mapping[PriceKey, int | None], by: Actor, at: dt.datetime
) -> None:
    """Set what a harvest costs, ten-thousandths by (kind, code, per); None takes a price away."""
    # two at once would both make the row of a price that is new
    firm_hold()
    held = harvest_prices()
    for (kind, code, per), amount in prices.items():
        before = held.get((kind, code, per))
        if amount == before:
            continue
        if amount is None:
            HarvestPrice.objects.filter(kind=kind, code=code, per=per).delete()
        else:
            found = HarvestPrice.objects.filter(kind=kind, code=code, per=per).first()
            row = found or HarvestPrice(kind=kind, code=code, per=per)
            row.amount, row.changed_at, row.changed_by = amount, at, f"{by.role}:{by.user_id}"
            row.full_clean()
            row.save()
        audit(at=at, by=by, verb="priced", kind="harvest price", object_id=code,
              change={"amount": [before, amount], "per": per})  # fmt: skip


@transaction.atomic
def planting_add(*, planting: Planting, by: Actor, at: dt.datetime) -> Planting:
    """Note plants that were sown or set."""
    planting.full_clean()
    planting.save()
    audit(at=at, by=by, verb="planted", kind="planting", object_id=planting.pk)
    return planting


@transaction.atomic
def picking_add(*, picking: Picking, by: Actor, at: dt.datetime) -> Picking:
    """Note what was picked."""
    if picking.heads is None and picking.mass_kg is None:
        raise Invalid(
            [{"pointer": "/heads", "value": None, "message": _("heads or kilograms are needed")}]
        )
    picking.full_clean()
    picking.save()
    return picking


@transaction.atomic
def treatment_add(
    *, treatment: Treatment, touches: str, hold_until: dt.date | None, by: Actor, at: dt.datetime
) -> Treatment:
    """Note a treatment that was given, with the harvest hold that it puts."""
    treatment.full_clean()
    treatment.save()
    if hold_until is not None:
        hold = HarvestHold(treatment=treatment, touches=touches, until=hold_until)
        hold.full_clean()
        hold.save()
    audit(at=at, by=by, verb="treated", kind="loop", object_id=treatment.loop_id)
    return treatment
