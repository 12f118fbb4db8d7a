"""Visits: booked, moved, stepped, answered, submitted, assessed."""

from typing import Any
from uuid import UUID

from django.utils.translation import gettext as _
from drf_spectacular.utils import OpenApiParameter, extend_schema
from rest_framework.exceptions import ParseError
from rest_framework.request import Request
from rest_framework.response import Response

from apps.catalogue.selectors import catalogue_current
from apps.clients.models import Place
from apps.core.exceptions import Invalid
from apps.flows import visit_booking, visit_closing
from apps.flows.operation import (
    Operation,
    as_uuid,
    based_on,
    body_of,
    day,
    etag,
    found,
    key,
    moment,
    once,
    only,
    page,
    text_in,
    uuid_in,
)
from apps.office.api import doubts, schemas
from apps.office.api.people import technicians_in
from apps.office.api.shapes import report_shape, result_shape, visit_shape
from apps.office.api.submission import submission_check
from apps.reports.models import Report
from apps.systems.models import System
from apps.visits.choices import State
from apps.visits.models import Visit
from apps.visits.selectors import visits_full
from apps.visits.services.fields import Answer, conflicts_refuse, fields_set


def _shown(visit: Visit) -> dict[str, Any]:
    row = visits_full(Visit.objects.filter(pk=visit.pk)).get()
    return visit_shape(row, catalogue_current())


class Visits(Operation):
    """The visits."""

    filters = frozenset({"state", "technician", "from", "to", "place", "system"})

    @extend_schema(
        operation_id="visits",
        parameters=[
            OpenApiParameter("state", str, enum=State.values),
            OpenApiParameter("technician", UUID), OpenApiParameter("place", UUID),
            OpenApiParameter("system", UUID),
            OpenApiParameter("from", str, description="first day"),
            OpenApiParameter("to", str, description="last day"),
            OpenApiParameter("limit", int), OpenApiParameter("offset", int),
        ],
        responses={200: schemas.listed(schemas.VISIT)},
    )  # fmt: skip
    def get(self, request: Request) -> Response:
        """Office: all; technician: one's own around today."""
        rows = visits_full(Visit.objects.visible_to(self.actor)).order_by("start", "id")
        state = request.query_params.get("state")
        if state is not None:
            state = state.replace(" ", "_")
            if state not in State.values:
                raise ParseError(
                    _("state=%(state)s: one of %(allowed)s")
                    % {"state": repr(state), "allowed": ", ".join(State.values)}
                )
            rows = rows.filter(state=state)
        technician, place, system = (key(request, n) for n in ("technician", "place", "system"))
        if technician is not None:
            rows = rows.filter(assignments__user_id=technician)
        if place is not None:
            rows = rows.filter(place_id=place)
        if system is not None:
            rows = rows.filter(sheets__system_id=system)
        first, last = day(request, "from"), day(request, "to")
        if first is not None:
            rows = rows.filter(start__date__gte=first)
        if last is not None:
            rows = rows.filter(start__date__lte=last)
        catalogue = catalogue_current()
        return page(request, rows, lambda items: [visit_shape(item, catalogue) for item in items])

    @extend_schema(
        operation_id="visit_book",
        parameters=[schemas.KEY],
        request=schemas.NEW_VISIT,
        responses={201: schemas.VISIT},
    )
    def post(self, request: Request) -> Response:
        """Office: pencil a visit in.

        A day off, a technician who is away or outside of their hours is asked about once (409,
        `time_doubted`, with `doubts`); name their codes in `all_the_same` to come all the same.
        """
        actor = self.office_only()
        body = body_of(request)
        needed = ("place", "systems", "start", "end", "technicians")
        only(body, (*needed, "reason", "id", doubts.FIELD), needed)

        def act() -> tuple[int, Any]:
            place = Place.objects.visible_to(actor).filter(pk=uuid_in(body, "place")).first()
            if place is None:
                message = "place: " + _("there is no such place")
                raise Invalid([{"pointer": "/place", "value": body["place"], "message": message}])
            start = moment(body, "start")
            end, people = moment(body, "end"), technicians_in(body, "technicians")
            systems = self._systems(body)
            visit_booking.day_check(start, actor.at)
            doubts.doubts_check(body, people, start, end)
            visit = visit_booking.pencil(
                place=place, systems=systems, start=start, end=end, technicians=people,
                by=actor, at=actor.at,
                reason=text_in(body, "reason"),
                pk=uuid_in(body, "id") if body.get("id") else None,
            )  # fmt: skip
            return 201, _shown(visit)

        answer = once(request, actor, act)
        if answer.status_code == 201 and isinstance(answer.data, dict):
            answer["Location"] = request.build_absolute_uri(f"/api/v1/visits/{answer.data['id']}")
            answer["ETag"] = f'"{answer.data["id"]}-{answer.data["rev"]}-1"'
        return answer

    def _systems(self, body: dict[str, Any]) -> list[System]:
        ids = body["systems"]
        if not isinstance(ids, list) or not 1 <= len(ids) <= 20:
            message = "systems: " + _("a list of one to twenty is needed")
            raise Invalid([{"pointer": "/systems", "value": None, "message": message}])
        systems = []
        for index, value in enumerate(ids):
            where = f"/systems/{index}"
            pk = as_uuid(value, where, "systems")
            system = System.objects.visible_to(self.actor).filter(pk=pk).first()
            if system is None:
                message = "systems: " + _("there is no such system")
                raise Invalid([{"pointer": where, "value": str(value), "message": message}])
            if system in systems:
                message = "systems: " + _("this one stands here twice")
                raise Invalid([{"pointer": where, "value": str(value), "message": message}])
            systems.append(system)
        return systems


