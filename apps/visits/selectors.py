"""Reads of visits and readings."""

import datetime as dt
from collections.abc import Collection, Iterable, Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import Any
from uuid import UUID

from django.db.models import Prefetch, QuerySet

from apps.batches.models import Planting
from apps.batches.selectors import FishNow, fish_now, plantings_now
from apps.calc.judgement import Band, LoopContext, pick_context
from apps.calc.quantities import MEASURANDS, Quantity
from apps.catalogue.choices import EntryKind
from apps.catalogue.selectors import Catalogue
from apps.systems.models import Component, Loop, System
from apps.visits.models import Assignment, Line, Reading, Sheet, Visit

COLD = "cold"
HISTORY = dt.timedelta(days=120)


def visits_full(visits: QuerySet[Visit]) -> QuerySet[Visit]:
    """Add place, client, technicians, sheets, systems and lines: a fixed number of queries."""
    return visits.select_related("place__client").prefetch_related(
        Prefetch("assignments", Assignment.objects.select_related("user")),
        Prefetch("sheets", Sheet.objects.select_related("system").order_by("system__name", "id")),
        Prefetch("sheets__lines", Line.objects.select_related("task").order_by("position", "code")),
    )


def sheets_of(visit: Visit) -> list[Sheet]:
    """Return the sheets of a visit with their systems and places, in the order shown."""
    sheets = list(visit.sheets.select_related("system__place").order_by("system__name", "id"))
    for sheet in sheets:
        sheet.visit = visit
    return sheets


@dataclass(frozen=True)
class LoopLife:
    """What lives in a loop, and so which bands hold for it; `sown`: the crop sown there last."""

    context: LoopContext
    fish: tuple[FishNow, ...]
    crops: tuple[tuple[str, str, float, int], ...]
    sown: str = ""


def lives_of(
    system: System,
    loops: Sequence[Loop],
    catalogue: Catalogue,
    fish: Sequence[FishNow],
    plantings: Sequence[Planting],
) -> dict[UUID, LoopLife]:
    """Return what lives in each loop, from the rows; crops as (code, group, m2, count)."""
    lives = {}
    for loop in loops:
        own = tuple(row for row in fish if row.batch.loop_id == loop.pk and row.count)
        crops = tuple(_crops(catalogue, [p for p in plantings if p.component.loop_id == loop.pk]))
        species = tuple(dict.fromkeys(row.batch.species_code for row in own))
        cold = any(
            (catalogue.get(EntryKind.SPECIES, code) or {}).get("group") == COLD for code in species
        )
        context = LoopContext(
            system_kind=system.kind,
            loop_kind=loop.kind,
            species=species,
            crop_groups=tuple(dict.fromkeys(crop[1] for crop in crops)),
            cold=cold,
            cycling=not species and loop.kind != "plant" and system.kind != "plants_only",
        )
        sown = max(
            (p for p in plantings if p.component.loop_id == loop.pk and p.sown_on is not None),
            key=lambda planting: (planting.sown_on, planting.pk),
            default=None,
        )
        lives[loop.pk] = LoopLife(context, own, crops, sown.crop_code if sown else "")
    return lives


def lives_now(
    system: System, loops: Sequence[Loop], catalogue: Catalogue, on: dt.date
) -> dict[UUID, LoopLife]:
    """Return what lives in each loop of a system on a day: three queries."""
    ids = [loop.pk for loop in loops]
    return lives_of(system, loops, catalogue, fish_now(ids, on), plantings_now(ids, on))


def _crops(
    catalogue: Catalogue, plantings: Sequence[Planting]
) -> Iterable[tuple[str, str, float, int]]:
    by_part: dict[UUID, list[Planting]] = {}
    for planting in plantings:
        by_part.setdefault(planting.component_id, []).append(planting)
    for rows in by_part.values():
        area = rows[0].component.area_m2 or 0.0
        plants = sum(row.count for row in rows) or 1
        for row in rows:
            entry = catalogue.get(EntryKind.CROP, row.crop_code) or {}
            group = str(entry.get("group", "leafy"))
            yield row.crop_code, group, area * row.count / plants, row.count


LIMITS = ("red_lo", "amber_lo", "t_lo", "t_hi", "amber_hi", "red_hi")


@lru_cache(maxsize=4)
def bands_of(catalogue: Catalogue) -> dict[tuple[str, str], Band]:
    """Return the firm's limits by measurand and context; kept for an edition."""
    return {
        (row["measurand"], row["context"]): Band(
            **{limit: row.get(limit) for limit in LIMITS}, context=row["context"]
        )
        for row in catalogue.of(EntryKind.BAND).values()
    }


