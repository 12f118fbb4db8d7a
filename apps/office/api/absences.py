"""Absences of technicians: written down, taken back, and who makes the booked visits instead."""

from typing import Any
from uuid import UUID

from django.utils.translation import gettext as _
from drf_spectacular.utils import OpenApiParameter, extend_schema
from rest_framework.request import Request
from rest_framework.response import Response

from apps.core import clock
from apps.core.exceptions import Invalid
from apps.flows.operation import Operation, body_of, found, once, only, page, text_in
from apps.flows.standing_in import Line, Pick, Refused, propose, take_over
from apps.office.api import schemas
from apps.office.api.people import technician_in
from apps.office.api.rounds import day_in, whole_in
from apps.office.api.schemas import DAY, FLAG, ID, NUMBER, TEXT, WHOLE, many, shape, taken, word
from apps.rounds.choices import Part
from apps.rounds.models import Absence
from apps.rounds.planning.problem import MONEY
from apps.rounds.services import absence_add, absence_end
from apps.visits.models import Visit

MOST_LINES = 200
ABSENCE = shape({
    "id": ID, "technician": shape({"id": ID, "name": TEXT}), "first": DAY, "last": DAY,
    "part": word(*Part.values), "reason": TEXT,
})  # fmt: skip
NEW_ABSENCE = taken(shape(
    {"technician": {**TEXT, "description": "id or user name"}, "first": DAY, "last": DAY},
    {"part": word(*Part.values), "reason": {**TEXT, "maxLength": 200}},
))  # fmt: skip
PICK = {"visit": ID, "rev": {**WHOLE, "minimum": 0}, "technician": ID}
VISIT = {"id": ID, "start": schemas.TIME, "end": schemas.TIME, "place_name": TEXT}
INSTEAD = shape({
    "lines": many(shape({
        **PICK, "place_name": TEXT, "start": schemas.TIME, "end": schemas.TIME,
        "technician_name": TEXT, "cost": NUMBER, "km": NUMBER, "client_is_told": FLAG,
    })),
    "nobody": many(shape({**VISIT, "why": TEXT})),
})  # fmt: skip
PICKS = taken(shape({
    "lines": many(shape(PICK, additionalProperties=False), minItems=1, maxItems=MOST_LINES),
}))  # fmt: skip
TAKEN_OVER = shape({"visits": many(ID), "refused": many(shape({**PICK, "why": TEXT}))})


class Absences(Operation):
    """The days on which technicians do not work."""

    @extend_schema(
        operation_id="absences",
        summary="Absences that are not over, the earliest first",
        parameters=[OpenApiParameter("limit", int), OpenApiParameter("offset", int)],
        responses={200: schemas.listed(ABSENCE)},
    )
    def get(self, request: Request) -> Response:
        """Office: those that are not over."""
        rows = Absence.objects.visible_to(self.office_only()).filter(last__gte=clock.today())
        rows = rows.select_related("user").order_by("first", "pk")
        return page(request, rows, lambda items: [_absence(item) for item in items])

    @extend_schema(
        operation_id="absence_add", summary="Write down that a technician is away",
        parameters=[schemas.KEY], request=NEW_ABSENCE, responses={201: ABSENCE},
    )  # fmt: skip
    def post(self, request: Request) -> Response:
        """Office: for days, or a part of each of them; what was booked stays until it is handed over."""
        actor = self.office_only()
        body = body_of(request)
        only(
            body, ("technician", "first", "last", "part", "reason"), ("technician", "first", "last")
        )
        values: dict[str, Any] = {
            "user": technician_in(body["technician"], "/technician", "technician"),
            "first": day_in(body, "first"), "last": day_in(body, "last"), "part": _part(body),
            "reason": text_in(body, "reason", 200),
        }  # fmt: skip
        if values["last"] < values["first"]:
            words = _("it lies before the first day, %(first)s") % {"first": body["first"]}
            raise _refuse("", "last", body["last"], words)

        def act() -> tuple[int, Any]:
            return 201, _absence(absence_add(**values, by=actor, at=actor.at))

        return once(request, actor, act)


class OneAbsence(Operation):
    """One absence."""

    @extend_schema(
        operation_id="absence_end", summary="Take an absence back", responses={204: None}
    )
    def delete(self, request: Request, pk: UUID) -> Response:
        """Office: they work on these days after all."""
        actor = self.office_only()
        row = found(Absence.objects.visible_to(actor).select_related("user"), pk)
        absence_end(absence=row, by=actor, at=actor.at)
        return Response(status=204)


