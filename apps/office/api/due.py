"""GET /due: which systems need somebody, how soon, and why."""

from drf_spectacular.utils import OpenApiParameter, extend_schema
from rest_framework.request import Request
from rest_framework.response import Response

from apps.care.selectors import due_rows, ranked
from apps.catalogue.selectors import catalogue_current
from apps.core import clock
from apps.flows.operation import MAX_LIMIT, Operation, day, envelope, whole
from apps.office.api import schemas
from apps.office.api.shapes import due_row


class Due(Operation):
    """The due list."""

    filters = frozenset({"on", "area"})

    @extend_schema(
        operation_id="due",
        summary="Systems that need somebody, what hurts most first",
        parameters=[
            OpenApiParameter("on", str, description="the day, today if left out"),
            OpenApiParameter("area", str, description="only places of this area"),
            OpenApiParameter("limit", int),
            OpenApiParameter("offset", int),
        ],
        responses={200: schemas.DUE},
    )
    def get(self, request: Request) -> Response:
        """Office: all systems; technician: those of the visits around today."""
        on = day(request, "on") or clock.today()
        rows = ranked(self.actor, on)
        if "area" in request.query_params:
            rows = rows.filter(system__place__area=request.query_params["area"])
        limit = whole(request, "limit", MAX_LIMIT, 1, MAX_LIMIT)
        offset = whole(request, "offset", 0, 0, 10_000_000)
        catalogue = catalogue_current()
        page = due_rows(rows[offset : offset + limit], on, offset + 1)
        return Response(
            {
                "on": on.isoformat(),
                **envelope(request, rows.count(), limit, offset),
                "results": [due_row(row, catalogue) for row in page],
            }
        )