@lru_cache(maxsize=4)
def limits_of(catalogue: Catalogue) -> dict[str, Quantity]:
    """Return the ranges within which a measurand is taken at all, the firm's where it has them."""
    found = {}
    for code, entry in catalogue.of(EntryKind.MEASURAND).items():
        known = MEASURANDS.get(code)
        if known is None:
            continue
        low, high = entry.get("hard_low"), entry.get("hard_high")
        found[code] = known if low is None or high is None else Quantity(
            code, known.title, known.unit, known.decimals, float(low), float(high),
            entry.get("ask_low"), entry.get("ask_high"),
        )  # fmt: skip
    return found


def band_for(catalogue: Catalogue, measurand: str, context: LoopContext) -> Band | None:
    """Return the firm's band of a measurand in a loop; None where nothing is judged."""
    name = pick_context(measurand, context)
    return bands_of(catalogue).get((measurand, name)) if name else None


def band_as_json(band: Band | None) -> dict[str, Any]:
    """Return a band as it is kept with a reading."""
    if band is None:
        return {}
    return {"context": band.context, **{limit: getattr(band, limit) for limit in LIMITS}}


def readings_counting() -> QuerySet[Reading]:
    """Return readings that no correction has replaced."""
    return Reading.objects.filter(corrected_by__isnull=True)


def history(
    loop_ids: list[UUID], until: dt.datetime, since: dt.datetime | None = None
) -> list[Reading]:
    """Return the counting readings of loops up to a time, oldest first: one query."""
    return list(
        readings_counting()
        .filter(
            loop_id__in=loop_ids,
            taken_at__lte=until,
            taken_at__gte=since or until - HISTORY,
        )
        .order_by("taken_at", "id")
    )


def temperatures(loop_ids: Collection[UUID], until: dt.datetime) -> QuerySet[Reading]:
    """Return the trusted temperatures of loops that count as history, oldest first: one query."""
    rows = readings_counting().filter(
        loop_id__in=loop_ids, measurand="temp", trusted=True,
        taken_at__lte=until, taken_at__gte=until - HISTORY,
    )  # fmt: skip
    return rows.order_by("taken_at", "id")


@dataclass(frozen=True)
class Background:
    """What is known of a system: its loops with their fitted parts, what lives in them, readings.

    Read once, and then used to judge a sheet's readings, to assess it and for the standing.
    """

    loops: Sequence[Loop]
    lives: dict[UUID, LoopLife]
    readings: Sequence[Reading]

    def past(self, until: dt.datetime, sheet_id: UUID | None) -> list[Reading]:
        """Return the readings of 120 days up to a time that another sheet brought, oldest first.

        All of them where there is no sheet.
        """
        return [
            row
            for row in self.readings
            if until - HISTORY <= row.taken_at <= until
            and (sheet_id is None or row.sheet_id != sheet_id)
        ]


def backgrounds_of(
    systems: Sequence[System],
    catalogue: Catalogue,
    on: dt.date,
    until: dt.datetime,
    since: dt.datetime | None = None,
) -> dict[UUID, Background]:
    """Return what is known of systems: what lives there on a day, readings over a time.

    Six queries, however many systems there are. `since` is 120 days before `until` if left out.
    """
    loops = loops_with_parts([system.pk for system in systems])
    ids = [loop.pk for loop in loops]
    fish, plantings = fish_now(ids, on), plantings_now(ids, on)
    readings = history(ids, until, since)
    found = {}
    for system in systems:
        own = [loop for loop in loops if loop.system_id == system.pk]
        keys = {loop.pk for loop in own}
        found[system.pk] = Background(
            own,
            lives_of(system, own, catalogue, fish, plantings),
            [row for row in readings if row.loop_id in keys],
        )
    return found


def loops_with_parts(system_ids: Sequence[UUID]) -> list[Loop]:
    """Return the loops of systems with their fitted components: two queries."""
    loops = list(Loop.objects.filter(system_id__in=system_ids).order_by("kind"))
    fitted: dict[UUID, list[Component]] = {loop.pk: [] for loop in loops}
    for part in Component.objects.filter(loop__in=fitted, removed_on__isnull=True).order_by(
        "place_in_flow"
    ):
        fitted[part.loop_id].append(part)
    for loop in loops:
        loop.fitted = fitted[loop.pk]  # type: ignore[attr-defined]
    return loops


def latest(readings: Iterable[Reading]) -> dict[tuple[UUID, str], Reading]:
    """Return the last reading of each loop and measurand out of readings, oldest first."""
    return {(row.loop_id, row.measurand): row for row in readings}
