"""Feed at a client's place: what was counted, and a count more."""

from typing import Any
from uuid import UUID

from django.utils.translation import gettext as _
from drf_spectacular.utils import OpenApiParameter, extend_schema
from rest_framework.request import Request
from rest_framework.response import Response

from apps.care.choices import CountedBy
from apps.care.models import FeedCount, Standing
from apps.care.selectors import feed_counts
from apps.core.exceptions import Invalid
from apps.flows.feed_counting import feed_count
from apps.flows.operation import Operation, body_of, found, moment, once, only, page
from apps.office.api.schemas import (
    DAY,
    FLAG,
    ID,
    KEY,
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

LASTS: Schema = shape({"until": maybe(DAY), "soonest": maybe(DAY), "latest": maybe(DAY)})
COUNT = shape({
    "id": ID, "system": ID, "amount_g": NUMBER, "counted_at": TIME,
    "counted_by": word(*CountedBy.values), "by": TEXT, "made_at": TIME,
    # of the count that counts; null for those before it
    "lasts": maybe(LASTS),
})  # fmt: skip
SENT = taken(shape({"amount_g": NUMBER, "counted_at": TIME}, {"checked_twice": FLAG}))


class FeedCounts(Operation):
    """How much feed lay at a system's place."""

    @extend_schema(
        operation_id="feed_counts",
        summary="What feed was counted at a system's place, the count that counts first",
        parameters=[OpenApiParameter("limit", int), OpenApiParameter("offset", int)],
        responses={200: listed(COUNT)},
    )
    def get(self, request: Request, pk: UUID) -> Response:
        """Office: any system; technician: one of the visits around today. Grams."""
        system = found(System.objects.visible_to(self.actor), pk)
        held = self._held(system)
        rows = feed_counts([system.pk]).visible_to(self.actor)
        return page(request, rows, lambda items: [_shape(row, held) for row in items])

    @extend_schema(
        operation_id="feed_count", request=SENT, responses={201: COUNT}, parameters=[KEY],
        summary="Note how much feed lies at a system's place",
    )  # fmt: skip
    def post(self, request: Request, pk: UUID) -> Response:
        """Office: any system; technician: one of the visits around today.

        Grams, all bags together. An amount that is perhaps in another unit is refused until it comes
        with `checked_twice`.
        """
        system = found(System.objects.visible_to(self.actor), pk)
        body = body_of(request)
        only(body, ("amount_g", "counted_at", "checked_twice"), ("amount_g", "counted_at"))
        return once(request, self.actor, lambda: (201, self._noted(system, body)))

    def _noted(self, system: System, body: dict[str, Any]) -> dict[str, Any]:
        row = feed_count(
            system=system, amount_g=_grams(body), counted_at=moment(body, "counted_at"),
            sure=_sure(body), by=self.actor, at=self.actor.at,
        )  # fmt: skip
        return _shape(row, self._held(system))

    def _held(self, system: System) -> Standing | None:
        return Standing.objects.visible_to(self.actor).filter(system=system).first()


def _grams(body: dict[str, Any]) -> float:
    value = body["amount_g"]
    if isinstance(value, bool) or not isinstance(value, int | float):
        message = "amount_g: " + _("a number of grams is needed")
        raise Invalid([{"pointer": "/amount_g", "value": str(value), "message": message}])
    return float(value)


def _sure(body: dict[str, Any]) -> bool:
    value = body.get("checked_twice", False)
    if not isinstance(value, bool):
        message = "checked_twice: " + _("true or false is needed")
        raise Invalid([{"pointer": "/checked_twice", "value": str(value), "message": message}])
    return value


def _shape(row: FeedCount, held: Standing | None) -> dict[str, Any]:
    lasts = None
    if held is not None and held.feed_count == str(row.pk):
        until = held.feed_until.isoformat() if held.feed_until else None
        span = {name: held.feed.get(name) for name in ("soonest", "latest")}
        lasts = {"until": until, **span}
    return {
        "id": str(row.pk), "system": str(row.system_id), "amount_g": row.amount_g,
        "counted_at": iso(row.counted_at), "counted_by": row.counted_by, "by": row.by,
        "made_at": iso(row.made_at), "lasts": lasts,
    }  # fmt: skip
