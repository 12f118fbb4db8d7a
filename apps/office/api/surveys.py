"""Surveys of places: read, written down, changed."""

from collections.abc import Mapping
from typing import Any
from uuid import UUID

from django.utils.translation import gettext as _
from drf_spectacular.utils import OpenApiParameter, extend_schema
from rest_framework.request import Request
from rest_framework.response import Response

from apps.calc.design.survey import concerns, missing
from apps.catalogue.selectors import catalogue_current
from apps.clients.models import Place
from apps.core.scoping import Actor
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
    uuid_in,
)
from apps.office.api import schemas
from apps.office.api.bodies import as_typed, fault, held_typed, judged
from apps.office.api.shapes import iso
from apps.office.api.survey_schemas import ANSWERS, FIRST, NEW_SURVEY, SURVEY, SURVEY_CHANGE
from apps.office.forms.survey import SurveyForm
from apps.proposals.models import SiteSurvey, SurveyPhoto
from apps.proposals.selectors import survey_seen
from apps.proposals.services import survey_save
from apps.proposals.survey_words import concern_words, left_empty

FIELDS = (*FIRST, *ANSWERS)


def photo_shape(row: SurveyPhoto) -> dict[str, Any]:
    """Return what is known of a photo; its picture has an address of its own."""
    return {
        "id": str(row.pk), "caption": row.caption, "width": row.width, "height": row.height,
        "sha256": row.sha256,
    }  # fmt: skip


def survey_shape(row: SiteSurvey) -> dict[str, Any]:
    """Return a survey with what it says."""
    seen = survey_seen(row)
    return {
        "id": str(row.pk), "place": str(row.place_id), "on": iso(row.on),
        "surveyed_by": row.surveyed_by, "answers": {n: seen[n] if seen[n] != "" else None for n in seen},
        "concerns": [
            {"code": c.code, "level": c.level, "text": concern_words(c)} for c in concerns(seen)
        ],
        "open": list(missing(seen)), "left_empty": list(left_empty(seen)),
        "photos": [photo_shape(photo) for photo in row.photos.all()],
        "changed_at": iso(row.changed_at), "changed_by": row.changed_by, "rev": row.rev,
    }  # fmt: skip


def place_in(body: Mapping[str, Any], actor: Actor) -> Place:
    """Return the place that a body names. Raises Invalid where there is none."""
    pk = uuid_in(dict(body), "place")
    row = Place.objects.visible_to(actor).select_related("client").filter(pk=pk).first()
    if row is None:
        raise fault("/place", _("there is no such place"), str(pk))
    found_row: Place = row
    return found_row


def _rows(actor: Actor) -> Any:
    rows = SiteSurvey.objects.visible_to(actor).select_related("water", "place")
    return rows.prefetch_related("photos").order_by("-on", "-made_at", "id")


def _values(data: Mapping[str, str]) -> dict[str, Any]:
    return judged(SurveyForm({"rev": "0", **data}, catalogue=catalogue_current())).values()


class Surveys(Operation):
    """The surveys."""

    filters = frozenset({"place"})

    @extend_schema(
        operation_id="surveys",
        parameters=[
            OpenApiParameter("place", UUID), OpenApiParameter("limit", int),
            OpenApiParameter("offset", int),
        ],
        responses={200: schemas.listed(SURVEY)},
    )  # fmt: skip
    def get(self, request: Request) -> Response:
        """Office: all, the newest first."""
        rows, place = _rows(self.office_only()), key(request, "place")
        rows = rows.filter(place_id=place) if place else rows
        return page(request, rows, lambda items: map(survey_shape, items))

    @extend_schema(
        operation_id="survey_add", parameters=[schemas.KEY], request=NEW_SURVEY,
        responses={201: SURVEY},
    )  # fmt: skip
    def post(self, request: Request) -> Response:
        """Office: write down a survey; what is left out nobody has looked at."""
        actor, body = self.office_only(), body_of(request)
        only(body, ("place", *FIELDS), ("place", *FIRST))
        place = place_in(body, actor)
        blank = SurveyForm(catalogue=catalogue_current())
        values = _values(as_typed(blank.fields, body))

        def act() -> tuple[int, Any]:
            row = survey_save(place=place, values=values, by=actor, at=actor.at)
            return 201, survey_shape(row)

        return once(request, actor, act)


class OneSurvey(Operation):
    """One survey."""

    @extend_schema(operation_id="survey", responses={200: SURVEY})
    def get(self, request: Request, pk: UUID) -> Response:
        """Office: a survey, what it says, and what nobody has looked at."""
        row = found(_rows(self.office_only()), pk)
        return Response(survey_shape(row), headers={"ETag": etag(row)})

    @extend_schema(
        operation_id="survey_change", parameters=[schemas.IF_MATCH], request=SURVEY_CHANGE,
        responses={200: SURVEY},
    )  # fmt: skip
    def patch(self, request: Request, pk: UUID) -> Response:
        """Office: change some answers; null takes one back."""
        actor = self.office_only()
        row = found(_rows(actor), pk)
        rev, body = based_on(request, row), body_of(request)
        only(body, FIELDS, ())
        held = survey_seen(row) | {"on": row.on, "surveyed_by": row.surveyed_by}
        kept = {name: value for name, value in held.items() if name not in body}
        blank = SurveyForm(catalogue=catalogue_current())
        values = _values(held_typed(kept) | as_typed(blank.fields, body))
        row = survey_save(
            place=row.place, survey=row, values=values, rev=rev, by=actor, at=actor.at
        )
        row = found(_rows(actor), row.pk)
        return Response(survey_shape(row), headers={"ETag": etag(row)})
