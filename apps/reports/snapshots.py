"""What a report says, frozen: codes, numbers and names, no sentences.

Words are made when it is drawn, in the reader's language and units. The same snapshot gives the
same bytes.
"""

import datetime as dt
from collections.abc import Sequence
from typing import Any
from uuid import UUID

from django.utils import timezone

from apps.accounts.models import Firm
from apps.advice.models import Advice
from apps.advice.services import stored_assessment
from apps.batches.selectors import fish_now, holds_now, plantings_now
from apps.care.choices import Who
from apps.care.models import CareTask
from apps.catalogue.selectors import Catalogue, catalogue_current
from apps.clients.models import Contact
from apps.reports.snapshot_kinds import asks_data, kind_of, of_the_kind
from apps.reports.snapshot_past import (
    corrections_data,
    earlier_sheets,
    harvest_data,
    pairs_data,
    past_data,
    photo_data,
)
from apps.systems.selectors import flows_of
from apps.visits.besides import signature_data, supplies_data, swaps_data
from apps.visits.choices import State
from apps.visits.models import Finding, Photo, Reading, Sheet, Visit
from apps.visits.selectors import history, loops_with_parts, readings_counting
from apps.visits.services.typed import Typed, typed_sheets
from apps.visits.shown import order_of, reading_data, sketch_data

TEMPLATE = "2"
MAX_PHOTOS = 6


def snapshot_of(
    sheet: Sheet,
    *,
    number: int,
    version: int,
    reason: str,
    firm: Firm,
    contact: Contact | None,
    note: str = "",
    held_back: Sequence[str] = (),
) -> dict[str, Any]:
    """Return what the report of a written-up sheet says.

    `note`: the office's words to the client; `held_back`: ids of photos that it does not show.
    """
    visit, system = sheet.visit, sheet.system
    catalogue = catalogue_current()
    now = visit.finished_at or visit.end
    on = timezone.localdate(now)
    loops = loops_with_parts([system.pk])
    ids = [loop.pk for loop in loops]
    found, _rows = stored_assessment(sheet, now)
    readings = _readings(sheet, ids, now, catalogue)
    latest = {(UUID(row["loop"]), row["measurand"]): row for row in readings}
    parts = [part.pk for loop in loops for part in loop.fitted]  # type: ignore[attr-defined]
    advice = list(sheet.advice.exclude(decision="strike"))
    earlier = earlier_sheets(sheet)
    return {
        "template": TEMPLATE,
        "kind": kind_of(sheet),
        "paper": firm.paper,
        "note": note,
        "language": contact.language if contact else firm.language,
        "units": contact.units if contact else "metric",
        "time_zone": firm.time_zone,
        "number": number,
        "version": version,
        "reason": reason,
        "firm": _firm(firm),
        "client": system.place.client.name,
        "place": {"name": system.place.name, "address": system.place.address},
        "system": {"id": str(system.pk), "name": system.name, "kind": system.kind},
        "visit": _visit(visit),
        "readings": readings,
        "derived": [
            {"code": d.code, "loop": d.loop, "value": d.value, "unit": d.unit, "low": d.low,
             "high": d.high}
            for d in found.derived
        ],
        "advice": [advice_data(row) for row in advice],
        "past": past_data(sheet, earlier, advice, ids, catalogue),
        "corrections": corrections_data(sheet, catalogue),
        "lines": [
            {"code": line.code, "name": catalogue.name("tasks", line.code),
             "outcome": line.outcome, "reason": line.reason, "note": line.note}
            for line in sheet.lines.all()
        ],
        "findings": _findings(sheet, catalogue, held_back),
        "pairs": pairs_data(sheet, earlier, held_back),
        "photos": _photos(sheet, held_back),
        "fish": _fish(ids, on, catalogue),
        "plants": _plants(ids, on, catalogue),
        "holds": [
            {"touches": hold.touches, "until": hold.until.isoformat(),
             "product": hold.treatment.product, "word": hold.treatment.on_whose_word,
             "began": hold.treatment.began_on.isoformat(), "lot": hold.treatment.lot}
            for hold in holds_now(ids, on)
        ],
        "harvest": harvest_data(ids, on.replace(month=1, day=1), on, catalogue, firm.currency),
        "feeding": {"scoop_g": system.scoop_g, "meals": system.meals_a_day},
        "asks": asks_data(system.pk, on, catalogue),
        "next": _next(system.pk, visit, on, catalogue),
        "sketch": sketch_data(loops, flows_of(parts), latest),
        **_besides(sheet),
        **of_the_kind(sheet, catalogue),
    }  # fmt: skip


def _besides(sheet: Sheet) -> dict[str, Any]:
    """Return what was used, swapped and signed; snapshots of before have none of it."""
    typed = typed_sheets(sheet.visit.values.all())
    own = typed.get(sheet.pk, Typed())
    return {
        "supplies": supplies_data(own),
        "swaps": swaps_data(own),
        "signature": signature_data(typed.values()),
    }


def _firm(firm: Firm) -> dict[str, str]:
    return {
        "name": firm.name, "street": firm.street, "town": firm.town, "phone": firm.phone,
        "emergency_phone": firm.emergency_phone, "email": firm.email,
    }  # fmt: skip


def _visit(visit: Visit) -> dict[str, Any]:
    people = [str(row.user) for row in visit.assignments.select_related("user").order_by("id")]
    return {
        "id": str(visit.pk),
        "start": visit.start.isoformat(),
        "started": (visit.started_at or visit.start).isoformat(),
        "finished": (visit.finished_at or visit.end).isoformat(),
        "technicians": people,
        "reason": visit.reason,
    }


