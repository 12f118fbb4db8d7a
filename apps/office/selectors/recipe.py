"""What a recipe starts from: the loop's last readings and the place's source water."""

import datetime as dt
from dataclasses import dataclass

from django.utils import timezone

from apps.clients.selectors import source_waters
from apps.systems.models import Loop
from apps.systems.selectors import loop_litres
from apps.visits.selectors import history, latest

# readings by measurand, as a recipe counts them
MEASURED = {"no3": "no3", "po4": "p", "k": "k", "ca": "ca", "mg": "mg", "fe": "fe"}
# of the hardness of a tap water (common practice); what a mg/L CaCO3 of each is as a metal
CALCIUM_SHARE, CALCIUM, MAGNESIUM = 0.75, 0.4004, 0.2428
LOOK_BACK = dt.timedelta(days=90)


@dataclass(frozen=True)
class RecipeStart:
    """mg/L by element in the loop and in the source water, and when each was measured."""

    litres: float
    present: dict[str, float]
    present_on: dt.date | None
    source: dict[str, float]
    source_on: dt.date | None
    source_alkalinity: float | None


def recipe_start(loop: Loop, now: dt.datetime) -> RecipeStart:
    """Return what is known of a loop with its parts: two queries. Readings of 90 days count."""
    rows = [
        row
        for row in latest(history([loop.pk], now, now - LOOK_BACK)).values()
        if row.trusted and row.measurand in MEASURED
    ]
    water = source_waters([loop.system.place_id], timezone.localdate(now)).get(loop.system.place_id)
    source: dict[str, float] = {}
    if water and water.nitrate_n_mg_l is not None:
        source["no3"] = water.nitrate_n_mg_l
    if water and water.hardness_mg_l_caco3 is not None:
        hard = water.hardness_mg_l_caco3
        source["ca"] = round(hard * CALCIUM_SHARE * CALCIUM, 1)
        source["mg"] = round(hard * (1 - CALCIUM_SHARE) * MAGNESIUM, 1)
    return RecipeStart(
        litres=loop_litres(loop),
        present={MEASURED[row.measurand]: row.value for row in rows},
        present_on=min((timezone.localdate(row.taken_at) for row in rows), default=None),
        source=source,
        source_on=water.on if water else None,
        source_alkalinity=water.alkalinity_mg_l_caco3 if water else None,
    )
