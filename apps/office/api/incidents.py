"""Calls for help: opened, noted, closed."""

from typing import Any
from uuid import UUID

from django.utils.translation import gettext as _
from drf_spectacular.utils import OpenApiParameter, extend_schema
from rest_framework.exceptions import ParseError
from rest_framework.request import Request
from rest_framework.response import Response

from apps.calc.callscript import skills_wanted, walk
from apps.core.exceptions import Invalid
from apps.flows.operation import (
    Operation,
    based_on,
    body_of,
    etag,
    found,
    key,
    once,
    only,
    page,
    text_in,
    uuid_in,
)
from apps.incidents import selectors, services
from apps.incidents.choices import Stand
from apps.incidents.models import Incident, IncidentNote
from apps.office.api import schemas
from apps.office.api.shapes import iso
from apps.systems.models import System

LONG = 2000
NOTE = 4000


def incident_shape(row: Incident) -> dict[str, Any]:
    """Return an incident, with the step of the script that comes next and who has to go."""
    stands = walk(row.answers)
    return {
        "id": str(row.pk),
        "system": str(row.system_id),
        "place": str(row.system.place_id),
        "kind": row.kind,
        "state": row.state,
        "opened_at": iso(row.opened_at),
        "caller": row.caller,
        "said": row.said,
        "answers": row.answers,
        "next": stands.next.code if stands.next else None,
        "urgency": stands.urgency or None,
        "who": list(stands.who),
        "skills": list(skills_wanted(row.kind, row.answers)),
        "visit": str(row.visit_id) if row.visit_id else None,
        "cause": row.cause or None,
        "cause_words": row.cause_words,
        "outcome": row.outcome,
        "fish_lost": row.fish_lost,
        "closed_at": iso(row.closed_at),
        "rev": row.rev,
    }


def note_shape(row: IncidentNote) -> dict[str, Any]:
    """Return a note of an incident; of an answer or an act the codes and figures."""
    return {
        "id": str(row.pk), "at": iso(row.at), "kind": row.kind, "text": row.text, "what": row.what,
    }  # fmt: skip


class Incidents(Operation):
    """The incidents."""

    filters = frozenset({"state", "system"})

    @extend_schema(
        operation_id="incidents",
        parameters=[
            OpenApiParameter("state", str, enum=Stand.values), OpenApiParameter("system", UUID),
            OpenApiParameter("limit", int), OpenApiParameter("offset", int),
        ],
        responses={200: schemas.listed(schemas.INCIDENT)},
    )  # fmt: skip
    def get(self, request: Request) -> Response:
        """Office: all; technician: those that a visit of one's own followed."""
        rows = selectors.incidents_of(self.actor)
        system, state = key(request, "system"), request.query_params.get("state")
        if system is not None:
            rows = rows.filter(system_id=system)
        if state is not None:
            if state not in Stand.values:
                raise ParseError(
                    _("state=%(state)s: one of %(allowed)s")
                    % {"state": repr(state), "allowed": ", ".join(Stand.values)}
                )
            rows = rows.filter(state=state)
        return page(request, rows, lambda items: [incident_shape(item) for item in items])

    @extend_schema(
        operation_id="incident_open", parameters=[schemas.KEY], request=schemas.NEW_INCIDENT,
        responses={201: schemas.INCIDENT},
    )  # fmt: skip
    def post(self, request: Request) -> Response:
        """Office: open one for a system."""
        actor = self.office_only()
        body = body_of(request)
        only(body, ("system", "kind", "said", "caller", "id"), ("system", "kind"))

        def act() -> tuple[int, Any]:
            system = System.objects.visible_to(actor).filter(pk=uuid_in(body, "system")).first()
            if system is None:
                message = "system: " + _("there is no such system")
                raise Invalid([{"pointer": "/system", "value": body["system"], "message": message}])
            row = services.incident_open(
                system=system, kind=text_in(body, "kind", 40), said=text_in(body, "said", LONG),
                caller=text_in(body, "caller", 120), by=actor, at=actor.at,
                pk=uuid_in(body, "id") if body.get("id") else None,
            )  # fmt: skip
            return 201, incident_shape(row)

        answer = once(request, actor, act)
        if answer.status_code == 201 and isinstance(answer.data, dict):
            where = f"/api/v1/incidents/{answer.data['id']}"
            answer["Location"] = request.build_absolute_uri(where)
            answer["ETag"] = f'"{answer.data["id"]}-{answer.data["rev"]}-1"'
        return answer


class OneIncident(Operation):
    """One incident."""

    @extend_schema(operation_id="incident", responses={200: schemas.INCIDENT_WITH_NOTES})
    def get(self, request: Request, pk: UUID) -> Response:
        """Office: any, with its notes; technician: one that a visit of one's own followed."""
        row = found(selectors.incidents_of(self.actor), pk)
        notes = IncidentNote.objects.visible_to(self.actor).filter(incident=row)
        shown = incident_shape(row) | {"notes": [note_shape(note) for note in notes]}
        return Response(shown, headers={"ETag": etag(row)})


class IncidentNotes(Operation):
    """The notes of an incident."""

    @extend_schema(
        operation_id="incident_note", parameters=[schemas.KEY], request=schemas.NEW_NOTE,
        responses={201: schemas.NOTE},
    )  # fmt: skip
    def post(self, request: Request, pk: UUID) -> Response:
        """Office, or the technician of the visit that followed: add a note; it stays as it is."""
        actor = self.actor
        row = found(selectors.incidents_of(actor), pk)
        body = body_of(request)
        only(body, ("text", "id"), ("text",))

        def act() -> tuple[int, Any]:
            note = services.incident_note(
                incident=row, text=text_in(body, "text", NOTE), by=actor, at=actor.at,
                pk=uuid_in(body, "id") if body.get("id") else None,
            )  # fmt: skip
            return 201, note_shape(note)

        return once(request, actor, act)


class CloseIncident(Operation):
    """The end of an incident."""

    @extend_schema(
        operation_id="incident_close", parameters=[schemas.IF_MATCH], request=schemas.CLOSING,
        responses={200: schemas.INCIDENT},
    )  # fmt: skip
    def post(self, request: Request, pk: UUID) -> Response:
        """Office: close it with what it was and how it ended."""
        actor = self.office_only()
        row = found(selectors.incidents_of(actor), pk)
        rev = based_on(request, row)
        body = body_of(request)
        only(body, ("cause", "cause_words", "outcome", "fish_lost"), ("cause", "outcome"))
        lost = body.get("fish_lost")
        if lost is not None and (isinstance(lost, bool) or not isinstance(lost, int)):
            message = "fish_lost: " + _("a whole number is needed")
            raise Invalid([{"pointer": "/fish_lost", "value": None, "message": message}])
        row = services.incident_close(
            incident=row, rev=rev, cause=text_in(body, "cause", 40),
            cause_words=text_in(body, "cause_words"), outcome=text_in(body, "outcome", LONG),
            fish_lost=lost, by=actor, at=actor.at,
        )  # fmt: skip
        return Response(incident_shape(row), headers={"ETag": etag(row)})
