"""Counters: what those of a system have shown, and a reading withdrawn that was wrong."""

from typing import Any
from uuid import UUID

from django.utils.translation import gettext as _
from drf_spectacular.utils import OpenApiParameter, extend_schema
from rest_framework.exceptions import ParseError
from rest_framework.request import Request
from rest_framework.response import Response

from apps.care.choices import Counter
from apps.care.models import MeterReading, MeterWithdrawal
from apps.care.services import meter_withdraw
from apps.flows.operation import Operation, body_of, found, only, page, text_in
from apps.office.api.schemas import (
    DAY,
    FLAG,
    ID,
    NUMBER,
    TEXT,
    TIME,
    Schema,
    listed,
    maybe,
    shape,
    taken,
    word,
)
from apps.office.api.shapes import iso
from apps.systems.models import System

WITHDRAWN: Schema = shape({"at": TIME, "by": TEXT, "reason": TEXT})
READING = shape({
    "id": ID, "system": ID, "loop": maybe(ID), "component": maybe(ID),
    "meter": word(*Counter.values), "value": NUMBER, "taken_on": DAY, "is_reset": FLAG,
    "by": TEXT, "made_at": TIME, "withdrawn": maybe(WITHDRAWN),
})  # fmt: skip
REASON = taken(shape({"reason": {**TEXT, "minLength": 1, "maxLength": 400}}))


class MeterReadings(Operation):
    """What the counters of a system have shown."""

    filters = frozenset({"meter"})

    @extend_schema(
        operation_id="meter_readings",
        summary="What the counters of a system have shown, the newest first",
        parameters=[
            OpenApiParameter("meter", str, enum=Counter.values),
            OpenApiParameter("limit", int), OpenApiParameter("offset", int),
        ],
        responses={200: listed(READING)},
    )  # fmt: skip
    def get(self, request: Request, pk: UUID) -> Response:
        """Office: any system; technician: one of the visits around today. Withdrawn ones are marked."""
        system = found(System.objects.visible_to(self.actor), pk)
        rows = MeterReading.objects.visible_to(self.actor).filter(system=system)
        meter = request.query_params.get("meter")
        if meter is not None:
            if meter not in Counter.values:
                raise ParseError(
                    _("meter=%(text)s: must be one of %(known)s")
                    % {"text": repr(meter), "known": ", ".join(Counter.values)}
                )
            rows = rows.filter(meter=meter)
        rows = rows.select_related("withdrawal").order_by("-taken_on", "-made_at", "id")
        return page(request, rows, lambda items: map(_shape, items))


class WithdrawReading(Operation):
    """A reading of a counter that was wrong."""

    @extend_schema(operation_id="meter_reading_withdraw", request=REASON, responses={201: READING})
    def post(self, request: Request, pk: UUID) -> Response:
        """Office: let a reading not count any more; it is kept, and the dates are worked out anew."""
        actor = self.office_only()
        reading = found(MeterReading.objects.visible_to(actor), pk)
        body = body_of(request)
        only(body, ("reason",), ("reason",))
        meter_withdraw(reading=reading, reason=text_in(body, "reason"), by=actor, at=actor.at)
        fresh = MeterReading.objects.visible_to(actor).select_related("withdrawal").get(pk=pk)
        return Response(_shape(fresh), status=201)


def _shape(row: MeterReading) -> dict[str, Any]:
    gone: MeterWithdrawal | None = getattr(row, "withdrawal", None)
    return {
        "id": str(row.pk), "system": str(row.system_id),
        "loop": str(row.loop_id) if row.loop_id else None,
        "component": str(row.component_id) if row.component_id else None,
        "meter": row.meter, "value": row.value, "taken_on": row.taken_on.isoformat(),
        "is_reset": row.is_reset, "by": row.by, "made_at": iso(row.made_at),
        "withdrawn": {"at": iso(gone.made_at), "by": gone.by, "reason": gone.reason} if gone else None,
    }  # fmt: skip
