"""Reads of this app."""

import datetime as dt
from collections.abc import Iterable
from typing import Any
from uuid import UUID

from django.db.models import Max, Q

from apps.calc.climate_months import FIELDS, Month
from apps.clients.models import (
    Climate,
    ClimateMonth,
    Contact,
    PastClients,
    Place,
    SourceWater,
    TimeAway,
)


def numbers_gone(column: str) -> int:
    """Return the highest number that went with an erased client: `last_report` or `last_proposal`."""
    return PastClients.objects.aggregate(most=Max(column))["most"] or 0


FEWEST = 5


def past_clients() -> list[dict[str, Any]]:
    """Return the sums of erased clients by year; years of fewer than five stand together.

    What is left at the end stands with `few`: so few that it is better not repeated.
    """
    shown: list[dict[str, Any]] = []
    open_row: dict[str, Any] = {}
    for row in PastClients.objects.order_by("year"):
        first = open_row.get("first", row.year)
        open_row = (
            {"first": first, "last": row.year}
            | {name: open_row.get(name, 0) + getattr(row, name) for name in SUMS}
            | {"systems": _together(open_row.get("systems", {}), row.systems)}
        )
        if open_row["clients"] >= FEWEST:
            shown.append(open_row)
            open_row = {}
    return [*shown, open_row | {"few": True}] if open_row else shown


SUMS = ("clients", "years", "visits", "reports", "readings")


def _together(one: dict[str, int], other: dict[str, int]) -> dict[str, int]:
    return {kind: one.get(kind, 0) + other.get(kind, 0) for kind in sorted({*one, *other})}


def letter_contacts(client_id: UUID) -> list[Contact]:
    """Return the contacts of a client who get letters."""
    return list(Contact.objects.filter(client_id=client_id, gets_letters=True).order_by("name"))


def text_contacts(client_id: UUID) -> list[Contact]:
    """Return the contacts of a client who get text messages."""
    return list(Contact.objects.filter(client_id=client_id, gets_texts=True).order_by("name"))


def clients_with_letters(client_ids: Iterable[UUID]) -> set[UUID]:
    """Return the clients of whom somebody gets letters: one query."""
    rows = Contact.objects.filter(client_id__in=set(client_ids), gets_letters=True)
    return set(rows.values_list("client_id", flat=True))


def source_waters(places: Iterable[UUID], on: dt.date) -> dict[UUID, SourceWater]:
    """Return the last measurement of places' source water on or before a day: one query."""
    rows = SourceWater.objects.filter(place__in=set(places), on__lte=on).order_by("on")
    return {row.place_id: row for row in rows}


def months_of(climate: Climate) -> tuple[Month, ...]:
    """Return the months of climate normals, January first: one query."""
    return tuple(_month(row) for row in climate.months.order_by("month"))


def _month(row: ClimateMonth) -> Month:
    return Month(**{name: getattr(row, name) for name in FIELDS})


def climates(places: Iterable[UUID]) -> dict[UUID | None, tuple[Month, ...]]:
    """Return the normals of those places that have their own, under None the firm's: one query."""
    rows = ClimateMonth.objects.filter(
        Q(climate__place__in=set(places)) | Q(climate__whole_firm=True)
    )
    found: dict[UUID | None, list[Month]] = {}
    for row in rows.select_related("climate").order_by("month"):
        found.setdefault(row.climate.place_id, []).append(_month(row))
    return {place: tuple(months) for place, months in found.items()}


def times_away(places: Iterable[UUID], first: dt.date, last: dt.date) -> list[TimeAway]:
    """Return the times away of places that meet the days from first to last, soonest first: one query."""
    rows = TimeAway.objects.filter(
        place__in=set(places), withdrawn_at__isnull=True, first__lte=last, last__gte=first
    )
    return list(rows.order_by("first", "pk"))


def days_kept_out(place_id: UUID, first: dt.date, last: dt.date) -> set[dt.date]:
    """Return the days of a span on which a household is away and nobody may come in: one query."""
    return {
        day
        for row in times_away([place_id], first, last)
        if not row.may_come
        for day in days_of(row)
        if first <= day <= last
    }


def days_of(row: TimeAway) -> list[dt.date]:
    """Return the days of a time away, both ends included."""
    return [row.first + dt.timedelta(days=n) for n in range((row.last - row.first).days + 1)]


def lets_in(place: Place, on: dt.date) -> bool:
    """Return whether somebody may come in on a day; no query where `times_away` was prefetched."""
    return not any(
        row.withdrawn_at is None and not row.may_come and row.first <= on <= row.last
        for row in place.times_away.all()
    )
