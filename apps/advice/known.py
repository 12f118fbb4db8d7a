"""From rows to what is known of a system, as the science wants it. Asks no database."""

import datetime as dt
from collections.abc import Sequence
from dataclasses import dataclass
from uuid import UUID

from django.utils import timezone

from apps.advice import inputs
from apps.advice.choices import Close
from apps.advice.models import Advice
from apps.batches.models import Deaths, HarvestHold
from apps.calc.advice import situation as known
from apps.calc.advice.doses import SUBSTANCES
from apps.calc.advice.today import Taken, with_readings
from apps.clients.models import SourceWater
from apps.systems.models import Loop, System
from apps.systems.selectors import loop_sizes
from apps.visits.models import Reading
from apps.visits.selectors import LoopLife

FRESH = dt.timedelta(days=30)
# how long a dose is counted; and the longest that an advice with steps goes on before that
DOSES_COUNT = dt.timedelta(days=7)
STEPS_LAST = dt.timedelta(days=21)
# what is dropped within this time of its dose was not given
DROPPED_COUNT = dt.timedelta(days=1)
ELEMENTS = {
    "K": "k", "Ca": "ca", "Na": "na", "Fe": "fe", "Mg": "mg", "P": "p", "S": "s", "Cl": "cl",
}  # fmt: skip


@dataclass(frozen=True)
class Ingredients:
    """Rows that a situation is made from."""

    system: System
    loops: Sequence[Loop]
    lives: dict[UUID, LoopLife]
    past: Sequence[Reading]
    current: Sequence[Reading]
    signs: frozenset[str]
    now: dt.datetime
    source: SourceWater | None
    events: tuple[known.Event, ...]
    holds: Sequence[HarvestHold]
    deaths: Sequence[Deaths]
    doses: Sequence[Advice]


def situation_of(parts: Ingredients) -> known.Situation:
    """Return what is known of a system at a time, today's readings among it."""
    return with_readings(before_of(parts), [_taken(row, parts.now) for row in parts.current])


def before_of(parts: Ingredients) -> known.Situation:
    """Return what was known before today's readings: a telephone puts its own over it."""
    on = timezone.localdate(parts.now)
    loops = tuple(_loop(loop, parts, on) for loop in parts.loops)
    started = parts.system.started_on
    alone = parts.loops[0].pk if len(parts.loops) == 1 else None
    return known.Situation(
        kind=parts.system.kind,
        today=on,
        loops=loops,
        source=_source(parts.source),
        signs=parts.signs,
        events=(*parts.events, *inputs.outages(parts.past)),
        holds=tuple(
            known.Hold(hold.treatment.product, hold.until, hold.touches) for hold in parts.holds
        ),
        filter_age_days=(on - started).days if started else None,
        altitude_m=parts.system.place.altitude_m,
        feed_conversion=inputs.feed_conversion(
            [fish for life in parts.lives.values() for fish in life.fish], parts.past
        ),
        expected_topup_l_day=inputs.usual_topup(parts.past, on) if alone else None,
    )


def _source(row: SourceWater | None) -> known.Source | None:
    if row is None:
        return None
    return known.Source(
        ph=row.ph,
        alkalinity=row.alkalinity_mg_l_caco3,
        tan=row.tan_mg_l,
        total_chlorine=row.total_chlorine_mg_l,
        chloramine=row.chloramine,
        temp_c=row.temp_c,
        nitrate=row.nitrate_n_mg_l or 0.0,
    )


