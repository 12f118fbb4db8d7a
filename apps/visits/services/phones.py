"""What the office knows of the technicians' phones, and what could not be taken from them."""

import datetime as dt
from collections.abc import Sequence
from typing import Any
from uuid import UUID

from django.db import transaction
from django.db.models import Max, QuerySet
from django.utils.translation import gettext as _

from apps.accounts.models import User
from apps.accounts.services import audit
from apps.core.exceptions import Forbidden, Invalid
from apps.core.scoping import Actor
from apps.visits.choices import Remark
from apps.visits.models import (
    CheckIn,
    Operation,
    Phone,
    PhoneRemark,
    RefusedOperation,
    Visit,
)
from apps.visits.services.steps import author

DAY = dt.timedelta(days=1)
# a person has a few; a phone brings a few refused answers
NEW_PHONES_A_DAY = 20
REFUSED_A_DAY = 500


def phone_contact(
    *, pk: UUID, user: User, said: dict[str, Any] | None = None, at: dt.datetime
) -> Phone:
    """Note that a phone was heard from, with what it said of itself; a new one is entered.

    Raises Forbidden where somebody enters more new phones in a day than anybody has.
    """
    recent = Phone.objects.filter(user=user, first_at__gt=at - DAY)
    if not Phone.objects.filter(pk=pk).exists() and recent.count() >= NEW_PHONES_A_DAY:
        raise Forbidden(
            _("Too many new phones under this name today; sign out and ask the office.")
        )
    phone, _new = Phone.objects.get_or_create(
        pk=pk, defaults={"user": user, "first_at": at, "last_at": at}
    )
    changes: dict[str, Any] = {"user": user, "last_at": at, **(said or {})}
    Phone.objects.filter(pk=pk).update(**changes)
    for name, value in changes.items():
        setattr(phone, name, value)
    return phone


def phone_is_cut_off(pk: UUID) -> bool:
    """Tell whether the office has cut a phone off."""
    return Phone.objects.filter(pk=pk, cut_off_at__isnull=False).exists()


def phone_admit(pk: UUID) -> None:
    """Raise Forbidden for a phone that the office has cut off."""
    if phone_is_cut_off(pk):
        raise Forbidden(_("The office has cut this phone off; save a copy and bring it in."))


def phone_held_seq(pk: UUID) -> int:
    """Return the highest place in a phone's count that is here, taken or refused.

    Lower than what the phone was answered for: this server was set back to an older copy, and the
    phone sends again.
    """
    own = {"device": str(pk), "seq__isnull": False}
    held = [
        rows.filter(**own).aggregate(most=Max("seq"))["most"]
        for rows in (Operation.objects.all(), RefusedOperation.objects.all())
    ]
    return max((seq for seq in held if seq is not None), default=0)


@transaction.atomic
def phone_cut_off(*, phone: Phone, cut: bool, reason: str, by: Actor, at: dt.datetime) -> Phone:
    """Cut a phone off, or let it in again. Raises Invalid without a reason."""
    if not reason.strip():
        message = "reason: " + _("say why, in a few words")
        raise Invalid([{"pointer": "/reason", "value": reason, "message": message}])
    phone.cut_off_at = at if cut else None
    phone.cut_off_by = author(by) if cut else ""
    phone.save(update_fields=["cut_off_at", "cut_off_by"])
    verb = "cut off" if cut else "let in"
    audit(at=at, by=by, verb=verb, kind="phone", object_id=phone.pk, change={"reason": reason})
    return phone


@transaction.atomic
def refused_keep(
    *, device: str, row: dict[str, Any], why: Sequence[dict[str, Any]], by: str, at: dt.datetime
) -> None:
    """Keep an operation that could not be taken, once for each content, for the office to see.

    So many of one phone a day are kept: what is beyond stays, refused, on the phone alone.
    """
    operation, payload = _storable(str(row.get("id")))[:60], _storable(row)
    held = RefusedOperation.objects.filter(device=device)
    if held.filter(operation=operation, payload=payload).exists():
        return
    if held.filter(received_at__gt=at - DAY).count() >= REFUSED_A_DAY:
        return
    seq = row.get("seq")
    kept = RefusedOperation.objects.create(
        operation=operation, device=device, payload=payload, why=list(why), received_at=at, by=by,
        seq=seq if type(seq) is int and 0 <= seq < 2**53 else None,
    )  # fmt: skip
    PhoneRemark.objects.create(
        kind=Remark.REFUSED, device=device, refused=kept, visit=_visit_named(row), made_at=at
    )


def _storable(value: Any) -> Any:
    """Return a value without NUL, which no database holds in text."""
    if isinstance(value, str):
        return value.replace("\x00", "\ufffd")
    if isinstance(value, list):
        return [_storable(item) for item in value]
    if isinstance(value, dict):
        return {_storable(name): _storable(item) for name, item in value.items()}
    return value


def _visit_named(row: dict[str, Any]) -> Visit | None:
    try:
        return Visit.objects.filter(pk=UUID(str(row.get("visit")))).first()
    except ValueError:
        return None


def late_keep(*, visit: Visit, rows: Sequence[Operation], at: dt.datetime) -> None:
    """Keep answers that came after the end, each once, for the office to see."""
    held = set(
        Operation.objects.filter(pk__in=[row.pk for row in rows]).values_list("pk", flat=True)
    )
    fresh = [row for row in rows if row.pk not in held]
    Operation.objects.bulk_create(fresh)
    PhoneRemark.objects.bulk_create(
        PhoneRemark(
            kind=Remark.LATE, device=row.device, visit=visit, operation=row, made_at=at
        )
        for row in fresh
    )  # fmt: skip


@transaction.atomic
def remarks_seen(*, remarks: QuerySet[PhoneRemark], by: Actor, at: dt.datetime) -> int:
    """Note that somebody has looked at what phones brought; return how many there were."""
    keys = [str(pk) for pk in remarks.filter(seen_at__isnull=True).values_list("pk", flat=True)]
    for pk in keys:
        audit(at=at, by=by, verb="looked at", kind="phone_remark", object_id=pk)
    found = PhoneRemark.objects.filter(pk__in=keys, seen_at__isnull=True)
    return found.update(seen_at=at, seen_by=author(by))


def check_in_set(*, visit: Visit, key: UUID, fine_by: dt.datetime, by: str) -> bool:
    """Note by when somebody says that all is well; False where the key is another visit's."""
    row, made = CheckIn.objects.get_or_create(
        pk=key, defaults={"visit": visit, "by": by, "fine_by": fine_by}
    )
    if not made and row.visit_id == visit.pk:
        CheckIn.objects.filter(pk=key).update(fine_by=fine_by)
    return made or row.visit_id == visit.pk


def check_in_fine(*, check_in: CheckIn, fine_at: dt.datetime) -> bool:
    """Note that all is well; False where that was said before."""
    rows = CheckIn.objects.filter(pk=check_in.pk, fine_at__isnull=True)
    return bool(rows.update(fine_at=fine_at))
