"""The reference, to read."""

from django.utils.translation import gettext as _
from drf_spectacular.utils import OpenApiParameter, extend_schema
from rest_framework.request import Request
from rest_framework.response import Response

from apps.catalogue.choices import EntryKind
from apps.catalogue.models import Entry
from apps.core.exceptions import NotFound
from apps.flows.operation import Operation, page
from apps.office.api import schemas


class CatalogueEntries(Operation):
    """Entries of one kind."""

    @extend_schema(
        operation_id="catalogue",
        parameters=[
            OpenApiParameter("kind", str, OpenApiParameter.PATH, enum=EntryKind.values),
            OpenApiParameter("limit", int), OpenApiParameter("offset", int),
        ],
        responses={200: schemas.listed(schemas.ENTRY)},
    )  # fmt: skip
    def get(self, request: Request, kind: str) -> Response:
        """Any staff."""
        if kind not in EntryKind.values:
            raise NotFound(
                _("no part of the catalogue is called %(kind)s") % {"kind": repr(kind[:40])}
            )
        rows = Entry.objects.visible_to(self.actor).filter(kind=kind).order_by("position")
        return page(
            request,
            rows,
            lambda items: [
                {
                    "code": item.code, "name": item.name, "figures": item.figures,
                    "original": item.original, "source": item.source_code,
                    "knowledge": item.knowledge, "edited": item.edited_at is not None,
                }
                for item in items
            ],
        )  # fmt: skip
