"""A copy that a phone saved, carried in by hand: the same operations, the same rules."""

import base64
import binascii
import datetime as dt
import hashlib
from dataclasses import asdict
from typing import Any
from uuid import UUID

from django.core.files.uploadedfile import UploadedFile
from django.utils.translation import gettext as _

from apps.accounts.models import User
from apps.accounts.services import audit
from apps.core.exceptions import DomainError, Invalid
from apps.core.parsers import strict_loads
from apps.core.scoping import Actor
from apps.flows.on_the_way import NOBODY, TOLD, TOO_LATE
from apps.flows.phone_parts import told
from apps.flows.phones import operations_take
from apps.visits.models import Phone, Sheet
from apps.visits.services.phones import phone_contact
from apps.visits.services.photos import photo_keep

KIND = "backyard-phone-copy"
MOST_BYTES = 120_000_000
MOST_OPS = 20_000
MOST_PHOTOS = 1_000


def copy_take(*, upload: Any, user: User, by: Actor, at: dt.datetime) -> dict[str, Any]:
    """Take in a copy; what is here already changes nothing. Raises Invalid for a file that is none.

    Returns how many answers were taken, were here before, came late; how many photos; which
    operations and photos were refused and which met another answer.
    """
    body = _read(upload)
    phone = _phone(body, user, at)
    # photos first: the end of a visit waits for them
    photos = [_photo(row, by, at) for row in body["photos"]]
    replies = operations_take(phone=phone, rows=body["ops"], by=by, at=at)
    came = {
        "taken": sum(reply.outcome in ("applied", TOLD, TOO_LATE, NOBODY) for reply in replies),
        "again": sum(reply.outcome in ("again", "same") for reply in replies),
        "late": sum(reply.outcome == "late" for reply in replies),
        "waiting": sum(reply.outcome == "waiting" for reply in replies),
        "photos": sum(not why for _key, why in photos),
    }
    audit(at=at, by=by, verb="took in a copy", kind="phone", object_id=phone.pk, change=came)
    return {
        **came,
        "photos_refused": [{"id": key, "why": why} for key, why in photos if why],
        "refused": [asdict(reply) for reply in replies if reply.status != "ok"],
        "met": [asdict(reply) for reply in replies if reply.outcome == "conflict"],
    }


def _read(upload: Any) -> dict[str, Any]:
    if not isinstance(upload, UploadedFile) or (upload.size or 0) > MOST_BYTES:
        raise _none()
    try:
        body = strict_loads(upload.read().decode("utf-8"))
    except (ValueError, RecursionError):
        raise _none() from None
    if not isinstance(body, dict) or body.get("kind") != KIND:
        raise _none()
    for name, most in (("ops", MOST_OPS), ("photos", MOST_PHOTOS)):
        rows = body.setdefault(name, [])
        whole = isinstance(rows, list) and len(rows) <= most
        if not whole or not all(isinstance(row, dict) for row in rows):
            raise _none()
    return body


def _none() -> Invalid:
    message = "copy: " + _("this is not a copy that a phone saved; choose the file it made")
    return Invalid([{"pointer": "/copy", "value": None, "message": message}])


def _phone(body: dict[str, Any], user: User, at: dt.datetime) -> Phone:
    try:
        device = UUID(str(body.get("device")))
    except ValueError:
        raise _none() from None
    held = Phone.objects.filter(pk=device).select_related("user").first()
    if held is not None:
        return held
    try:
        owner = User.objects.filter(pk=UUID(str(body.get("user")))).first()
    except ValueError:
        owner = None
    return phone_contact(pk=device, user=owner or user, at=at)


def _photo(row: dict[str, Any], by: Actor, at: dt.datetime) -> tuple[str, str]:
    """Keep one photo; return its key and why it could not be kept, empty where it was."""
    name = str(row.get("id"))[:60]
    try:
        pk, sheet_id = UUID(str(row.get("id"))), UUID(str(row.get("sheet")))
        data = base64.b64decode(str(row.get("jpeg")), validate=True)
    except (ValueError, binascii.Error):
        return name, _("it cannot be read")
    sha256 = row.get("sha256")
    if sha256 and hashlib.sha256(data).hexdigest() != str(sha256).lower():
        return name, _("it was damaged")
    sheet = Sheet.objects.visible_to(by).filter(pk=sheet_id).select_related("visit").first()
    if sheet is None:
        return name, _("its visit is not known here")
    taken = told(row.get("taken_at"))
    try:
        photo_keep(
            sheet=sheet, pk=pk, data=data, caption=str(row.get("caption") or "")[:200], by=by,
            at=taken if taken and taken <= at else at,
        )  # fmt: skip
    except DomainError as error:
        return name, error.message
    return name, ""
