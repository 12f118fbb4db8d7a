"""Photos in pieces, each from where the last one stopped."""

from typing import Any
from uuid import UUID

from django.utils.translation import gettext as _
from drf_spectacular.utils import OpenApiParameter, extend_schema
from rest_framework.parsers import BaseParser
from rest_framework.request import Request
from rest_framework.response import Response

from apps.clients.services import photos_admit
from apps.core.exceptions import Conflict, Invalid
from apps.field.api import shapes
from apps.field.api.base import PhoneOperation, answer
from apps.flows.operation import as_uuid, found
from apps.flows.phone_parts import told
from apps.visits.models import Photo, Sheet
from apps.visits.services import uploads
from apps.visits.services.photos import photo_keep

QUERY = [
    OpenApiParameter("visit", UUID), OpenApiParameter("sheet", UUID),
    OpenApiParameter("caption", str), OpenApiParameter("taken_at", str),
]  # fmt: skip
HEADERS = [
    OpenApiParameter("Upload-Offset", int, OpenApiParameter.HEADER, required=True),
    OpenApiParameter("Upload-Length", int, OpenApiParameter.HEADER, required=True),
    OpenApiParameter("X-Sha256", str, OpenApiParameter.HEADER, required=True),
]


class Bytes(BaseParser):
    """Takes a body as it is."""

    media_type = "application/octet-stream"

    def parse(self, stream: Any, media_type: Any = None, parser_context: Any = None) -> Any:
        """Return the body, one chunk at most."""
        return bytes(stream.read(uploads.CHUNK + 1))


def _body(request: Request) -> bytes:
    data: Any = request.data
    return data if isinstance(data, bytes) else b""


def _number(request: Request, name: str) -> int:
    text = request.headers.get(name, "")
    if not text.isascii() or not text.isdigit() or len(text) > 9:
        message = _("%(name)s: a whole number is needed in the header") % {"name": name}
        raise Invalid([{"pointer": f"/{name}", "value": text, "message": message}])
    return int(text)


class Upload(PhoneOperation):
    """One photo on its way."""

    parser_classes = [Bytes]
    filters = frozenset({"visit", "sheet", "caption", "taken_at"})

    @extend_schema(
        operation_id="phone_photo_state",
        responses={200: shapes.UPLOAD},
        examples=shapes.UPLOAD_EXAMPLES,
    )
    def get(self, request: Request, pk: UUID) -> Response:
        """Staff: how much of a photo is here."""
        done = Photo.objects.visible_to(self.actor).filter(pk=pk).exists()
        owner = str(self.actor.user_id)
        return answer({"offset": 0 if done else uploads.offset_of(owner, pk), "done": done})

    @extend_schema(
        operation_id="phone_photo_piece",
        parameters=[*QUERY, *HEADERS],
        request={"application/octet-stream": {"type": "string", "format": "binary"}},
        responses={200: shapes.UPLOAD},
        examples=shapes.UPLOAD_EXAMPLES,
    )
    def patch(self, request: Request, pk: UUID) -> Response:
        """The technician of the visit, or the office: the next piece of a photo.

        409 holds the true `offset` where the piece does not follow the last one; 422 of the type
        urn:backyard:hash says that the whole was damaged: it starts again at 0.
        """
        query = request.query_params
        sheets = Sheet.objects.visible_to(self.actor).select_related("visit__place__client")
        sheet = found(sheets, as_uuid(query.get("sheet"), "/sheet", "sheet"))
        if Photo.objects.visible_to(self.actor).filter(pk=pk, sheet=sheet).exists():
            return answer({"offset": 0, "done": True})
        self._admitted(sheet, pk)
        whole = uploads.piece_add(
            owner=str(self.actor.user_id), key=pk, data=_body(request),
            offset=_number(request, "Upload-Offset"), length=_number(request, "Upload-Length"),
            sha256=request.headers.get("X-Sha256", ""),
        )  # fmt: skip
        if whole is None:
            offset = uploads.offset_of(str(self.actor.user_id), pk)
            return answer({"offset": offset, "done": False})
        taken = told(query.get("taken_at"))
        photo_keep(
            sheet=sheet, pk=pk, data=whole, caption=str(query.get("caption") or ""),
            by=self.actor, at=taken if taken and taken <= self.actor.at else self.actor.at,
        )  # fmt: skip
        uploads.forget(str(self.actor.user_id), pk)
        return answer({"offset": len(whole), "done": True})

    def _admitted(self, sheet: Sheet, pk: UUID) -> None:
        """Raise Conflict where a client wants no photos; what came of one before they said so goes."""
        try:
            photos_admit(sheet.visit.place.client)
        except Conflict:
            uploads.forget(str(self.actor.user_id), pk)
            raise
