"""What the office knows of the technicians' phones, and what could not be taken from them."""

import datetime as dt
from collections.abc import Sequence
from typing import Any
from uuid import UUID

from django.db import transaction
from django.db.models import QuerySet
from django.utils.translation import gettext as _

from apps.accounts.models import User
from apps.accounts.services import audit
from apps.core.exceptions import Forbidden
from apps.core.scoping import Actor
from apps.visits.models import CheckIn, Phone, RefusedOperation, Visit
from apps.visits.services.steps import author

# below this a phone's clock is taken as right
CLOCK_SLACK_S = 120


def phone_contact(
    *, pk: UUID, user: User, said: dict[str, Any] | None = None, at: dt.datetime
) -> Phone:
    """Note that a phone was heard from, with what it said of itself; a new one is entered.

    Raises Forbidden for a phone that the office has cut off.
    """
    phone, _new = Phone.objects.get_or_create(
        pk=pk, defaults={"user": user, "first_at": at, "last_at": at}
    )
    changes: dict[str, Any] = {"user": user, "last_at": at, **(said or {})}
    Phone.objects.filter(pk=pk).update(**changes)
    for name, value in changes.items():
        setattr(phone, name, value)
    return phone


def phone_admit(phone: Phone) -> None:
    """Raise Forbidden for a phone that the office has cut off."""
    if phone.cut_off_at is not None:
        raise Forbidden(_("The office has cut this phone off; save a copy and bring it in."))


def phone_is_cut_off(pk: UUID) -> bool:
    """Tell whether the office has cut a phone off."""
    return Phone.objects.filter(pk=pk, cut_off_at__isnull=False).exists()


@transaction.atomic
def phone_cut_off(*, phone: Phone, cut: bool, by: Actor, at: dt.datetime) -> Phone:
    """Cut a phone off, or let it in again."""
    phone.cut_off_at = at if cut else None
    phone.cut_off_by = author(by) if cut else ""
    phone.save(update_fields=["cut_off_at", "cut_off_by"])
    verb = "cut off" if cut else "let in"
    audit(at=at, by=by, verb=verb, kind="phone", object_id=phone.pk)
    return phone


def refused_keep(
    *, device: str, row: dict[str, Any], why: Sequence[dict[str, Any]], by: str, at: dt.datetime
) -> None:
    """Keep an operation that could not be taken, once for each content."""
    operation = str(row.get("id"))[:60]
    held = RefusedOperation.objects.filter(device=device, operation=operation)
    if any(item.payload == row for item in held):
        return
    seq = row.get("seq")
    RefusedOperation.objects.create(
        operation=operation, device=device, payload=row, why=list(why), received_at=at, by=by,
        seq=seq if isinstance(seq, int) and 0 <= seq < 2**53 else None,
    )  # fmt: skip


def check_in(*, visit: Visit, key: UUID, leaf: str, moment: dt.datetime, by: str) -> None:
    """Note by when somebody says that all is well, or that they have said so."""
    if leaf == "fine_by":
        CheckIn.objects.update_or_create(
            pk=key, defaults={"visit": visit, "by": by, "fine_by": moment}
        )
    else:
        CheckIn.objects.filter(pk=key, visit=visit).update(fine_at=moment)


def check_ins_late(at: dt.datetime) -> QuerySet[CheckIn]:
    """Return the check-ins that nobody has answered in time."""
    return CheckIn.objects.filter(fine_at__isnull=True, fine_by__lt=at).select_related(
        "visit__place__client"
    )
