"""GET /visit-days: on which days places should be visited, and what for."""

import datetime as dt
from typing import Any
from uuid import UUID

from django.utils.translation import gettext as _
from drf_spectacular.utils import OpenApiParameter, extend_schema
from rest_framework.exceptions import ParseError
from rest_framework.request import Request
from rest_framework.response import Response

from apps.care.models import VisitDay
from apps.core import clock
from apps.flows.operation import Operation, day, key, page
from apps.office.api import schemas

SPAN = dt.timedelta(days=28)


class VisitDays(Operation):
    """The proposed visit days."""

    filters = frozenset({"from", "to", "place"})

    @extend_schema(
        operation_id="visit_days",
        summary="Days on which places should be visited, in order",
        parameters=[
            OpenApiParameter("from", dt.date, description="first day, today if left out"),
            OpenApiParameter("to", dt.date, description="last day, four weeks on if left out"),
            OpenApiParameter("place", UUID),
            OpenApiParameter("limit", int),
            OpenApiParameter("offset", int),
        ],
        responses={200: schemas.listed(schemas.VISIT_DAY)},
    )
    def get(self, request: Request) -> Response:
        """Office: all places; technician: those of the visits around today."""
        first = day(request, "from") or clock.today()
        last = day(request, "to") or first + SPAN
        if last < first:
            raise ParseError(
                _("to=%(last)s: must not come before from=%(first)s")
                % {"last": last, "first": first}
            )
        rows = VisitDay.objects.visible_to(self.actor).filter(on__gte=first, on__lte=last)
        place = key(request, "place")
        rows = rows.filter(place=place) if place else rows
        rows = rows.select_related("place").prefetch_related("tasks__task")
        return page(request, rows.order_by("on", "place_id"), lambda found: map(_shape, found))


def _shape(row: VisitDay) -> dict[str, Any]:
    return {
        "place": str(row.place_id), "place_name": row.place.name, "on": row.on.isoformat(),
        "earliest": row.earliest.isoformat(), "latest": row.latest.isoformat(),
        "minutes": row.minutes, "visit": str(row.kept_for) if row.kept_for else None,
        "tasks": [
            {"id": str(item.task_id), "code": item.task.code, "system": str(item.task.system_id),
             "due": item.due.isoformat() if item.due else None, "why": item.why}
            for item in sorted(row.tasks.all(), key=lambda item: (item.task.code, item.task_id))
        ],
    }  # fmt: skip
