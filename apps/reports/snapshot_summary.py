"""What a summary of a quarter or a year says of a system, frozen like a visit's report."""

import datetime as dt
from collections import Counter
from typing import Any
from uuid import UUID

from django.db.models import Sum
from django.utils import timezone

from apps.accounts.models import Firm
from apps.advice.choices import Close
from apps.advice.models import Advice
from apps.batches.models import Deaths
from apps.batches.selectors import fish_now, plantings_now
from apps.care.models import CarePlan
from apps.catalogue.selectors import Catalogue, catalogue_current
from apps.clients.models import Contact
from apps.incidents.models import Incident
from apps.reports.choices import ReportKind
from apps.reports.snapshot_past import harvest_data, worst_words
from apps.systems.models import System
from apps.visits.besides import supplies_data
from apps.visits.choices import State
from apps.visits.models import Reading, Sheet, Value
from apps.visits.selectors import loops_with_parts, readings_counting
from apps.visits.services.typed import typed_sheets
from apps.visits.shown import order_of, reading_data

TEMPLATE = "2"
Data = dict[str, Any]


def summary_of(
    system: System, first: dt.date, last: dt.date, *, number: int, version: int, firm: Firm,
    contact: Contact | None, at: dt.datetime, note: str = "",
) -> Data:  # fmt: skip
    """Return what the summary of a system from the first to the last day says."""
    catalogue = catalogue_current()
    loops = loops_with_parts([system.pk])
    ids = [loop.pk for loop in loops]
    sheets = _sheets(system, first, last)
    return {
        "template": TEMPLATE, "kind": ReportKind.SUMMARY, "paper": firm.paper, "note": note,
        "language": contact.language if contact else firm.language,
        "units": contact.units if contact else "metric",
        "time_zone": firm.time_zone, "number": number, "version": version, "reason": "",
        "firm": {"name": firm.name, "street": firm.street, "town": firm.town, "phone": firm.phone,
                 "emergency_phone": firm.emergency_phone, "email": firm.email},
        "client": system.place.client.name,
        "place": {"name": system.place.name, "address": system.place.address},
        "system": {"id": str(system.pk), "name": system.name, "kind": system.kind},
        "period": {"from": first.isoformat(), "to": last.isoformat()},
        "visit": {"id": None, "started": at.isoformat(), "finished": at.isoformat(),
                  "technicians": [], "reason": ""},
        "visits": _visits(sheets),
        "agreed": CarePlan.objects.filter(system=system).values_list(
            "visits_a_year", flat=True).first(),
        "readings": _readings(ids, first, last, catalogue),
        "sketch": [{"id": str(loop.pk), "kind": loop.kind, "components": []} for loop in loops],
        "advice": _advice(system, first, last),
        "incidents": _incidents(system, first, last),
        "deaths": _deaths(ids, first, last),
        "fish": [
            {"name": catalogue.name("species", row.batch.species_code), "count": row.count,
             "mean_g": round(row.mean_g, 1), "weighed_on": row.weighed_on.isoformat()}
            for row in fish_now(ids, last)
        ],
        "plants": [
            {"name": catalogue.name("crops", row.crop_code), "count": row.count}
            for row in plantings_now(ids, last)
        ],
        "harvest": harvest_data(ids, first, last, catalogue, firm.currency),
        "supplies": _supplies(sheets),
        "findings": [], "derived": [], "holds": [],
    }  # fmt: skip


def _sheets(system: System, first: dt.date, last: dt.date) -> list[Sheet]:
    """Return the sheets that were written up within the days, newest first."""
    zone = timezone.get_current_timezone()
    begin = dt.datetime.combine(first, dt.time(), zone)
    end = dt.datetime.combine(last + dt.timedelta(days=1), dt.time(), zone)
    rows = Sheet.objects.filter(
        system=system, visit__state__in=(State.WRITTEN_UP, State.REPORTED),
        visit__start__gte=begin, visit__start__lt=end,
    )  # fmt: skip
    return list(rows.select_related("visit").order_by("-visit__start", "pk"))


def _visits(sheets: list[Sheet]) -> list[Data]:
    return [
        {"on": (row.visit.finished_at or row.visit.end).isoformat(), "word": word,
         "reason": row.visit.reason}
        for row, word in zip(reversed(sheets), reversed(worst_words(sheets)), strict=True)
    ]  # fmt: skip


def _readings(ids: list[UUID], first: dt.date, last: dt.date, catalogue: Catalogue) -> list[Data]:
    """Return the last reading of each measurand with the first of the time, and all between."""
    rows: dict[tuple[UUID, str], list[Reading]] = {}
    found = readings_counting().filter(
        loop_id__in=ids, trusted=True, taken_at__date__gte=first, taken_at__date__lte=last
    )
    for row in found.exclude(band={}).order_by("taken_at", "id"):
        rows.setdefault((row.loop_id, row.measurand), []).append(row)
    data = []
    for series in rows.values():
        one = reading_data(
            series[-1], series[0] if len(series) > 1 else None, series[-30:], catalogue
        )
        words = Counter(row.word for row in series)
        data.append(one | {"words": dict(sorted(words.items())), "count": len(series)})
    places = {str(pk): index for index, pk in enumerate(ids)}
    return sorted(data, key=lambda row: (places[row["loop"]], order_of(row["measurand"])))


def _advice(system: System, first: dt.date, last: dt.date) -> Data:
    rows = Advice.objects.filter(
        system=system, made_at__date__gte=first, made_at__date__lte=last
    ).exclude(decision="strike")
    return {"given": rows.count(), "done": rows.filter(closed_as=Close.DONE).count()}


def _incidents(system: System, first: dt.date, last: dt.date) -> list[Data]:
    rows = Incident.objects.filter(
        system=system, opened_at__date__gte=first, opened_at__date__lte=last
    )
    return [
        {"on": row.opened_at.isoformat(), "kind": row.kind, "cause": row.cause,
         "cause_words": row.cause_words, "outcome": row.outcome, "fish_lost": row.fish_lost}
        for row in rows.order_by("opened_at", "id")
    ]  # fmt: skip


def _deaths(ids: list[UUID], first: dt.date, last: dt.date) -> int:
    rows = Deaths.objects.filter(batch__loop_id__in=ids, on__gte=first, on__lte=last)
    return rows.aggregate(Sum("count"))["count__sum"] or 0


def _supplies(sheets: list[Sheet]) -> list[Data]:
    """Return what was used, summed by item and unit."""
    keys = [row.pk for row in sheets]
    sums: dict[tuple[str, str], float] = {}
    typed = typed_sheets(Value.objects.filter(sheet_id__in=keys, path__startswith="supplies/"))
    for sheet in typed.values():
        for row in supplies_data(sheet):
            key = (row["item"], row["unit"])
            sums[key] = sums.get(key, 0.0) + (row["amount"] or 0.0)
    return [
        {"item": item, "unit": unit, "amount": amount or None}
        for (item, unit), amount in sorted(sums.items())
    ]