def _readings(
    sheet: Sheet, loop_ids: list[UUID], now: dt.datetime, catalogue: Catalogue
) -> list[dict[str, Any]]:
    """Return the sheet's readings, the last of each measurand, with last time's and the series."""
    own: dict[tuple[UUID, str], Reading] = {}
    for row in readings_counting().filter(sheet=sheet).order_by("taken_at", "when", "id"):
        key = (row.loop_id, row.measurand)
        # 'after' readings say how the water was left
        if key not in own or row.when == "after" or own[key].when != "after":
            own[key] = row
    past: dict[tuple[UUID, str], list[Reading]] = {}
    for row in history(loop_ids, now):
        if row.sheet_id != sheet.pk and row.trusted:
            past.setdefault((row.loop_id, row.measurand), []).append(row)
    rows = []
    for key, row in own.items():
        before = past.get(key, [])
        rows.append(reading_data(row, before[-1] if before else None, [*before, row], catalogue))
    places = {str(pk): index for index, pk in enumerate(loop_ids)}
    return sorted(rows, key=lambda row: (places[row["loop"]], order_of(row["measurand"])))


def advice_data(row: Advice) -> dict[str, Any]:
    """Return an advice as it is kept in a snapshot."""
    return {
        "id": str(row.pk),
        "rule": row.rule,
        "loop": str(row.loop_id) if row.loop_id else "",
        "urgency": row.urgency,
        "who": row.who,
        "by": row.by_at.isoformat() if row.by_at else None,
        "made": row.made_at.isoformat(),
        "dose": row.dose,
        "unit": row.unit,
        "parameters": row.parameters,
        "text": row.decision_text if row.decision == "edit" else "",
    }


def _photos(sheet: Sheet, held_back: Sequence[str]) -> list[dict[str, Any]]:
    """Return the photos that stand by no finding, in the order in which they were taken."""
    shown = {
        pk
        for ids in Finding.objects.filter(sheet=sheet).values_list("photo_ids", flat=True)
        for pk in ids
    }
    rows = Photo.objects.filter(sheet=sheet).order_by("taken_at", "id")
    return [
        photo_data(row) for row in rows if str(row.pk) not in shown and str(row.pk) not in held_back
    ][:MAX_PHOTOS]


def _findings(sheet: Sheet, catalogue: Catalogue, held_back: Sequence[str]) -> list[dict[str, Any]]:
    photos = {
        str(photo.pk): photo
        for photo in Photo.objects.filter(sheet=sheet)
        if str(photo.pk) not in held_back
    }
    rows = Finding.objects.filter(sheet=sheet, corrected_by__isnull=True).select_related(
        "component"
    )
    return [
        {
            "sign": row.sign,
            "name": catalogue.name("signs", row.sign) if row.sign else "",
            "text": row.text,
            "component": row.component.name if row.component else "",
            "photos": [photo_data(photos[pk]) for pk in row.photo_ids[:MAX_PHOTOS] if pk in photos],
        }
        for row in rows.order_by("seen_at", "id")
    ]


def _fish(ids: list[UUID], on: dt.date, catalogue: Catalogue) -> list[dict[str, Any]]:
    return [
        {
            "species": row.batch.species_code,
            "name": catalogue.name("species", row.batch.species_code),
            "eaten": bool((catalogue.get("species", row.batch.species_code) or {}).get("eaten")),
            "market_g": (catalogue.get("species", row.batch.species_code) or {}).get("market_g"),
            "count": row.count,
            "mean_g": round(row.mean_g, 1),
            "weighed_on": row.weighed_on.isoformat(),
            "grew_from": round(row.earlier[1], 1) if row.earlier else None,
            "stocked_on": row.batch.stocked_on.isoformat(),
            "deaths": row.deaths,
        }
        for row in fish_now(ids, on)
    ]


def _plants(ids: list[UUID], on: dt.date, catalogue: Catalogue) -> list[dict[str, Any]]:
    rows = []
    for row in plantings_now(ids, on):
        entry = catalogue.get("crops", row.crop_code) or {}
        pick = None
        if row.transplanted_on and entry.get("harvest_days_low"):
            pick = row.transplanted_on + dt.timedelta(days=int(entry["harvest_days_low"]))
        rows.append(
            {
                "crop": row.crop_code,
                "name": catalogue.name("crops", row.crop_code),
                "count": row.count,
                "where": row.component.name,
                "since": row.transplanted_on.isoformat() if row.transplanted_on else None,
                "pick_from": pick.isoformat() if pick else None,
            }
        )
    return rows


def _next(system_id: UUID, visit: Visit, on: dt.date, catalogue: Catalogue) -> dict[str, Any]:
    """Return the next visit: the one that is booked, or when the next task is due.

    For a report that is drawn long after its visit, the next visit is the one that followed.
    """
    booked = (
        Visit.objects.filter(sheets__system_id=system_id, start__gt=visit.end)
        .exclude(state=State.CALLED_OFF)
        .order_by("start")
        .first()
    )
    ahead = booked is None or booked.state in (State.PENCILLED, State.BOOKED)
    tasks = (
        []
        if not ahead
        else list(
            CareTask.objects.filter(
                system_id=system_id, active=True, next_due__isnull=False, next_due__gt=on
            )
            .exclude(who=Who.CLIENT)
            .order_by("next_due", "code")[:4]
        )
    )
    return {
        "booked": booked.start.isoformat() if booked else None,
        "due": tasks[0].next_due.isoformat() if tasks and tasks[0].next_due else None,
        "tasks": [
            {"code": task.code, "name": catalogue.name("tasks", task.code),
             "due": task.next_due.isoformat() if task.next_due else None, "basis": task.basis,
             "measurand": task.condition.get("measurand", "")}
            for task in tasks
        ],
    }  # fmt: skip
