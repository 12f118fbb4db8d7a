"""Changes of clients, contacts and places."""

import datetime as dt
from collections.abc import Sequence
from dataclasses import asdict
from typing import Any

from django.db import IntegrityError, transaction
from django.db.models import F, Model
from django.utils import timezone
from django.utils.translation import gettext as _

from apps.accounts.services import audit
from apps.calc.climate_months import Month
from apps.clients.choices import PHOTO_WORDS, PhotoUse
from apps.clients.climate import MONTHS, faults_of
from apps.clients.models import (
    Client,
    Climate,
    ClimateMonth,
    Contact,
    Place,
    SourceWater,
    VisitingHours,
)
from apps.core.exceptions import Conflict, Invalid, StaleVersion
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
def photos_set(
    *, client: Client, use: str, how: str, rev: int, by: Actor, at: dt.datetime
) -> Client:
    """Note what a client allows of photos, and how they said so, based on a version of the client.

    Raises ValidationError, and StaleVersion where somebody else noted something meanwhile.
    """
    client.photos, client.photos_how = use, how.strip()
    client.photos_on, client.photos_by = (
        timezone.localdate(at),
        f"{by.role}:{by.user_id or by.reason}",
    )
    if use == PhotoUse.UNKNOWN:
        client.photos_on, client.photos_by, client.photos_how = None, "", ""
    names = ["photos", "photos_on", "photos_by", "photos_how"]
    client.full_clean()
    values = {name: getattr(client, name) for name in names}
    if not Client.objects.filter(pk=client.pk, rev=rev).update(**values, rev=F("rev") + 1):
        raise StaleVersion(_("Somebody else changed this; read it again."))
    audit(at=at, by=by, verb="noted photos", kind="client", object_id=client.pk,
          change={"photos": use, "how": client.photos_how})  # fmt: skip
    client.refresh_from_db()
    return client


def photos_admit(client: Client) -> None:
    """Raise Conflict where a client wants no photos."""
    if client.photos == PhotoUse.NO:
        raise Conflict(str(PHOTO_WORDS[PhotoUse.NO]), "no_photos")


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


@transaction.atomic
def climate_set(
    *,
    place: Place | None,
    months: Sequence[Month],
    source: str,
    rev: int | None,
    by: Actor,
    at: dt.datetime,
) -> Climate:
    """Put climate normals, January to December, in the place of those of a place or of the firm.

    `rev`: of those that the change is based on, None where there are none yet. Raises Invalid
    naming month and figure, and StaleVersion.
    """
    _months_check(months)
    row = Climate.objects.select_for_update().filter(**_whose(place)).first()
    if (row.rev if row else None) != rev:
        raise StaleVersion(_("Somebody else changed this; read it again."))
    if row is None:
        row = Climate(place=place, whole_firm=place is None, source=source)
        row.full_clean()
        _first(row)
    else:
        row.source, row.rev = source, row.rev + 1
        row.full_clean()
        row.save(update_fields=["source", "rev"])
    row.months.all().delete()
    ClimateMonth.objects.bulk_create(
        ClimateMonth(climate=row, month=number, **asdict(month))
        for number, month in enumerate(months, start=1)
    )
    audit(
        at=at, by=by, verb="set climate", kind="climate", object_id=row.pk,
        change={"months": [asdict(month) for month in months], "source": source},
    )  # fmt: skip
    return row


def _first(row: Climate) -> None:
    """Store the first ones. Raises StaleVersion where somebody else was quicker just now."""
    try:
        with transaction.atomic():
            row.save()
    except IntegrityError:
        raise StaleVersion(_("Somebody else changed this; read it again.")) from None


def _whose(place: Place | None) -> dict[str, Any]:
    return {"whole_firm": True} if place is None else {"place": place}


def _months_check(months: Sequence[Month]) -> None:
    if len(months) != MONTHS:
        message = _("Twelve months are needed, January to December, not %(count)s.")
        raise Invalid([
            {"pointer": "/months", "value": None, "message": message % {"count": len(months)}}
        ])  # fmt: skip
    faults = faults_of(months)
    if faults:
        raise Invalid([
            {"pointer": f"/months/{fault.month}/{fault.field}",
             "value": getattr(months[fault.month], fault.field),
             "message": f"{fault.field}: {fault.message}"}
            for fault in faults
        ])  # fmt: skip


@transaction.atomic
def climate_remove(*, climate: Climate, by: Actor, at: dt.datetime) -> None:
    """Take climate normals away: what they were stays in the audit."""
    audit(at=at, by=by, verb="removed", kind="climate", object_id=climate.pk)
    climate.delete()
