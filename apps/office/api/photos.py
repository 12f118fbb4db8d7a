"""Photos of a sheet."""

from typing import Any
from uuid import UUID

from django.core.files.uploadedfile import UploadedFile
from django.http import HttpResponse
from django.utils.translation import gettext as _
from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import OpenApiParameter, extend_schema
from rest_framework.parsers import MultiPartParser
from rest_framework.request import Request
from rest_framework.response import Response

from apps.core import files
from apps.core.exceptions import Invalid
from apps.flows.operation import Operation, as_uuid, found
from apps.office.api import schemas
from apps.visits.models import Photo, Visit
from apps.visits.services.photos import photo_keep


class Photos(Operation):
    """Uploads."""

    parser_classes = [MultiPartParser]

    @extend_schema(
        operation_id="photo_add",
        request={
            "multipart/form-data": schemas.shape(
                {"id": schemas.ID, "sheet": schemas.ID,
                 "photo": {"type": "string", "format": "binary"}}, {"caption": schemas.TEXT},
            )
        },
        responses={201: schemas.PHOTO},
    )  # fmt: skip
    def post(self, request: Request, pk: UUID) -> Response:
        """The technician of the visit, or the office: JPEG, PNG or WebP up to 15 MB."""
        visit = found(Visit.objects.visible_to(self.actor), pk)
        form: Any = request.data
        sheet_id = as_uuid(form.get("sheet"), "/sheet", "sheet")
        sheet = visit.sheets.filter(pk=sheet_id).first()
        if sheet is None:
            message = "sheet: " + _("not part of this visit")
            raise Invalid([{"pointer": "/sheet", "value": str(sheet_id), "message": message}])
        sheet.visit = visit
        upload = form.get("photo")
        if not isinstance(upload, UploadedFile):
            message = "photo: " + _("a file is needed")
            raise Invalid([{"pointer": "/photo", "value": None, "message": message}])
        photo = photo_keep(
            sheet=sheet, pk=as_uuid(form.get("id"), "/id", "id"), data=upload.read(),
            caption=str(form.get("caption") or ""), by=self.actor, at=self.actor.at,
        )  # fmt: skip
        body = {
            "id": str(photo.pk), "width": photo.width, "height": photo.height,
            "sha256": photo.sha256,
        }  # fmt: skip
        return Response(body, status=201)


class OnePhoto(Operation):
    """A photo's picture."""

    filters = frozenset({"size"})

    @extend_schema(
        operation_id="photo",
        parameters=[OpenApiParameter("size", str, enum=["screen", "small"])],
        responses={(200, "image/jpeg"): OpenApiTypes.BINARY},
    )
    def get(self, request: Request, pk: UUID) -> HttpResponse:
        """Office: any; technician: of the visits around today."""
        photo = found(Photo.objects.visible_to(self.actor), pk)
        stored = photo.small if request.query_params.get("size") == "small" else photo.screen
        return files.jpeg_answer(stored, f"photo-{photo.pk}")
