"""What lives in a system, for its page: fish, plants, and what must not be eaten yet."""

import datetime as dt
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any
from uuid import UUID

from django.utils.translation import gettext as _

from apps.batches.models import Picking
from apps.batches.selectors import fish_now, holds_now, plantings_now
from apps.catalogue.selectors import Catalogue
from apps.core.scoping import Actor
from apps.office.selectors.fish_growth import growth_said
from apps.systems.models import Loop
from apps.systems.selectors import loop_sizes


@dataclass
class Life:
    """What lives in a system now."""

    fish: list[dict[str, Any]]
    plants: list[dict[str, Any]]
    holds: list[Any]
    kg: float = 0.0
    density: float | None = None


def life_of(loops: Sequence[Loop], actor: Actor, on: dt.date, catalogue: Catalogue) -> Life:
    """Return fish, plants and holds: six queries, one more where fish were weighed twice."""
    ids = [loop.pk for loop in loops]
    fish = [row for row in fish_now(ids, on) if row.count]
    plantings = plantings_now(ids, on)
    picked: dict[UUID, list[Picking]] = {}
    for row in Picking.objects.visible_to(actor).filter(planting__in=plantings).order_by("on"):
        picked.setdefault(row.planting_id, []).append(row)
    kg = sum(row.count * row.mean_g for row in fish) / 1000
    litres = sum(loop_sizes(loop).tank_litres for loop in loops)
    plants = [
        {"planting": row, "name": _(catalogue.name("crops", row.crop_code)),
         "heads": sum(p.heads or 0 for p in picked.get(row.pk, [])),
         "kg": sum(p.mass_kg or 0 for p in picked.get(row.pk, []))}
        for row in plantings
    ]  # fmt: skip
    density = kg / litres * 1000 if litres and kg else None
    grows = growth_said(fish, actor.at)
    named = [
        {"now": row, "name": _(catalogue.name("species", row.batch.species_code)),
         "grows": grows[row.batch.pk]}
        for row in fish
    ]  # fmt: skip
    return Life(named, plants, holds_now(ids, on), kg, density)
