"""Reports and corrections."""

from uuid import UUID

from django.http import HttpResponse
from django.utils.translation import gettext as _
from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import OpenApiParameter, extend_schema
from rest_framework.request import Request
from rest_framework.response import Response

from apps.core import files
from apps.core.exceptions import Conflict, NotFound
from apps.flows.operation import Operation, body_of, found, only, text_in, whole
from apps.flows.releasing import correct, release
from apps.office.api import schemas
from apps.office.api.shapes import report_shape
from apps.reports.models import Report
from apps.visits.models import Reading


class ReleaseReport(Operation):
    """Release."""

    @extend_schema(operation_id="report_release", request=None, responses={200: schemas.RELEASED})
    def post(self, request: Request, pk: UUID) -> Response:
        """Office: release the reports of this report's visit and write the client their letter."""
        actor = self.office_only()
        report = found(Report.objects.visible_to(actor).select_related("visit"), pk)
        if report.visit is None:
            raise Conflict(_("This report belongs to no visit."), "no_visit")
        versions = release(visit=report.visit, by=actor, at=actor.at)
        report.visit.refresh_from_db()
        rows = (
            Report.objects.filter(visit=report.visit)
            .prefetch_related("versions__release")
            .order_by("number")
        )
        return Response(
            {
                "visit": str(report.visit_id),
                "state": report.visit.state,
                "released": [str(version.pk) for version in versions],
                "reports": [report_shape(row) for row in rows],
            }
        )


class ReportPdf(Operation):
    """The file."""

    filters = frozenset({"version"})

    @extend_schema(
        operation_id="report_pdf",
        parameters=[OpenApiParameter("version", int, description="the latest if left out")],
        responses={(200, "application/pdf"): OpenApiTypes.BINARY},
    )
    def get(self, request: Request, pk: UUID) -> HttpResponse:
        """Office: any; technician: of the visits around today."""
        report = found(Report.objects.visible_to(self.actor), pk)
        versions = report.versions.order_by("-number")
        if "version" in request.query_params:
            versions = versions.filter(number=whole(request, "version", 1, 1, 9999))
        version = versions.first()
        if version is None:
            raise NotFound(_("There is no such version yet; it may still be drawn."))
        return files.pdf_answer(version.pdf, f"report-{report.number:04d}-{version.number}")


class CorrectReading(Operation):
    """A correction."""

    @extend_schema(
        operation_id="reading_correct",
        request=schemas.CORRECTION,
        responses={201: schemas.CORRECTED},
    )
    def post(self, request: Request, pk: UUID) -> Response:
        """Office: put a corrected reading beside the old one; a new version of the report follows."""
        actor = self.office_only()
        reading = found(
            Reading.objects.visible_to(actor).select_related(
                "sheet__visit__place", "sheet__system"
            ),
            pk,
        )
        body = body_of(request)
        fields = ("value", "unit", "basis", "method", "taken_at")
        only(body, (*fields, "reason"), ("value", "reason"))
        fresh = correct(
            reading=reading,
            changes={name: body[name] for name in fields if body.get(name) is not None},
            reason=text_in(body, "reason"), by=actor, at=actor.at,
        )  # fmt: skip
        return Response(
            {"id": str(fresh.pk), "corrects": str(pk), "value": fresh.value, "word": fresh.word},
            status=201,
        )