def _loop(loop: Loop, parts: Ingredients, on: dt.date) -> known.Loop:
    sizes, life = loop_sizes(loop), parts.lives[loop.pk]
    batches = {fish.batch.pk for fish in life.fish}
    past = [row for row in parts.past if row.loop_id == loop.pk]
    fresh = [row for row in past if row.trusted and parts.now - row.taken_at <= FRESH]
    return known.Loop(
        id=str(loop.pk),
        kind=loop.kind,
        volume_l=sizes.litres,
        volume_within_pct=loop.volume_known_within_pct,
        tank_l=sizes.tank_litres or None,
        readings={row.measurand: _reading(row, parts.now) for row in fresh},
        history=_history(past),
        ph_swing=inputs.ph_swing(past, on),
        fish=tuple(
            known.Fish(
                row.batch.species_code, row.count, row.mean_g, row.sample_g, row.batch.stocked_on
            )
            for row in life.fish
        ),
        crops=tuple(known.Crop(code, group, area) for code, group, area, _count in life.crops),
        media=tuple(known.Media(kind, litres) for kind, litres in sizes.media),
        air_l_min=sizes.air_l_min or None,
        pump_l_h=sizes.pump_l_h or None,
        sown_crop=life.sown,
        given_7d=_given(
            [row for row in parts.doses if row.loop_id == loop.pk], sizes.litres, parts.now
        ),
        deaths=tuple(
            known.Past(row.on, float(row.count)) for row in parts.deaths if row.batch_id in batches
        ),
    )


def _taken(row: Reading, now: dt.datetime) -> Taken:
    seen = _reading(row, now)
    return Taken(
        str(row.loop_id), row.measurand, seen.value, seen.age_h, seen.trusted,
        row.when == "after", seen.hour, seen.method, seen.doubt, seen.id,
    )  # fmt: skip


def _reading(row: Reading, now: dt.datetime) -> known.Reading:
    local = timezone.localtime(row.taken_at)
    return known.Reading(
        value=row.value,
        age_h=max(0.0, (now - row.taken_at).total_seconds() / 3600),
        trusted=row.trusted,
        hour=local.hour + local.minute / 60,
        method=row.method,
        doubt=row.doubts[0]["code"] if row.doubts and not row.trusted else "",
        id=str(row.pk),
    )


def _history(past: Sequence[Reading]) -> dict[str, tuple[known.Past, ...]]:
    found: dict[str, list[known.Past]] = {}
    for row in past:
        if row.trusted:
            day = timezone.localdate(row.taken_at)
            found.setdefault(row.measurand, []).append(known.Past(day, row.value))
    return {code: tuple(rows[-12:]) for code, rows in found.items()}


def _given(doses: Sequence[Advice], litres: float, now: dt.datetime) -> dict[str, float]:
    """Return mg/L of K, Ca, Na, Fe, Mg, P, S and Cl that seven days' doses have brought to a loop."""
    totals: dict[str, float] = {}
    for row in doses if litres else ():
        for _at, code, grams in brought(row, now):
            substance = SUBSTANCES.get(code)
            for name, share in ELEMENTS.items() if substance else ():
                added = grams * getattr(substance, share) * 1000 / litres
                if added:
                    totals[name] = totals.get(name, 0.0) + added
    return totals


def brought(row: Advice, now: dt.datetime) -> list[tuple[dt.datetime, str, float]]:
    """Return when, of what and how much an advice's doses of the last seven days are counted.

    The first counts once it is advised; a later one once its time has come while the advice was
    open. What was skipped counts all the same, for too much is what harms; only what the office
    dropped within a day was not given.
    """
    return [dose for dose in _doses(row) if now - DOSES_COUNT < dose[0] <= _until(row, now)]


def _doses(row: Advice) -> list[tuple[dt.datetime, str, float]]:
    """Return when an advice's doses fall due, of what, and how much of it in the advice's unit."""
    if row.dose is None:
        return []
    first = {"after_hours": 0.0, "dose": row.dose, "substance": row.parameters.get("substance")}
    return [
        (row.made_at + dt.timedelta(hours=float(step["after_hours"])), str(step["substance"]),
         float(step["dose"]))
        for step in row.parameters.get("steps") or [first]
    ]  # fmt: skip


def _until(row: Advice, now: dt.datetime) -> dt.datetime:
    if row.closed_at is None:
        return now
    if row.closed_as == Close.DROPPED:
        return min(now, row.closed_at - DROPPED_COUNT)
    # written up and replaced within one moment: the first dose stands
    return min(now, max(row.closed_at, row.made_at))