class OneVisit(Operation):
    """One visit."""

    @extend_schema(operation_id="visit", responses={200: schemas.VISIT})
    def get(self, request: Request, pk: UUID) -> Response:
        """Office: any; technician: one's own around today."""
        visit = found(visits_full(Visit.objects.visible_to(self.actor)), pk)
        return Response(visit_shape(visit, catalogue_current()), headers={"ETag": etag(visit)})

    @extend_schema(
        operation_id="visit_move",
        parameters=[schemas.IF_MATCH],
        request=schemas.MOVED_VISIT,
        responses={200: schemas.VISIT},
    )
    def patch(self, request: Request, pk: UUID) -> Response:
        """Office: move it to another time or other technicians; doubts as when it is booked."""
        actor = self.office_only()
        visit = found(Visit.objects.visible_to(actor), pk)
        rev = based_on(request, visit)
        body = body_of(request)
        only(body, ("start", "end", "technicians", doubts.FIELD), ())
        start = moment(body, "start") if "start" in body else visit.start
        end = moment(body, "end") if "end" in body else visit.end
        people = (
            technicians_in(body, "technicians")
            if "technicians" in body
            else list(visit.technicians.all())
        )
        visit_booking.day_check(start, actor.at)
        doubts.doubts_check(body, people, start, end)
        visit = visit_booking.move(
            visit=visit, start=start, end=end, technicians=people, rev=rev, by=actor, at=actor.at
        )
        return Response(_shown(visit), headers={"ETag": etag(visit)})


class Transition(Operation):
    """The steps of a visit."""

    @extend_schema(
        operation_id="visit_transition", request=schemas.TRANSITION, responses={200: schemas.VISIT}
    )
    def post(self, request: Request, pk: UUID) -> Response:
        """Office, or the technician of the visit: bring it to another state."""
        visit = found(Visit.objects.visible_to(self.actor), pk)
        body = body_of(request)
        only(body, ("to", "reason"), ("to",))
        to = text_in(body, "to", 40).strip().replace(" ", "_")
        if to not in State.values:
            message = "to: " + _("one of %(allowed)s") % {"allowed": ", ".join(State.values)}
            raise Invalid(
                [{"pointer": "/to", "value": body["to"], "message": message,
                  "allowed": list(State.values)}]
            )  # fmt: skip
        reason = text_in(body, "reason")
        if to == State.WRITTEN_UP and visit.state == State.UNDER_WAY:
            visit_closing.finish(visit=visit, by=self.actor, at=self.actor.at)
        else:
            visit_booking.step(visit=visit, to=to, by=self.actor, at=self.actor.at, reason=reason)
        visit.refresh_from_db()
        return Response(_shown(visit), headers={"ETag": etag(visit)})


class Assessment(Operation):
    """What a visit leads to."""

    @extend_schema(operation_id="visit_assessment", responses={200: schemas.RESULT})
    def get(self, request: Request, pk: UUID) -> Response:
        """Office, or the technician of the visit: derived values, judgements, advice."""
        visit = found(Visit.objects.visible_to(self.actor).select_related("place"), pk)
        result = visit_closing.result_of(visit=visit, by=self.actor, at=self.actor.at)
        return Response(result_shape(result, catalogue_current()))


