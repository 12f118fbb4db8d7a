"""What lives in each loop on a day, from rows in memory."""

import datetime as dt
from collections.abc import Iterator, Sequence
from uuid import UUID

from apps.batches.models import Planting, Weighing
from apps.batches.selectors import FishNow
from apps.catalogue.selectors import Catalogue
from apps.visits.selectors import LoopLife, lives_of
from demo.firm.rows import Life, Works


def fish_on(life: Life, weighings: Sequence[Weighing], on: dt.date) -> Iterator[FishNow]:
    """Return the batches that live on a day with their last sample; weighings oldest first."""
    for row in sorted(life.batches, key=lambda batch: batch.stocked_on):
        if row.stocked_on > on or (row.ended_on is not None and row.ended_on <= on):
            continue
        dead = sum(d.count for d in life.deaths if d.batch_id == row.pk and d.on <= on)
        seen = [w for w in weighings if w.batch_id == row.pk and w.on <= on]
        last = seen[-1] if seen else None
        before = seen[-2] if len(seen) > 1 else None
        yield FishNow(
            batch=row, count=row.count - dead,
            mean_g=last.mean_g if last else row.mean_weight_g,
            weighed_on=last.on if last else row.stocked_on,
            sample_g=tuple(last.weights_g) if last else (), deaths=dead,
            earlier=(before.on, before.mean_g) if before else None,
        )  # fmt: skip


def plantings_on(life: Life, on: dt.date) -> list[Planting]:
    """Return the plantings that stand on a day, in the order of the beds."""
    standing = [
        row for row in life.plantings
        if row.transplanted_on is not None
        and row.transplanted_on <= on
        and (row.ended_on is None or row.ended_on > on)
    ]  # fmt: skip
    return sorted(standing, key=lambda row: (row.component.place_in_flow, row.transplanted_on))


def lives_on(
    works: Works, life: Life, weighings: Sequence[Weighing], on: dt.date, catalogue: Catalogue
) -> dict[UUID, LoopLife]:
    """Return what lives in each loop of a system on a day."""
    return lives_of(
        works.system, list(works.loops.values()), catalogue, list(fish_on(life, weighings, on)),
        plantings_on(life, on),
    )  # fmt: skip
