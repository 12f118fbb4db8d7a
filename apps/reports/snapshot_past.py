"""What a report says of the time before its visit: what changed, what stands open, what was picked.

Codes, numbers and names, frozen into the snapshot like all else.
"""

import datetime as dt
from collections.abc import Iterable, Mapping, Sequence
from typing import Any
from uuid import UUID

from django.db.models import Count
from django.utils import timezone

from apps.advice.choices import Close
from apps.advice.models import Advice
from apps.batches.choices import Per
from apps.batches.models import Deaths, Planting
from apps.batches.selectors import Harvested, PriceKey, harvest_of, harvest_prices
from apps.calc.pricing import QUANTITY, line_total
from apps.catalogue.selectors import Catalogue
from apps.core.money import decimals_of
from apps.visits.choices import WORST_FIRST, State
from apps.visits.models import Finding, Photo, Reading, Sheet

Data = dict[str, Any]
# as far back as sheets are looked through; an advice that is older says so by its day all the same
MAX_SHEETS = 26
MAX_PAIRS = 3
TOLD = (State.WRITTEN_UP, State.REPORTED)


def earlier_sheets(sheet: Sheet) -> list[Sheet]:
    """Return the system's sheets that were written up before this one, newest first."""
    rows = Sheet.objects.filter(
        system_id=sheet.system_id, visit__state__in=TOLD, visit__start__lt=sheet.visit.start
    ).exclude(pk=sheet.pk)
    return list(rows.select_related("visit").order_by("-visit__start", "pk")[:MAX_SHEETS])


def past_data(
    sheet: Sheet,
    earlier: Sequence[Sheet],
    rows: Iterable[Advice],
    loop_ids: Sequence[UUID],
    catalogue: Catalogue,
) -> Data:
    """Return what changed since the last visit, and since when each advice has stood open.

    `lost`: how many fish died before each of the earlier sheets since the one before it; `picked`
    and `planted`: names of what was since the last visit.
    """
    if not earlier:
        return {"last_on": None, "count": 0, "words": [], "done": [], "since": {}, "deaths": 0}
    last, before, now = earlier[0], day_of(earlier[0]), day_of(sheet)
    lost = _lost([sheet, *earlier])
    planted = Planting.objects.filter(
        component__loop_id__in=loop_ids, transplanted_on__gt=before, transplanted_on__lte=now
    ).order_by("transplanted_on", "crop_code")
    crops = planted.values_list("crop_code", flat=True)
    picked = harvest_of(loop_ids, before + dt.timedelta(days=1), now)
    return {
        "last_on": before.isoformat(),
        "count": len(earlier),
        "words": worst_words(earlier),
        "lost": lost[1:],
        "picked": [catalogue.name(row.kind, row.code) for row in picked],
        "planted": [catalogue.name("crops", code) for code in dict.fromkeys(crops)],
        "done": [
            {"rule": row.rule, "loop": str(row.loop_id or "")}
            for row in Advice.objects.filter(sheet=last, closed_as=Close.DONE).order_by("position")
        ],
        "since": _since(earlier, rows),
        "deaths": lost[0],
    }


def day_of(sheet: Sheet) -> dt.date:
    """Return the day on which a sheet's work ended."""
    return timezone.localdate(sheet.visit.finished_at or sheet.visit.end)


def _lost(sheets: Sequence[Sheet]) -> list[int]:
    """Return how many fish died from each next older sheet until each sheet, newest first."""
    rows = Deaths.objects.filter(batch__loop__system_id=sheets[0].system_id)
    seen = list(rows.values_list("on", "count"))
    days = [day_of(sheet) for sheet in sheets]
    ends = [*days[1:], dt.date.min]
    return [
        sum(count for on, count in seen if end < on <= day)
        for day, end in zip(days, ends, strict=True)
    ]


def worst_words(earlier: Sequence[Sheet]) -> list[str]:
    """Return the worst word of each sheet in its order; empty where nothing was judged."""
    counts = (
        Reading.objects.filter(sheet__in=earlier, trusted=True, corrected_by__isnull=True)
        .exclude(band={})
        .values_list("sheet_id", "word")
        .annotate(Count("id"))
    )
    found: dict[UUID, set[str]] = {}
    for pk, word, _count in counts:
        found.setdefault(pk, set()).add(word)
    return [
        next((word for word in WORST_FIRST if word in found.get(row.pk, ())), "") for row in earlier
    ]


