"""Systems, places and technicians, to read."""

from uuid import UUID

from drf_spectacular.utils import OpenApiParameter, extend_schema
from rest_framework.request import Request
from rest_framework.response import Response

from apps.accounts.selectors import technicians
from apps.clients.models import Place
from apps.flows.operation import Operation, etag, found, key, page
from apps.office.api import schemas
from apps.office.api.shapes import system_shape
from apps.systems.models import System
from apps.systems.selectors import with_parts


class Systems(Operation):
    """The systems."""

    filters = frozenset({"place", "kind"})

    @extend_schema(
        operation_id="systems",
        parameters=[
            OpenApiParameter("place", UUID), OpenApiParameter("kind", str),
            OpenApiParameter("limit", int), OpenApiParameter("offset", int),
        ],
        responses={200: schemas.listed(schemas.SYSTEM)},
    )  # fmt: skip
    def get(self, request: Request) -> Response:
        """Office: all; technician: those of the visits around today."""
        rows = with_parts(System.objects.visible_to(self.actor)).order_by("name", "id")
        place = key(request, "place")
        if place is not None:
            rows = rows.filter(place_id=place)
        if "kind" in request.query_params:
            rows = rows.filter(kind=request.query_params["kind"])
        return page(request, rows, lambda items: [system_shape(item) for item in items])


class OneSystem(Operation):
    """One system."""

    @extend_schema(operation_id="system", responses={200: schemas.SYSTEM})
    def get(self, request: Request, pk: UUID) -> Response:
        """Office: any; technician: one of the visits around today."""
        system = found(with_parts(System.objects.visible_to(self.actor)), pk)
        return Response(system_shape(system), headers={"ETag": etag(system)})


class Places(Operation):
    """The places."""

    @extend_schema(
        operation_id="places",
        parameters=[OpenApiParameter("limit", int), OpenApiParameter("offset", int)],
        responses={200: schemas.listed(schemas.PLACE)},
    )
    def get(self, request: Request) -> Response:
        """Office: all; technician: those of the visits around today."""
        rows = Place.objects.visible_to(self.actor).select_related("client").order_by("name", "id")
        return page(
            request,
            rows,
            lambda items: [
                {
                    "id": str(item.pk), "name": item.name, "street": item.street,
                    "town": item.town, "area": item.area, "client": str(item.client_id),
                    "client_name": item.client.name, "latitude": item.latitude,
                    "longitude": item.longitude,
                }
                for item in items
            ],
        )  # fmt: skip


class Technicians(Operation):
    """Who can be sent."""

    @extend_schema(
        operation_id="technicians",
        parameters=[OpenApiParameter("limit", int), OpenApiParameter("offset", int)],
        responses={200: schemas.listed(schemas.TECHNICIAN)},
    )
    def get(self, request: Request) -> Response:
        """Office: all; technician: oneself."""
        rows = technicians(self.actor)
        return page(
            request,
            rows,
            lambda items: [
                {"id": str(item.pk), "username": item.username, "name": str(item)} for item in items
            ],
        )
