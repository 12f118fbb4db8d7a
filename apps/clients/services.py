"""Changes of clients, contacts and places."""

import datetime as dt
from typing import Any

from django.db import transaction
from django.db.models import F, Model
from django.utils.translation import gettext as _

from apps.accounts.services import audit
from apps.clients.models import Client, Contact, Place, SourceWater, VisitingHours
from apps.core.exceptions import StaleVersion
from apps.core.scoping import Actor


@transaction.atomic
def row_save(
    *, row: Client | Contact | Place | SourceWater, by: Actor, at: dt.datetime
) -> Client | Contact | Place | SourceWater:
    """Store a new client, contact, place or water measurement after checking it."""
    row.full_clean()
    row.save()
    audit(at=at, by=by, verb="made", kind=row._meta.model_name or "", object_id=row.pk)
    return row


@transaction.atomic
def row_change(
    *, row: Client | Place, changes: dict[str, Any], rev: int, by: Actor, at: dt.datetime
) -> Client | Place:
    """Change a client or a place based on a version of it. Raises StaleVersion."""
    for name, value in changes.items():
        setattr(row, name, value)
    row.full_clean()
    model: type[Model] = type(row)
    if not model._default_manager.filter(pk=row.pk, rev=rev).update(**changes, rev=F("rev") + 1):
        raise StaleVersion(_("Somebody else changed this; read it again."))
    audit(
        at=at, by=by, verb="changed", kind=row._meta.model_name or "", object_id=row.pk,
        change={name: str(value) for name, value in changes.items()},
    )  # fmt: skip
    row.refresh_from_db()
    return row


@transaction.atomic
def contact_change(
    *, contact: Contact, changes: dict[str, Any], by: Actor, at: dt.datetime
) -> Contact:
    """Change a contact."""
    for name, value in changes.items():
        setattr(contact, name, value)
    contact.full_clean()
    contact.save(update_fields=list(changes))
    audit(at=at, by=by, verb="changed", kind="contact", object_id=contact.pk)
    return contact


@transaction.atomic
def hours_set(
    *,
    place: Place,
    hours: list[tuple[int, dt.time, dt.time]],
    by: Actor,
    at: dt.datetime,
) -> None:
    """Replace the hours at which someone may come to a place."""
    place.hours.all().delete()
    for weekday, opens, closes in hours:
        row = VisitingHours(place=place, weekday=weekday, opens=opens, closes=closes)
        row.full_clean()
        row.save()
    audit(at=at, by=by, verb="set hours", kind="place", object_id=place.pk)
