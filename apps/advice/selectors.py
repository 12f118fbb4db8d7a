"""What is known of a system, put together for the science; advice put into words."""

import datetime as dt
import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from typing import Any
from uuid import UUID

from django.db.models import QuerySet, Subquery
from django.utils import timezone
from django.utils.translation import gettext

from apps.advice.choices import Close, Decision
from apps.advice.models import Advice
from apps.batches.models import Deaths, FishBatch, HarvestHold, Treatment
from apps.batches.selectors import holds_now
from apps.calc.advice import situation as known
from apps.calc.advice.doses import SUBSTANCES
from apps.calc.advice.results import Advice as Drafted
from apps.calc.advice.results import Explanation, Step
from apps.calc.advice.sentences import (
    CAUSE_WORDS,
    FORMATS,
    SUBSTANCE_WORDS,
    Sentence,
    readable_hours,
    sentences,
)
from apps.calc.advice.texts import CAUTIONS
from apps.calc.judgement import Band
from apps.calc.quantities import MEASURANDS
from apps.care.models import Completion
from apps.catalogue.choices import EntryKind
from apps.catalogue.selectors import Catalogue
from apps.clients.models import SourceWater
from apps.clients.selectors import source_water
from apps.core.dates import day_text
from apps.core.numbers import format_figure, with_unit
from apps.systems.models import Loop, System
from apps.systems.selectors import loop_sizes
from apps.visits.choices import State
from apps.visits.models import Finding, Reading, Sheet, Visit
from apps.visits.selectors import LIMITS, Background, LoopLife

