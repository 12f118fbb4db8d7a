"""Reads of this app."""

import datetime as dt
from collections.abc import Iterable
from uuid import UUID

from apps.clients.models import Contact, SourceWater


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
