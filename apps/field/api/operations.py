"""Taking what a phone kept, hearing how it is, and a copy that was carried in by hand."""

from dataclasses import asdict
from typing import Any

from django.utils.translation import gettext as _
from drf_spectacular.utils import extend_schema
from rest_framework.parsers import MultiPartParser
from rest_framework.request import Request
from rest_framework.response import Response

from apps.core.exceptions import Invalid
from apps.field.api import shapes
from apps.field.api.base import PhoneOperation, answer
from apps.field.phone.shell import MIN_VERSION
from apps.flows.operation import as_uuid, body_of, only
from apps.flows.phone_copy import copy_take
from apps.flows.phone_parts import told
from apps.flows.phones import operations_take
from apps.visits.services.phones import phone_contact

MOST = 100
SAYS = (
    "device", "pending_ops", "pending_photos", "last_seq", "oldest_at", "version", "persisted",
    "standalone", "clock", "zone",
)  # fmt: skip


def _rows(body: dict[str, Any]) -> list[dict[str, Any]]:
    rows = body.get("ops")
    if not isinstance(rows, list) or len(rows) > MOST or not all(isinstance(r, dict) for r in rows):
        message = _("a list of at most %(most)s operations is needed") % {"most": MOST}
        raise Invalid([{"pointer": "/ops", "value": None, "message": f"ops: {message}"}])
    return rows


class Operations(PhoneOperation):
    """Operations."""

    @extend_schema(
        operation_id="phone_operations",
        request=shapes.OPERATIONS,
        responses={200: shapes.REPLIES},
        examples=shapes.OPERATION_EXAMPLES,
    )
    def post(self, request: Request) -> Response:
        """The technician of the visits: take operations one by one; a bad one stops no other.

        Sending an operation again is harmless: its id and its content give the same answer.
        """
        body = body_of(request)
        only(body, ("device", "ops"), ("device", "ops"))
        rows = _rows(body)
        phone = self.phone(as_uuid(body["device"], "/device", "device"))
        replies = operations_take(phone=phone, rows=rows, by=self.actor, at=self.actor.at)
        return answer({"results": [asdict(reply) for reply in replies]})


def _count(body: dict[str, Any], name: str, top: int = 2**31) -> int:
    value = body.get(name, 0)
    if type(value) is not int or not 0 <= value < top:
        message = f"{name}: " + _("a whole number from 0 is needed")
        raise Invalid([{"pointer": f"/{name}", "value": None, "message": message}])
    return value


class Contact(PhoneOperation):
    """How a phone is."""

    # a phone that was cut off is told so, and the office sees that it is about
    open_when_cut_off = True

    @extend_schema(
        operation_id="phone_contact",
        request=shapes.CONTACT,
        responses={200: shapes.HEARD},
        examples=shapes.CONTACT_EXAMPLES,
    )
    def post(self, request: Request) -> Response:
        """Staff, of their own phone: what waits there, its version and its clock."""
        body = body_of(request)
        only(body, SAYS, ("device",))
        pk = as_uuid(body["device"], "/device", "device")
        if self.elsewhere(pk):
            # another mark under the same sign-in lets no phone in again
            return answer({"cut_off": True, "min_version": MIN_VERSION})
        clock = told(body.get("clock"))
        off = int((clock - self.actor.at).total_seconds()) if clock else 0
        said = {
            "pending_ops": _count(body, "pending_ops"),
            "pending_photos": _count(body, "pending_photos"),
            "last_seq": _count(body, "last_seq", 2**53),
            "oldest_at": told(body.get("oldest_at")),
            "version": str(body.get("version") or "").replace("\x00", "")[:40],
            "persisted": body.get("persisted") is True,
            "standalone": body.get("standalone") is True,
            "clock_off_s": max(-(2**31), min(2**31 - 1, off)),
        }
        user: Any = request.user
        phone = phone_contact(pk=pk, user=user, said=said, at=self.actor.at)
        self.remember(pk)
        return answer({"cut_off": phone.cut_off_at is not None, "min_version": MIN_VERSION})


class Copy(PhoneOperation):
    """A copy carried in by hand."""

    parser_classes = [MultiPartParser]

    @extend_schema(
        operation_id="phone_copy",
        request={"multipart/form-data": shapes.COPY},
        responses={200: shapes.TAKEN},
        examples=shapes.COPY_EXAMPLES,
    )
    def post(self, request: Request) -> Response:
        """Office: take in the file that a phone saved; what is here already changes nothing."""
        by = self.office_only()
        form: Any = request.data
        user: Any = request.user
        return answer(copy_take(upload=form.get("copy"), user=user, by=by, at=by.at))
