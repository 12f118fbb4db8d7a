"""Photos of a site: added to a survey, read, taken out."""

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
from apps.flows.operation import Operation, as_uuid, found
from apps.office.api import schemas
from apps.office.api.bodies import fault
from apps.office.api.survey_schemas import PHOTO
from apps.office.api.surveys import photo_shape
from apps.proposals.models import SiteSurvey, SurveyPhoto
from apps.proposals.services import survey_photo_keep, survey_photo_remove


class SurveyPhotos(Operation):
    """Uploads."""

    parser_classes = [MultiPartParser]

    @extend_schema(
        operation_id="survey_photo_add",
        request={
            "multipart/form-data": schemas.shape(
                {"id": schemas.ID, "photo": {"type": "string", "format": "binary"}},
                {"caption": schemas.TEXT},
            )
        },
        responses={201: PHOTO},
    )  # fmt: skip
    def post(self, request: Request, pk: UUID) -> Response:
        """Office: JPEG, PNG or WebP up to 15 MB; the same id again is the same photo."""
        actor = self.office_only()
        survey = found(SiteSurvey.objects.visible_to(actor), pk)
        form: Any = request.data
        upload = form.get("photo")
        if not isinstance(upload, UploadedFile):
            raise fault("/photo", _("a file is needed"))
        photo = survey_photo_keep(
            survey=survey, pk=as_uuid(form.get("id"), "/id", "id"), data=upload.read(),
            caption=str(form.get("caption") or ""), by=actor, at=actor.at,
        )  # fmt: skip
        return Response(photo_shape(photo), status=201)


class OneSurveyPhoto(Operation):
    """A photo's picture."""

    filters = frozenset({"size"})

    @extend_schema(
        operation_id="survey_photo",
        parameters=[OpenApiParameter("size", str, enum=["screen", "small"])],
        responses={(200, "image/jpeg"): OpenApiTypes.BINARY},
    )
    def get(self, request: Request, pk: UUID) -> HttpResponse:
        """Office: a photo of a survey."""
        photo = found(SurveyPhoto.objects.visible_to(self.office_only()), pk)
        small = request.query_params.get("size") == "small"
        return files.jpeg_answer(photo.small if small else photo.screen, f"photo-{photo.pk}")

    @extend_schema(operation_id="survey_photo_remove", responses={204: None})
    def delete(self, request: Request, pk: UUID) -> Response:
        """Office: take a photo out of its survey."""
        actor = self.office_only()
        photo = found(SurveyPhoto.objects.visible_to(actor), pk)
        survey_photo_remove(photo=photo, by=actor, at=actor.at)
        return Response(status=204)