class Values(Operation):
    """Answers, one by one or a few at a time."""

    @extend_schema(
        operation_id="visit_values", request=schemas.VALUES, responses={200: schemas.TAKEN}
    )
    def put(self, request: Request, pk: UUID) -> Response:
        """The technician of the visit, or the office: give answers; all or none."""
        visit = found(Visit.objects.visible_to(self.actor), pk)
        body = body_of(request)
        only(body, ("device", "values"), ("values",))
        rows = body["values"]
        if not isinstance(rows, list) or not 1 <= len(rows) <= 100:
            message = "values: " + _("a list of 1 to 100 is needed")
            raise Invalid([{"pointer": "/values", "value": None, "message": message}])
        sheets = set(visit.sheets.values_list("pk", flat=True))
        answers = [self._answer(row, index, sheets) for index, row in enumerate(rows)]
        taken = fields_set(
            visit=visit, answers=answers, device=text_in(body, "device", 60), at=self.actor.at,
            by=self.actor,
        )  # fmt: skip
        conflicts_refuse(taken)
        return Response(
            {
                "values": [
                    {"op_id": str(item.op_id), "outcome": item.outcome, "rev": item.rev}
                    for item in taken
                ]
            }
        )

    def _answer(self, row: Any, index: int, sheets: set[UUID]) -> Answer:
        where = f"/values/{index}"
        if not isinstance(row, dict):
            raise Invalid([{"pointer": where, "value": None, "message": _("an object is needed")}])
        only(
            row, ("op_id", "sheet", "path", "value", "base_rev"), ("op_id", "path", "value"), where
        )
        sheet = as_uuid(row["sheet"], f"{where}/sheet", "sheet") if row.get("sheet") else None
        if sheet is not None and sheet not in sheets:
            message = "sheet: " + _("not part of this visit")
            raise Invalid([{"pointer": f"{where}/sheet", "value": str(sheet), "message": message}])
        path = row["path"]
        if not isinstance(path, str) or len(path) > 200 or ("/" in path and sheet is None):
            message = "path: " + _("a place on a sheet is needed, and its sheet")
            raise Invalid([{"pointer": f"{where}/path", "value": None, "message": message}])
        base = row.get("base_rev")
        if base is not None and (isinstance(base, bool) or not isinstance(base, int) or base < 0):
            message = "base_rev: " + _("a whole number is needed")
            raise Invalid([{"pointer": f"{where}/base_rev", "value": None, "message": message}])
        op_id = as_uuid(row["op_id"], f"{where}/op_id", "op_id")
        return Answer(path, row["value"], op_id, sheet, base, f"{where}/value")


class Submission(Operation):
    """A whole visit at once."""

    @extend_schema(
        operation_id="visit_submission",
        parameters=[schemas.KEY_NEEDED],
        request=schemas.SUBMISSION,
        responses={200: schemas.RESULT},
    )
    def post(self, request: Request, pk: UUID) -> Response:
        """The technician of the visit, or the office: all answers, and the end of the visit."""
        visit = found(Visit.objects.visible_to(self.actor), pk)
        body = body_of(request)
        name = request.headers.get("Idempotency-Key", "").strip()

        def act() -> tuple[int, Any]:
            submission_check(body)
            result = visit_closing.submit(
                visit=visit, body=body, key=name, by=self.actor, at=self.actor.at
            )
            return 200, result_shape(result, catalogue_current())

        return once(request, self.actor, act, required=True)


class VisitReports(Operation):
    """The reports of a visit."""

    @extend_schema(
        operation_id="visit_reports",
        parameters=[OpenApiParameter("limit", int), OpenApiParameter("offset", int)],
        responses={200: schemas.listed(schemas.REPORT)},
    )
    def get(self, request: Request, pk: UUID) -> Response:
        """Office, or the technician of the visit."""
        visit = found(Visit.objects.visible_to(self.actor), pk)
        rows = (
            Report.objects.visible_to(self.actor)
            .filter(visit=visit)
            .prefetch_related("versions__release")
            .order_by("number")
        )
        return page(request, rows, lambda items: [report_shape(item) for item in items])