class Instead(Operation):
    """Who makes the booked visits of somebody who is away."""

    @extend_schema(
        operation_id="absence_instead",
        summary="Who could go instead, at the times that clients were promised",
        responses={200: INSTEAD},
    )
    def get(self, request: Request, pk: UUID) -> Response:
        """Office: looked at only; nothing is stored."""
        actor = self.office_only()
        row = found(Absence.objects.visible_to(actor).select_related("user"), pk)
        made = propose(absence=row, today=clock.today(), at=actor.at)
        return Response({
            "lines": [_line(line) for line in made.lines],
            "nobody": [{"id": str(visit.pk), **_when(visit), "why": why} for visit, why in made.nobody],
        })  # fmt: skip

    @extend_schema(
        operation_id="absence_take_over",
        summary="Hand visits over",
        parameters=[schemas.KEY],
        request=PICKS,
        responses={200: TAKEN_OVER},
    )
    def post(self, request: Request, pk: UUID) -> Response:
        """Office: each line by itself; one that cannot be had any more is refused in words."""
        actor = self.office_only()
        row = found(Absence.objects.visible_to(actor), pk)
        body = body_of(request)
        only(body, ("lines",), ("lines",))
        picks = _picks(body["lines"])

        def act() -> tuple[int, Any]:
            stored, refused = take_over(
                absence=row.pk, picks=picks, today=clock.today(), by=actor, at=actor.at
            )
            return 200, {
                "visits": [str(visit.pk) for visit in stored],
                "refused": [_refusal(one) for one in refused],
            }

        return once(request, actor, act)


def _absence(row: Absence) -> dict[str, Any]:
    return {
        "id": str(row.pk), "technician": {"id": str(row.user_id), "name": str(row.user)},
        "first": row.first.isoformat(), "last": row.last.isoformat(), "part": row.part,
        "reason": row.reason,
    }  # fmt: skip


def _line(line: Line) -> dict[str, Any]:
    return {
        **_pick(line.pick), **_when(line.visit), "technician_name": str(line.user),
        "cost": line.extra / MONEY, "km": line.metres / 1000, "client_is_told": line.told,
    }  # fmt: skip


def _refusal(row: Refused) -> dict[str, Any]:
    return {**_pick(row.pick), "why": row.why}


def _pick(pick: Pick) -> dict[str, Any]:
    return {"visit": str(pick.visit), "rev": pick.rev, "technician": str(pick.user)}


def _when(visit: Visit) -> dict[str, Any]:
    return {
        "place_name": visit.place.name, "start": visit.start.isoformat(),
        "end": visit.end.isoformat(),
    }  # fmt: skip


def _part(body: dict[str, Any]) -> str:
    value = body.get("part", Part.WHOLE)
    if value not in Part.values:
        words = _("one of %(allowed)s is needed") % {"allowed": ", ".join(Part.values)}
        raise Invalid([{"pointer": "/part", "value": str(value), "message": f"part: {words}"}])
    return str(value)


def _picks(lines: Any) -> list[Pick]:
    """Return the lines of a body, each visit once. Raises Invalid naming the line."""
    if not isinstance(lines, list) or not 1 <= len(lines) <= MOST_LINES:
        words = _("a list of one to %(most)s is needed") % {"most": MOST_LINES}
        raise Invalid([{"pointer": "/lines", "value": None, "message": f"lines: {words}"}])
    picks = [_pick_in(row, f"/lines/{number}") for number, row in enumerate(lines)]
    seen: set[UUID] = set()
    for number, pick in enumerate(picks):
        if pick.visit in seen:
            words = _("the visit stands here twice; choose one technician for it")
            raise _refuse(f"/lines/{number}", "visit", str(pick.visit), words)
        seen.add(pick.visit)
    return picks


def _pick_in(row: Any, where: str) -> Pick:
    if not isinstance(row, dict):
        raise _refuse(where, "lines", None, _("an object of visit, rev and technician is needed"))
    only(row, tuple(PICK), tuple(PICK), where)
    return Pick(
        _id_in(row, "visit", where), whole_in(row, "rev", 0, 999_999_999, where),
        _id_in(row, "technician", where),
    )  # fmt: skip


def _id_in(row: dict[str, Any], name: str, where: str) -> UUID:
    try:
        return UUID(row[name])
    except (ValueError, TypeError, AttributeError):
        raise _refuse(where, name, str(row[name]), _("an id (UUID) is needed")) from None


def _refuse(where: str, name: str, value: str | None, message: str) -> Invalid:
    return Invalid(
        [{"pointer": f"{where}/{name}", "value": value, "message": f"{name}: {message}"}]
    )
