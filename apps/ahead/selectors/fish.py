"""The fish that a forecast starts from: how heavy they are by now, and how they grow."""

import datetime as dt
from collections.abc import Sequence
from dataclasses import replace

from apps.batches.selectors import FishNow
from apps.calc import growth
from apps.calc.ahead.facts import FishGroup, LoopFacts
from apps.calc.ahead.feeding import growth_share
from apps.calc.species import Species, species_table
from apps.calc.weighings import Taken, growth_weighed, warmth_now

# after so many days a weight is counted on from what they were fed (common practice)
WEIGHED_DAYS = 30


def fish_groups(fish: Sequence[FishNow], temps: Taken, on: dt.date) -> tuple[FishGroup, ...]:
    """Return the batches as they weigh on a day, grown since their last weighing."""
    known, temp_c = species_table(), warmth_now(temps)
    return tuple(
        FishGroup(
            row.batch.species_code, row.count,
            _weight(row, known.get(row.batch.species_code), temps, temp_c, on),
        )
        for row in fish
    )  # fmt: skip


def _weight(row: FishNow, kind: Species | None, temps: Taken, temp_c: float, on: dt.date) -> float:
    days = (on - row.weighed_on).days
    if kind is None or days <= 0 or not kind.feed_min_c <= temp_c <= kind.feed_max_c:
        return row.mean_g
    tgc = _fitted(row, kind, temps) or kind.tgc
    return growth.weight_after_g(row.mean_g, temp_c, min(days, 365), tgc)


def _fitted(row: FishNow, kind: Species, temps: Taken) -> float | None:
    found = growth_weighed(row.weighed, temps, kind)
    return found.tgc if found is not None else None


def growing(facts: LoopFacts, fish: Sequence[FishNow], temps: Taken) -> tuple[FishGroup, ...]:
    """Return the fish with how much of the usual gain each batch makes, by its weighings."""
    known, found = species_table(), []
    for row, group in zip(fish, facts.fish, strict=True):
        kind = known.get(row.batch.species_code)
        fitted = _fitted(row, kind, temps) if kind is not None else None
        share = growth_share(facts, group, fitted) if fitted is not None else 1.0
        found.append(replace(group, growth=share))
    return tuple(found)
