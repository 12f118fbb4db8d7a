"""Times offered to a client: looked for, offered, read, taken back, picked by telephone."""

import datetime as dt
from typing import Any
from uuid import UUID

from django.http import Http404
from django.utils.translation import gettext as _
from drf_spectacular.utils import extend_schema
from rest_framework.request import Request
from rest_framework.response import Response

from apps.core.exceptions import Invalid
from apps.flows import offering
from apps.flows.operation import Operation, body_of, found, moment, once, only, uuid_in
from apps.office.api import schemas
from apps.office.api.offering_schemas import NEW_OFFER, OFFER, PICK, TIMES
from apps.office.api.shapes import iso
from apps.rounds.models import TimeOffered, TimesOffered
from apps.rounds.planning.problem import MONEY
from apps.rounds.selectors.offers import Time
from apps.rounds.services.offers import MOST_TIMES
from apps.visits.models import Visit


class VisitTimes(Operation):
    """Times that could be offered."""

    @extend_schema(operation_id="visit_times", responses={200: TIMES})
    def get(self, request: Request, pk: UUID) -> Response:
        """Office: the cheapest times in the rounds as they stand, or why none can be offered."""
        actor = self.office_only()
        choice = offering.choice_of(_visit(self, pk), actor.at)
        refusal = choice.refusal
        return Response({
            "times": [_time(time) for time in choice.times],
            "until": None if refusal else iso(choice.until),
            "latest": None if refusal else iso(choice.latest),
            "refusal": {"code": refusal.why, "text": refusal.text} if refusal else None,
            "notes": choice.notes,
        })  # fmt: skip


class VisitOffer(Operation):
    """What is offered for a visit."""

    @extend_schema(operation_id="visit_offer", responses={200: OFFER})
    def get(self, request: Request, pk: UUID) -> Response:
        """Office: what was offered last, with where each time stands and how it ended."""
        self.office_only()
        return Response(offer_shape(_latest(_visit(self, pk))))

    @extend_schema(
        operation_id="visit_offer_make",
        parameters=[schemas.KEY],
        request=NEW_OFFER,
        responses={201: OFFER},
    )
    def post(self, request: Request, pk: UUID) -> Response:
        """Office: hold two or three times for the client, and write to them."""
        actor = self.office_only()
        visit = _visit(self, pk)
        body = body_of(request)
        only(body, ("id", "times", "until"), ())

        def act() -> tuple[int, Any]:
            made = offering.offer(
                visit=visit, keys=_keys(body), by=actor, at=actor.at,
                until=moment(body, "until") if "until" in body else None,
                pk=uuid_in(body, "id") if body.get("id") else None,
            )  # fmt: skip
            return 201, offer_shape(made)

        return once(request, actor, act)


class WithdrawOffer(Operation):
    """Taking back."""

    @extend_schema(operation_id="visit_offer_withdraw", request=None, responses={200: OFFER})
    def post(self, request: Request, pk: UUID) -> Response:
        """Office: take back what is offered; the times are free again."""
        actor = self.office_only()
        offer = _latest(_visit(self, pk))
        return Response(offer_shape(offering.take_back(offer=offer, by=actor, at=actor.at)))


class PickOffer(Operation):
    """Picking."""

    @extend_schema(operation_id="visit_offer_pick", request=PICK, responses={200: OFFER})
    def post(self, request: Request, pk: UUID) -> Response:
        """Office: book the time that the client chose by telephone."""
        actor = self.office_only()
        offer = _latest(_visit(self, pk))
        body = body_of(request)
        only(body, ("time",), ("time",))
        offering.pick(offer=offer, time_id=uuid_in(body, "time"), by=actor, at=actor.at)
        offer.refresh_from_db()
        return Response(offer_shape(offer))


def _visit(view: Operation, pk: UUID) -> Visit:
    row: Visit = found(Visit.objects.visible_to(view.actor).select_related("place__client"), pk)
    return row


def _latest(visit: Visit) -> TimesOffered:
    """Return what was offered last for a visit. Raises Http404 where nothing was."""
    offer = offering.latest_offer(visit)
    if offer is None:
        raise Http404
    return offer


def _keys(body: dict[str, Any]) -> list[str] | None:
    """Return which times are offered; None: all that are found. Raises Invalid."""
    if "times" not in body:
        return None
    value = body["times"]
    words = isinstance(value, list) and all(isinstance(key, str) for key in value)
    if not words or not 1 <= len(value) <= MOST_TIMES:
        message = "times: " + _("a list of the keys of two or three times is needed")
        raise Invalid([{"pointer": "/times", "value": None, "message": message}])
    return list(value)


def _time(time: Time) -> dict[str, Any]:
    return {
        "key": time.key,
        **_moments(time.start, time.end, time.told_from, time.told_until),
        "technicians": list(time.technicians),
        "cost": time.extra / MONEY,
        "km": time.metres / 1000,
        "late": time.late,
    }


def _moments(
    start: dt.datetime, end: dt.datetime, told_from: dt.datetime, told_until: dt.datetime
) -> dict[str, Any]:
    return {
        "start": iso(start), "end": iso(end),
        "told": {"from": iso(told_from), "until": iso(told_until)},
    }  # fmt: skip


def offer_shape(row: TimesOffered) -> dict[str, Any]:
    """Return what was offered as plain JSON."""
    times = row.times.prefetch_related("holds").order_by("start")
    return {
        "id": str(row.pk),
        "visit": str(row.visit_id),
        "state": row.state,
        "until": iso(row.until),
        "words": row.words,
        "made_at": iso(row.made_at),
        "made_by": row.made_by,
        "ended_at": iso(row.ended_at),
        "ended_by": row.ended_by,
        "times": [_offered(time) for time in times],
    }


def _offered(time: TimeOffered) -> dict[str, Any]:
    return {
        "id": str(time.pk),
        "state": time.state,
        **_moments(time.start, time.end, time.told_from, time.told_until),
        "technicians": sorted(str(hold.user_id) for hold in time.holds.all()),
        "cost": time.extra / MONEY,
        "km": time.metres / 1000,
    }
