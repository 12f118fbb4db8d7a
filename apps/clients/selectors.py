"""Reads of this app."""

import datetime as dt
from uuid import UUID

from apps.clients.models import Contact, Place, SourceWater


def letter_contacts(client_id: UUID) -> list[Contact]:
    """Return the contacts of a client who get letters."""
    return list(Contact.objects.filter(client_id=client_id, gets_letters=True).order_by("name"))


def source_water(place: Place, on: dt.date) -> SourceWater | None:
    """Return the last measurement of a place's source water on or before a day."""
    return SourceWater.objects.filter(place=place, on__lte=on).order_by("-on").first()
