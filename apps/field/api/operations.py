"""Taking what a phone kept, hearing how it is, and a copy that was carried in by hand."""

import base64
import binascii
import json
from dataclasses import asdict
from typing import Any
from uuid import UUID

from django.core.files.uploadedfile import UploadedFile
from django.utils.dateparse import parse_datetime
from django.utils.translation import gettext as _
from drf_spectacular.utils import extend_schema
from rest_framework.parsers import MultiPartParser
from rest_framework.request import Request
from rest_framework.response import Response

from apps.core.exceptions import DomainError, Invalid
from apps.field.api import shapes
from apps.field.api.base import PhoneOperation, answer
from apps.field.phone.shell import MIN_VERSION
from apps.flows.operation import as_uuid, body_of, only
from apps.flows.phones import operations_take
from apps.visits.models import Phone, Sheet
from apps.visits.services.phones import phone_contact
from apps.visits.services.photos import photo_keep

MOST = 100
COPY_BYTES = 120_000_000


def _rows(body: dict[str, Any], most: int = MOST) -> list[dict[str, Any]]:
    rows = body.get("ops")
    if not isinstance(rows, list) or len(rows) > most or not all(isinstance(r, dict) for r in rows):
        message = _("ops: a list of at most %(most)s operations is needed") % {"most": most}
        raise Invalid([{"pointer": "/ops", "value": None, "message": message}])
    return rows


class Operations(PhoneOperation):
    """Operations."""

    @extend_schema(
        operation_id="phone_operations", request=shapes.OPERATIONS, responses={200: shapes.REPLIES}
    )
    def post(self, request: Request) -> Response:
        """The technician of the visits: take operations one by one; a bad one stops no other."""
        body = body_of(request)
        only(body, ("device", "ops"), ("device", "ops"))
        rows = _rows(body)
        phone = self.phone(as_uuid(body["device"], "/device", "device"))
        replies = operations_take(phone=phone, rows=rows, by=self.actor, at=self.actor.at)
        return answer({"results": [asdict(reply) for reply in replies]})


def _count(body: dict[str, Any], name: str) -> int:
    value = body.get(name, 0)
    if type(value) is not int or not 0 <= value < 2**31:
        message = _("%(name)s: a whole number from 0 is needed") % {"name": name}
        raise Invalid([{"pointer": f"/{name}", "value": None, "message": message}])
    return value


class Contact(PhoneOperation):
    """How a phone is."""

    @extend_schema(
        operation_id="phone_contact", request=shapes.CONTACT, responses={200: shapes.HEARD}
    )
    def post(self, request: Request) -> Response:
        """Staff, of their own phone: what waits there, its version and its clock."""
        body = body_of(request)
        pk = as_uuid(body.get("device"), "/device", "device")
        told = parse_datetime(str(body.get("clock") or "")) if body.get("clock") else None
        oldest = parse_datetime(str(body.get("oldest_at"))) if body.get("oldest_at") else None
        off = int((told - self.actor.at).total_seconds()) if told and told.tzinfo else 0
        said = {
            "pending_ops": _count(body, "pending_ops"),
            "pending_photos": _count(body, "pending_photos"),
            "last_seq": _count(body, "last_seq"),
            "oldest_at": oldest if oldest and oldest.tzinfo else None,
            "version": str(body.get("version") or "")[:40],
            "persisted": body.get("persisted") is True,
            "standalone": body.get("standalone") is True,
            "clock_off_s": max(-(2**31), min(2**31 - 1, off)),
        }
        user: Any = request.user
        phone = phone_contact(pk=pk, user=user, said=said, at=self.actor.at)
        return answer({"cut_off": phone.cut_off_at is not None, "min_version": MIN_VERSION})


def copy_take(upload: Any, operation: PhoneOperation) -> dict[str, Any]:
    """Take in a copy that a phone saved. Raises Invalid for a file that is none."""
    if not isinstance(upload, UploadedFile) or (upload.size or 0) > COPY_BYTES:
        raise _no_copy()
    try:
        body = json.loads(upload.read())
    except (ValueError, UnicodeDecodeError, RecursionError):
        raise _no_copy() from None
    if not isinstance(body, dict) or body.get("kind") != "backyard-phone-copy":
        raise _no_copy()
    device = as_uuid(body.get("device"), "/device", "device")
    actor = operation.actor
    user: Any = operation.request.user
    phone = Phone.objects.visible_to(actor).filter(pk=device).first() or phone_contact(
        pk=device, user=user, at=actor.at
    )
    rows = _rows(body, 20_000)
    replies = operations_take(phone=phone, rows=rows, by=actor, at=actor.at)
    photos = [_photo(row, operation) for row in body.get("photos") or [] if isinstance(row, dict)]
    return {
        "taken": sum(reply.outcome == "applied" for reply in replies),
        "again": sum(reply.outcome in ("again", "same") for reply in replies),
        "late": sum(reply.outcome == "late" for reply in replies),
        "photos": sum(photos),
        "refused": [asdict(reply) for reply in replies if reply.status != "ok"],
        "met": [asdict(reply) for reply in replies if reply.outcome == "conflict"],
    }


def _no_copy() -> Invalid:
    message = _("copy: this is not a copy that a phone saved; choose the file it made")
    return Invalid([{"pointer": "/copy", "value": None, "message": message}])


def _photo(row: dict[str, Any], operation: PhoneOperation) -> bool:
    try:
        pk, sheet_id = UUID(str(row.get("id"))), UUID(str(row.get("sheet")))
        data = base64.b64decode(str(row.get("jpeg")), validate=True)
    except (ValueError, binascii.Error):
        return False
    sheet = Sheet.objects.visible_to(operation.actor).filter(pk=sheet_id).select_related("visit")
    held = sheet.first()
    if held is None:
        return False
    try:
        photo_keep(
            sheet=held, pk=pk, data=data, caption=str(row.get("caption") or "")[:200],
            by=operation.actor, at=operation.actor.at,
        )  # fmt: skip
    except DomainError:
        return False
    return True


class Copy(PhoneOperation):
    """A copy carried in by hand."""

    parser_classes = [MultiPartParser]

    @extend_schema(
        operation_id="phone_copy",
        request={"multipart/form-data": shapes.COPY},
        responses={200: shapes.TAKEN},
    )
    def post(self, request: Request) -> Response:
        """Office: take in the file that a phone saved; what is here already changes nothing."""
        self.office_only()
        form: Any = request.data
        return answer(copy_take(form.get("copy"), self))