FRESH = dt.timedelta(days=30)
DOSES_COUNT = dt.timedelta(days=7)
EVENTS = {
    "static_media_backflush": "filter_cleaned",
    "moving_bed_screen": "filter_cleaned",
    "bed_half_clean": "bed_cleaned",
    "settler_drain": "settler_drained",
    "iron_dose": "iron_given",
    "water_change": "water_changed",
    "fish_sample_weigh": "fish_handled",
}


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
    """Return what is known of a system at a time, as the rules want it. Asks no database."""
    on = timezone.localdate(parts.now)
    return known.Situation(
        kind=parts.system.kind,
        today=on,
        loops=tuple(_loop(loop, parts, on) for loop in parts.loops),
        source=_source(parts.source),
        signs=parts.signs,
        events=parts.events,
        holds=tuple(
            known.Hold(hold.treatment.product, hold.until, hold.touches) for hold in parts.holds
        ),
        filter_age_days=(on - parts.system.started_on).days if parts.system.started_on else None,
        altitude_m=parts.system.place.altitude_m,
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


def _events(system: System, loop_ids: list[UUID], on: dt.date) -> Iterable[known.Event]:
    since = on - dt.timedelta(days=60)
    done = Completion.objects.filter(
        task__system=system,
        task__code__in=list(EVENTS),
        done_on__gte=since,
        done_on__lt=on,
        withdraws__isnull=True,
        withdrawn_by__isnull=True,
    )
    for code, day in done.values_list("task__code", "done_on"):
        yield known.Event(EVENTS[code], day)
    for moment in Visit.objects.filter(
        sheets__system=system,
        state__in=[State.WRITTEN_UP, State.REPORTED],
        start__date__gte=since,
        start__date__lt=on,
    ).values_list("start", flat=True):
        yield known.Event("visited", timezone.localdate(moment))
    for day in Treatment.objects.filter(loop_id__in=loop_ids, began_on__gte=since).values_list(
        "began_on", flat=True
    ):
        yield known.Event("medicated", day)
    for day in FishBatch.objects.filter(loop_id__in=loop_ids, stocked_on__gte=since).values_list(
        "stocked_on", flat=True
    ):
        yield known.Event("restocked", day)


def _loop(loop: Loop, parts: Ingredients, on: dt.date) -> known.Loop:
    sizes = loop_sizes(loop)
    life = parts.lives[loop.pk]
    batches = {fish.batch.pk for fish in life.fish}
    readings = _readings(
        [row for row in parts.past if row.loop_id == loop.pk],
        [row for row in parts.current if row.loop_id == loop.pk],
        parts.now,
    )
    feed = readings.pop("feed", None)
    flow = readings.get("flow")
    if flow is not None and sizes.pump_l_h:
        percent = 100 * flow.value * 60 / sizes.pump_l_h
        readings["flow_pct"] = replace(flow, value=percent)
    return known.Loop(
        id=str(loop.pk),
        kind=loop.kind,
        volume_l=sizes.litres,
        volume_within_pct=loop.volume_known_within_pct,
        tank_l=sizes.tank_litres or None,
        readings=readings,
        history=_history([row for row in parts.past if row.loop_id == loop.pk]),
        second=_second([row for row in parts.current if row.loop_id == loop.pk]),
        fish=tuple(
            known.Fish(
                row.batch.species_code, row.count, row.mean_g, row.sample_g, row.batch.stocked_on
            )
            for row in life.fish
        ),
        crops=tuple(known.Crop(code, group, area) for code, group, area, _count in life.crops),
        media=tuple(known.Media(kind, litres) for kind, litres in sizes.media),
        feed_g_day=feed.value if feed else None,
        given_7d=_given([row for row in parts.doses if row.loop_id == loop.pk], sizes.litres),
        deaths=tuple(
            known.Past(row.on, float(row.count)) for row in parts.deaths if row.batch_id in batches
        ),
    )


def _readings(
    past: Sequence[Reading], current: Sequence[Reading], now: dt.datetime
) -> dict[str, known.Reading]:
    found: dict[str, Reading] = {}
    for row in past:
        if row.trusted and now - row.taken_at <= FRESH:
            found[row.measurand] = row
    # what was read last after the work says how the water is now
    for row in sorted(current, key=lambda row: (row.when == "after", row.taken_at)):
        found[row.measurand] = row
    return {code: _reading(row, now) for code, row in found.items()}


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


def _second(current: Sequence[Reading]) -> dict[str, float]:
    by_method: dict[str, dict[str, float]] = {}
    for row in current:
        if row.trusted and row.when == "before":
            by_method.setdefault(row.measurand, {})[row.method] = row.value
    return {code: list(values.values())[1] for code, values in by_method.items() if len(values) > 1}


ELEMENTS = {"K": "k", "Ca": "ca", "Na": "na", "Fe": "fe"}


def doses_before(loop_ids: Sequence[UUID], now: dt.datetime) -> list[Advice]:
    """Return the kept advice of the last seven days that brings grams into these loops."""
    return list(
        Advice.objects.filter(
            loop_id__in=loop_ids,
            made_at__gt=now - DOSES_COUNT,
            made_at__lt=now,
            decision__in=[Decision.KEEP, Decision.EDIT],
            dose__isnull=False,
            unit="g",
        )
    )


def _given(doses: Sequence[Advice], litres: float) -> dict[str, float]:
    """Return mg/L of K, Ca, Na and Fe that doses have brought to a loop."""
    totals: dict[str, float] = {}
    for row in doses if litres else ():
        substance = SUBSTANCES.get(str(row.parameters.get("substance", "")))
        if substance is None or row.dose is None:
            continue
        for name, share in ELEMENTS.items():
            brought = row.dose * getattr(substance, share) * 1000 / litres
            if brought:
                totals[name] = totals.get(name, 0.0) + brought
    return totals


def deaths_before(batch_ids: Sequence[UUID], on: dt.date) -> list[Deaths]:
    """Return the deaths of the 30 days up to a day, oldest first."""
    return list(
        Deaths.objects.filter(
            batch_id__in=batch_ids, on__gt=on - dt.timedelta(days=30), on__lte=on
        ).order_by("on")
    )


def ingredients(
    sheet: Sheet,
    background: Background,
    current: Sequence[Reading],
    signs: Iterable[str],
    now: dt.datetime,
) -> Ingredients:
    """Return the rows for a sheet: its own readings as current, all others as past."""
    on = timezone.localdate(now)
    loops, lives = background.loops, background.lives
    ids = [loop.pk for loop in loops]
    batches = [fish.batch.pk for life in lives.values() for fish in life.fish]
    return Ingredients(
        sheet.system, loops, lives, background.past(now, sheet.pk), current, frozenset(signs), now,
        source=source_water(sheet.system.place, on),
        events=tuple(_events(sheet.system, ids, on)),
        holds=holds_now(ids, on),
        deaths=deaths_before(batches, on),
        doses=doses_before(ids, now),
    )  # fmt: skip


def sheet_signs(sheet: Sheet) -> list[str]:
    """Return the signs found on a stored sheet."""
    return list(
        Finding.objects.filter(sheet=sheet, corrected_by__isnull=True)
        .exclude(sign="")
        .values_list("sign", flat=True)
    )


def open_advice(system_ids: list[UUID]) -> list[Advice]:
    """Return advice that waits to be carried out, most urgent first."""
    order = {"now": 0, "today": 1, "within_3_days": 2, "next_visit": 3, "good_to_know": 4}
    rows = Advice.objects.filter(system_id__in=system_ids, closed_at__isnull=True).select_related(
        "loop", "sheet"
    )
    return sorted(rows, key=lambda row: (order[row.urgency], row.position))


def done_lately(system_id: UUID) -> QuerySet[Advice]:
    """Return advice of a system's latest written-up visit that was noted as done."""
    told = Sheet.objects.filter(
        system_id=system_id, visit__state__in=[State.WRITTEN_UP, State.REPORTED]
    )
    latest = told.order_by("-visit__finished_at", "-visit__start", "pk").values("pk")[:1]
    rows = Advice.objects.filter(sheet=Subquery(latest), closed_as=Close.DONE)
    return rows.order_by("position")


def draft_of(parameters: dict[str, Any]) -> Drafted:
    """Return an advice as the science drafted it, from what is kept of it."""
    kept = dict(parameters)
    kept["steps"] = tuple(Step(**step) for step in kept["steps"])
    kept["explanation"] = Explanation(**kept["explanation"])
    kept["cautions"], kept["answers"] = tuple(kept["cautions"]), tuple(kept["answers"])
    return Drafted(**kept)


def _figure(name: str, value: float | str, sentence: Sentence) -> str:
    if isinstance(value, str):
        return _coded(name, value)
    if name.endswith("_hours"):
        count, unit = readable_hours(value)
        return with_unit(format_figure(count, 0), unit)
    if name == "dose":
        decimals, unit = (0 if value >= 20 else 1 if value >= 2 else 2), sentence.unit
    elif name in ("value", "limit") and sentence.measurand in MEASURANDS:
        quantity = MEASURANDS[sentence.measurand]
        decimals, unit = quantity.decimals, quantity.unit
    else:
        decimals, unit = FORMATS.get(name, (1, ""))
    return with_unit(format_figure(value, decimals), unit)


def _coded(name: str, value: str) -> str:
    """Return a parameter that is a code, or codes between commas, in words."""
    if name == "measurands":
        names = [
            MEASURANDS[code].title if code in MEASURANDS else code for code in value.split(", ")
        ]
        return ", ".join(gettext(item) for item in names)
    if re.fullmatch(r"\d{4}-\d\d-\d\d", value):
        return day_text(dt.date.fromisoformat(value))
    if name == "causes":
        return ", ".join(gettext(CAUSE_WORDS.get(code, code)) for code in value.split(", "))
    return gettext(SUBSTANCE_WORDS.get(value, value))


def _said(sentence: Sentence) -> str:
    params = {name: _figure(name, value, sentence) for name, value in sentence.params.items()}
    return gettext(sentence.msgid).format_map(_Forgiving(params))


def advice_text(rule: str, parameters: dict[str, Any]) -> str:
    """Return an advice as sentences in the active language."""
    return " ".join(_said(sentence) for sentence in sentences(draft_of(parameters)))


def caution_texts(codes: Iterable[str]) -> list[str]:
    """Return cautions as sentences in the active language."""
    return [gettext(CAUTIONS[code]) for code in dict.fromkeys(codes) if code in CAUTIONS]


class _Forgiving(dict[str, str]):
    """A figure that an older row does not have leaves a gap, not an error."""

    def __missing__(self, key: str) -> str:
        return "…"


def bands_of(catalogue: Catalogue) -> dict[tuple[str, str], Band]:
    """Return the firm's limits by measurand and context."""
    return {
        (row["measurand"], row["context"]): Band(
            **{limit: row.get(limit) for limit in LIMITS}, context=row["context"]
        )
        for row in catalogue.of(EntryKind.BAND).values()
    }


def name_of(catalogue: Catalogue, measurand: str) -> str:
    """Return a measurand's name in the active language."""
    return gettext(catalogue.name("measurands", measurand))
