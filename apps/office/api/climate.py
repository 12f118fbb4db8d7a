"""Climate normals of the firm and of places: read, put in place of others, taken away."""

import math
from typing import Any
from uuid import UUID

from django.http import Http404
from django.utils.translation import gettext as _
from drf_spectacular.utils import OpenApiParameter, extend_schema
from rest_framework.request import Request
from rest_framework.response import Response

from apps.calc.climate_months import FIELDS, LIMITS, Month
from apps.clients.climate import MONTHS
from apps.clients.models import Climate, Place
from apps.clients.selectors import months_of
from apps.core.exceptions import Invalid
from apps.core.scoping import Actor
from apps.flows.climate import climate_remove, climate_set
from apps.flows.operation import Operation, based_on, body_of, etag, found, only, text_in
from apps.office.api.schemas import NUMBER, TEXT, WHOLE, Schema, many, maybe, shape, taken

NEEDED, EXTRA = ("low_c", "high_c", "rain_mm"), ("wet_days", "et0_mm")
IF_MATCH = OpenApiParameter(
    "If-Match", str, OpenApiParameter.HEADER,
    description="the ETag that was read; needed where there are normals already",
)  # fmt: skip


def _within(name: str) -> Schema:
    return {**NUMBER, "minimum": LIMITS[name][0], "maximum": LIMITS[name][1]}


MONTH = shape(
    {name: _within(name) for name in NEEDED}, {name: maybe(_within(name)) for name in EXTRA},
    additionalProperties=False,
)  # fmt: skip
TWELVE = many(MONTH, minItems=MONTHS, maxItems=MONTHS)
CLIMATE = shape({"source": TEXT, "rev": WHOLE, "months": TWELVE})
NEW_CLIMATE = taken(shape({"months": TWELVE}, {"source": {**TEXT, "maxLength": 200}}))


class _Normals(Operation):
    """What both addresses do; `place` is None for the firm's."""

    def read(self, place: Place | None) -> Response:
        row = self.row(self.office_only(), place)
        if row is None:
            raise Http404
        return _answer(row)

    def write(self, request: Request, place: Place | None) -> Response:
        actor = self.office_only()
        body = body_of(request)
        only(body, ("months", "source"), ("months",))
        months, source = _months_in(body), text_in(body, "source", 200)
        row = self.row(actor, place)
        rev = based_on(request, row) if row else None
        made = climate_set(
            place=place, months=months, source=source, rev=rev, by=actor, at=actor.at
        )
        return _answer(made)

    def remove(self, place: Place | None) -> Response:
        actor = self.office_only()
        row = self.row(actor, place)
        if row is None:
            raise Http404
        climate_remove(climate=row, by=actor, at=actor.at)
        return Response(status=204)

    def row(self, actor: Actor, place: Place | None) -> Climate | None:
        rows = Climate.objects.visible_to(actor)
        whose: dict[str, Any] = {"place": place} if place else {"whole_firm": True}
        row: Climate | None = rows.filter(**whose).first()
        return row


class FirmClimate(_Normals):
    """The firm's climate normals."""

    @extend_schema(
        operation_id="climate", summary="The firm's climate normals, January to December",
        responses={200: CLIMATE},
    )  # fmt: skip
    def get(self, request: Request) -> Response:
        """Office: 404 where none are entered."""
        return self.read(None)

    @extend_schema(
        operation_id="climate_set", summary="Enter the firm's climate normals, all twelve months",
        parameters=[IF_MATCH], request=NEW_CLIMATE, responses={200: CLIMATE},
    )  # fmt: skip
    def put(self, request: Request) -> Response:
        """Office: all of it or nothing; forecasts take it up in the night."""
        return self.write(request, None)

    @extend_schema(
        operation_id="climate_remove", summary="Take the firm's climate normals away",
        responses={204: None},
    )  # fmt: skip
    def delete(self, request: Request) -> Response:
        """Office: forecasts go by the usual year of the latitude then."""
        return self.remove(None)


class PlaceClimate(_Normals):
    """The climate normals of a place whose weather differs."""

    def place(self, pk: UUID) -> Place:
        """Return the place."""
        row: Place = found(Place.objects.visible_to(self.office_only()), pk)
        return row

    @extend_schema(
        operation_id="place_climate", summary="A place's own climate normals",
        responses={200: CLIMATE},
    )  # fmt: skip
    def get(self, request: Request, pk: UUID) -> Response:
        """Office: 404 where it has none of its own."""
        return self.read(self.place(pk))

    @extend_schema(
        operation_id="place_climate_set", summary="Enter a place's own climate normals",
        parameters=[IF_MATCH], request=NEW_CLIMATE, responses={200: CLIMATE},
    )  # fmt: skip
    def put(self, request: Request, pk: UUID) -> Response:
        """Office: all of it or nothing; the place's forecasts are made anew."""
        return self.write(request, self.place(pk))

    @extend_schema(
        operation_id="place_climate_remove", summary="Take a place's own climate normals away",
        responses={204: None},
    )  # fmt: skip
    def delete(self, request: Request, pk: UUID) -> Response:
        """Office: the firm's hold for it then."""
        return self.remove(self.place(pk))


def _answer(row: Climate) -> Response:
    months = [{name: getattr(month, name) for name in FIELDS} for month in months_of(row)]
    body = {"source": row.source, "rev": row.rev, "months": months}
    return Response(body, headers={"ETag": etag(row)})


def _months_in(body: dict[str, Any]) -> list[Month]:
    """Return the months of a body. Raises Invalid naming month and figure."""
    rows = body["months"]
    if not isinstance(rows, list) or len(rows) != MONTHS:
        words = _("a list of twelve months, January to December, is needed")
        raise Invalid([{"pointer": "/months", "value": None, "message": f"months: {words}"}])
    return [_month_in(row, f"/months/{number}") for number, row in enumerate(rows)]


def _month_in(row: Any, where: str) -> Month:
    if not isinstance(row, dict):
        words = _("an object of low_c, high_c and rain_mm is needed")
        raise Invalid([{"pointer": where, "value": None, "message": f"months: {words}"}])
    only(row, FIELDS, NEEDED, where)
    return Month(**{name: _figure(row.get(name), name, where) for name in FIELDS})


def _figure(value: Any, name: str, where: str) -> Any:
    if value is None and name in EXTRA:
        return None
    whole = isinstance(value, int | float) and not isinstance(value, bool)
    if not whole or not -1e6 < value < 1e6 or not math.isfinite(value):
        words = _("a number is needed")
        raise Invalid([
            {"pointer": f"{where}/{name}", "value": str(value)[:40], "message": f"{name}: {words}"}
        ])  # fmt: skip
    return float(value)
