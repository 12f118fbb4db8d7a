"""Calendar addresses of one's own: made, replaced, ended. An address is answered once."""

from typing import Any
from uuid import UUID

from django.db import transaction
from django.db.models import QuerySet
from drf_spectacular.utils import extend_schema
from rest_framework.request import Request
from rest_framework.response import Response

from apps.accounts.models import CalendarFeed, User
from apps.accounts.selectors import feed_addresses, feeds_open
from apps.accounts.services import digest_of, feed_issue, feed_revoke
from apps.core.scoping import Actor
from apps.flows.operation import Operation, body_of, found, only, uuid_in
from apps.office.api.schemas import ID, TEXT, TIME, WHOLE, Schema, many, maybe, shape, taken
from apps.office.api.shapes import iso

FEED: dict[str, Schema] = {
    "id": ID, "made_at": TIME, "read_at": maybe(TIME), "reads": WHOLE,
}  # fmt: skip
FEEDS = shape({"results": many(shape(FEED))})
MADE = shape({
    **FEED, "address": {**TEXT, "description": "secret: it is answered this once"},
    "opens": {**TEXT, "description": "the same, for a program of calendars to open"},
})  # fmt: skip
NEW = taken(shape({}, {"replaces": {**ID, "description": "an address of one's own that ends"}}))


class Calendars(Operation):
    """One's own calendar addresses."""

    @extend_schema(operation_id="calendars", responses={200: FEEDS})
    def get(self, request: Request) -> Response:
        """Any staff: one's own addresses that are not ended; the secret is never answered again."""
        return Response({"results": [_shape(row) for row in _own(self.actor, request)]})

    @extend_schema(operation_id="calendar_make", request=NEW, responses={201: MADE})
    def post(self, request: Request) -> Response:
        """Any staff: make an address, in place of one of one's own where that is named.

        No Idempotency-Key is kept here, as the answer with the secret would be kept beside it:
        replace an address whose answer was lost.
        """
        body = body_of(request)
        only(body, ("replaces",), ())
        actor, user = self.actor, _who(request)
        with transaction.atomic():
            if "replaces" in body:
                old = found(_own(actor, request), uuid_in(body, "replaces"))
                feed_revoke(feed=old, by=actor, at=actor.at)
            secret = feed_issue(user=user, at=actor.at, by=actor)
            row = _own(actor, request).get(digest=digest_of(secret))
        said = feed_addresses(secret)
        answer = {**_shape(row), "address": said["plain"], "opens": said["opens"]}
        return Response(answer, status=201, headers={"Cache-Control": "no-store"})


class OneCalendar(Operation):
    """A calendar address."""

    @extend_schema(operation_id="calendar_end", responses={204: None})
    def delete(self, request: Request, pk: UUID) -> Response:
        """Any staff: end an address of one's own, the office anybody's; nothing is found there then."""
        actor = self.actor
        feed_revoke(feed=found(feeds_open(actor), pk), by=actor, at=actor.at)
        return Response(status=204)


def _own(actor: Actor, request: Request) -> QuerySet[CalendarFeed]:
    return feeds_open(actor).filter(user=_who(request))


def _who(request: Request) -> User:
    user = request.user
    assert isinstance(user, User)  # noqa: S101 - nobody else comes past the permissions
    return user


def _shape(row: CalendarFeed) -> dict[str, Any]:
    return {
        "id": str(row.pk), "made_at": iso(row.made_at), "read_at": iso(row.read_at),
        "reads": row.reads,
    }  # fmt: skip
