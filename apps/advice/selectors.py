"""What is known of a system, put together for the science; advice put into words."""

import datetime as dt
import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace
from typing import Any
from uuid import UUID

from django.db.models import Q, QuerySet, Subquery, Value
from django.db.models.functions import Coalesce
from django.utils import timezone
from django.utils.translation import gettext

from apps.advice.choices import Close, Decision
from apps.advice.known import DOSES_COUNT, STEPS_LAST, Ingredients
from apps.advice.models import Advice
from apps.batches.models import Deaths, FishBatch, Treatment
from apps.batches.selectors import holds_now
from apps.calc.advice import situation as known
from apps.calc.advice.cautions import CAUTIONS
from apps.calc.advice.results import Advice as Drafted
from apps.calc.advice.results import Explanation, Step
from apps.calc.advice.sentences import (
    CAUSE_WORDS,
    FORMATS,
    Sentence,
    readable_hours,
    sentences,
)
from apps.calc.advice.substances import SUBSTANCE_WORDS
from apps.calc.quantities import MEASURANDS
from apps.care.models import Completion
from apps.catalogue.selectors import Catalogue
from apps.clients.selectors import source_waters
from apps.core.dates import day_text
from apps.core.measures import measured, sentence, weighed
from apps.core.numbers import format_figure, with_unit
from apps.visits.choices import State
from apps.visits.models import Finding, Reading, Sheet
from apps.visits.selectors import Background

# what somebody weighs out: the exact amount stands beside the reader's own
WEIGHED = frozenset({"dose", "total_g", "ascorbic_g", "dechlorinator_g"})
EVENTS = {
    "static_media_backflush": "filter_cleaned",
    "moving_bed_screen": "filter_cleaned",
    "bed_half_clean": "bed_cleaned",
    "settler_drain": "settler_drained",
    "iron_dose": "iron_given",
    "water_change": "water_changed",
    "fish_sample_weigh": "fish_handled",
}


def _events(
    systems: Sequence[UUID], loops: Mapping[UUID, UUID], on: dt.date
) -> dict[UUID, list[known.Event]]:
    """Return what happened to systems in the 60 days before a day: four queries.

    `loops`: loop -> system.
    """
    since = on - dt.timedelta(days=60)
    found: dict[UUID, list[known.Event]] = {pk: [] for pk in systems}
    done = Completion.objects.filter(
        task__system__in=systems,
        task__code__in=list(EVENTS),
        done_on__gte=since,
        done_on__lt=on,
        withdraws__isnull=True,
        withdrawn_by__isnull=True,
    )
    for pk, code, day in done.values_list("task__system_id", "task__code", "done_on"):
        found[pk].append(known.Event(EVENTS[code], day))
    visits = Sheet.objects.filter(
        system__in=systems,
        visit__state__in=[State.WRITTEN_UP, State.REPORTED],
        visit__start__date__gte=since,
        visit__start__date__lt=on,
    )
    for pk, moment in visits.values_list("system_id", "visit__start"):
        found[pk].append(known.Event("visited", timezone.localdate(moment)))
    treated = Treatment.objects.filter(loop_id__in=loops, began_on__gte=since)
    for loop, day in treated.values_list("loop_id", "began_on"):
        found[loops[loop]].append(known.Event("medicated", day))
    stocked = FishBatch.objects.filter(loop_id__in=loops, stocked_on__gte=since)
    for loop, day in stocked.values_list("loop_id", "stocked_on"):
        found[loops[loop]].append(known.Event("restocked", day))
    return found


def _doses_before(loop_ids: Iterable[UUID], now: dt.datetime) -> list[Advice]:
    """Return the kept advice whose grams may have come into these loops in the last seven days."""
    return list(
        Advice.objects.filter(
            loop_id__in=loop_ids,
            made_at__gt=now - DOSES_COUNT - STEPS_LAST,
            made_at__lt=now,
            decision__in=[Decision.KEEP, Decision.EDIT],
            dose__isnull=False,
            unit="g",
        )
    )


def _deaths_before(batch_ids: Iterable[UUID], on: dt.date) -> list[Deaths]:
    """Return the deaths of the 30 days up to a day, oldest first."""
    return list(
        Deaths.objects.filter(
            batch_id__in=batch_ids, on__gt=on - dt.timedelta(days=30), on__lte=on
        ).order_by("on")
    )


def ingredients_of(
    sheets: Sequence[Sheet], backgrounds: Mapping[UUID, Background], now: dt.datetime
) -> dict[UUID, Ingredients]:
    """Return the rows for sheets, by sheet, without today's readings: eight queries.

    `backgrounds`: system -> what is known of it.
    """
    on = timezone.localdate(now)
    systems = [sheet.system_id for sheet in sheets]
    loops = {loop.pk: pk for pk in systems for loop in backgrounds[pk].loops}
    batches = {
        fish.batch.pk: pk
        for pk in systems for life in backgrounds[pk].lives.values() for fish in life.fish
    }  # fmt: skip
    events = _events(systems, loops, on)
    holds, doses = holds_now(list(loops), on), _doses_before(loops, now)
    deaths = _deaths_before(batches, on)
    sources = source_waters([sheet.system.place_id for sheet in sheets], on)
    return {
        sheet.pk: Ingredients(
            sheet.system, backgrounds[sheet.system_id].loops, backgrounds[sheet.system_id].lives,
            backgrounds[sheet.system_id].past(now, sheet.pk), [], frozenset(), now,
            source=sources.get(sheet.system.place_id),
            events=tuple(events[sheet.system_id]),
            holds=[row for row in holds if loops[row.treatment.loop_id] == sheet.system_id],
            deaths=[row for row in deaths if batches[row.batch_id] == sheet.system_id],
            doses=[row for row in doses if row.loop_id and loops[row.loop_id] == sheet.system_id],
        )
        for sheet in sheets
    }  # fmt: skip


def ingredients(
    sheet: Sheet,
    background: Background,
    current: Sequence[Reading],
    signs: Iterable[str],
    now: dt.datetime,
) -> Ingredients:
    """Return the rows for a sheet: its own readings as current, all others as past."""
    found = ingredients_of([sheet], {sheet.system_id: background}, now)[sheet.pk]
    return replace(found, current=current, signs=frozenset(signs))


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
    """Return advice that was noted as done: of a system's latest written-up visit, and since."""
    told = Sheet.objects.filter(
        system_id=system_id, visit__state__in=[State.WRITTEN_UP, State.REPORTED]
    )
    latest = told.order_by("-visit__finished_at", "-visit__start", "pk")
    ended = latest.values("visit__finished_at")[:1]
    since = Q(made_at__gte=Coalesce(Subquery(ended), Value(dt.datetime.min.replace(tzinfo=dt.UTC))))
    rows = Advice.objects.filter(
        Q(sheet=Subquery(latest.values("pk")[:1])) | Q(sheet=None, system_id=system_id) & since,
        closed_as=Close.DONE,
    )
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
    if name in WEIGHED:
        return weighed(value, unit, decimals)
    return measured(value, unit, decimals)


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
    return [sentence(CAUTIONS[code]) for code in dict.fromkeys(codes) if code in CAUTIONS]


class _Forgiving(dict[str, str]):
    """A figure that an older row does not have leaves a gap, not an error."""

    def __missing__(self, key: str) -> str:
        return "…"


def name_of(catalogue: Catalogue, measurand: str) -> str:
    """Return a measurand's name in the active language."""
    return gettext(catalogue.name("measurands", measurand))