def _since(earlier: Sequence[Sheet], rows: Iterable[Advice]) -> dict[str, str]:
    """Return advice id -> the day since which each visit in a row has asked for the same."""
    asked: dict[UUID | None, set[tuple[str, UUID | None]]] = {}
    for pk, rule, loop in Advice.objects.filter(sheet__in=earlier).values_list(
        "sheet_id", "rule", "loop_id"
    ):
        asked.setdefault(pk, set()).add((rule, loop))
    found = {}
    for row in rows:
        since = None
        for sheet in earlier:
            if (row.rule, row.loop_id) not in asked.get(sheet.pk, ()):
                break
            since = sheet.visit.finished_at or sheet.visit.end
        if since is not None:
            found[str(row.pk)] = timezone.localdate(since).isoformat()
    return found


def corrections_data(sheet: Sheet, catalogue: Catalogue) -> list[Data]:
    """Return which readings of a sheet were corrected after it was written up, oldest first."""
    rows = Reading.objects.filter(corrects__sheet=sheet).select_related("corrects")
    found = []
    for row in rows.order_by("received_at", "id"):
        entry = catalogue.measurand(row.measurand) or {}
        old = row.corrects
        found.append(
            {
                "measurand": row.measurand, "name": str(entry.get("name") or row.measurand),
                "decimals": int(entry.get("decimals") or 0), "unit": row.unit,
                "was": old.value if old else None, "now": row.value,
                "reason": row.correction_reason, "at": row.received_at.isoformat(),
            }
        )  # fmt: skip
    return found


def harvest_data(
    loop_ids: Sequence[UUID], first: dt.date, last: dt.date, catalogue: Catalogue, currency: str
) -> Data:
    """Return what was harvested from the first to the last day, by crop and fish, and its worth.

    `worth`: what it costs in the shops, ten-thousandths of the currency; None without a price.
    """
    prices, decimals = harvest_prices(), decimals_of(currency)
    rows = [
        {"kind": row.kind, "crop": row.code, "name": catalogue.name(row.kind, row.code),
         "kg": row.kg, "heads": row.count, "worth": _worth(row, prices, decimals)}
        for row in harvest_of(loop_ids, first, last)
    ]  # fmt: skip
    return {"from": first.isoformat(), "currency": currency, "rows": rows}


def _worth(row: Harvested, prices: Mapping[PriceKey, int], decimals: int) -> int | None:
    """Return what a harvest costs: its mass by the kilogram, by the piece what no kilogram pays for.

    With both prices nothing counts twice: by the piece is then only what nobody weighed.
    """
    a_kg = prices.get((row.kind, row.code, Per.KG)) if row.kg else None
    a_piece = prices.get((row.kind, row.code, Per.PIECE))
    pieces = row.count if a_kg is None else row.unweighed
    parts = []
    if a_kg:
        parts.append(line_total(round(row.kg * QUANTITY), a_kg, 0, decimals))
    if a_piece and pieces:
        parts.append(line_total(pieces * QUANTITY, a_piece, 0, decimals))
    return sum(parts) if parts else None


def photo_data(photo: Photo) -> Data:
    """Return a photo as it is kept: its file, what it shows, when it was taken."""
    return {
        "id": str(photo.pk), "file": photo.small, "caption": photo.caption,
        "on": timezone.localdate(photo.taken_at).isoformat(),
    }  # fmt: skip


def pairs_data(sheet: Sheet, earlier: Sequence[Sheet], held_back: Iterable[str]) -> list[Data]:
    """Return photos of the same thing, before and today: the same caption, or the same finding."""
    own = [row for row in _shown(sheet, held_back) if row[1]]
    if not own or not earlier:
        return []
    before: dict[str, Photo] = {}
    for past in earlier[:MAX_PAIRS]:
        for photo, keys in _shown(past, held_back):
            for key in keys:
                before.setdefault(key, photo)
    found, used = [], set()
    for photo, keys in own:
        other = next((before[key] for key in keys if key in before), None)
        if other is not None and other.pk not in used:
            used.add(other.pk)
            found.append({"before": photo_data(other), "after": photo_data(photo)})
    return found[:MAX_PAIRS]


def _shown(sheet: Sheet, held_back: Iterable[str]) -> list[tuple[Photo, list[str]]]:
    """Return a sheet's photos with what each shows: its caption, the findings that it stands by."""
    held = set(held_back)
    photos = Photo.objects.filter(sheet=sheet).order_by("taken_at", "id")
    keys: dict[str, list[str]] = {
        str(photo.pk): [f"caption:{photo.caption.casefold()}"] if photo.caption else []
        for photo in photos
    }
    for row in Finding.objects.filter(sheet=sheet, corrected_by__isnull=True).exclude(sign=""):
        for pk in row.photo_ids:
            keys.get(str(pk), []).append(f"sign:{row.sign}:{row.component_id or ''}")
    return [(photo, keys[str(photo.pk)]) for photo in photos if str(photo.pk) not in held]
