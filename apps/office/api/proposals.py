"""Proposals: written of a design, priced, drawn as versions, sent, answered, built."""

from collections.abc import Mapping
from typing import Any
from uuid import UUID

from django.db.models import Q, QuerySet
from django.http import HttpResponse
from django.utils.translation import gettext as _
from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import OpenApiParameter, extend_schema
from rest_framework.exceptions import ParseError
from rest_framework.request import Request
from rest_framework.response import Response

from apps.accounts.selectors import firm_current
from apps.catalogue.selectors import catalogue_current
from apps.core import clock, files
from apps.core.phrases import upper_first
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
    text_in,
    uuid_in,
)
from apps.flows.proposal_letters import proposal_send
from apps.office import services
from apps.office.api import schemas
from apps.office.api.bodies import as_typed, fault, judged
from apps.office.api.proposal_schemas import (
    ANSWER,
    BUILD,
    NEW_PROPOSAL,
    PROPOSAL,
    PROPOSAL_CHANGE,
    SENDING,
    SENT,
    SITE,
    TERMS,
    VERSION,
    WISH,
)
from apps.office.api.proposal_shapes import place_of, proposal_shape, terms_typed, version_shape
from apps.office.api.shapes import system_shape
from apps.office.api.surveys import place_in
from apps.office.designing import sized, written
from apps.office.forms.design import DesignForm, DesignNameForm
from apps.office.forms.proposals import AnswerForm, ProposalForm, ProposalLetterForm
from apps.proposals.choices import Answer, Stand
from apps.proposals.models import Proposal, ProposalVersion
from apps.proposals.selectors import sum_of, with_stand
from apps.proposals.services import proposal_answer, proposal_change, version_make
from apps.systems.choices import ComponentKind
from apps.systems.models import System
from apps.systems.selectors import with_parts


def _rows(actor: Actor) -> QuerySet[Proposal]:
    rows = with_stand(Proposal.objects.visible_to(actor), clock.today())
    return rows.select_related("place__client", "survey__water", "accepted").order_by("-number")


def _versions(actor: Actor) -> QuerySet[ProposalVersion]:
    rows = ProposalVersion.objects.visible_to(actor)
    return rows.select_related("sending", "proposal__place").prefetch_related("words_said")


def _answered(row: Proposal, status: int = 200) -> Response:
    shown = proposal_shape(row, firm_current().currency)
    return Response(shown, status=status, headers={"ETag": etag(row)})


class Proposals(Operation):
    """The proposals."""

    filters = frozenset({"place", "stand"})

    @extend_schema(
        operation_id="proposals",
        parameters=[
            OpenApiParameter("place", UUID), OpenApiParameter("stand", str, enum=Stand.values),
            OpenApiParameter("limit", int), OpenApiParameter("offset", int),
        ],
        responses={200: schemas.listed(PROPOSAL)},
    )  # fmt: skip
    def get(self, request: Request) -> Response:
        """Office: all, the newest first, each with where it is."""
        rows, currency = _rows(self.office_only()), firm_current().currency
        place, stand = key(request, "place"), request.query_params.get("stand")
        if place is not None:
            rows = rows.filter(place_id=place)
        if stand is not None:
            if stand not in Stand.values:
                raise ParseError(
                    _("stand=%(stand)s: one of %(allowed)s")
                    % {"stand": repr(stand), "allowed": ", ".join(Stand.values)}
                )
            rows = rows.filter(Q(stand=stand))
        return page(request, rows, lambda items: [proposal_shape(row, currency) for row in items])

    @extend_schema(
        operation_id="proposal_add", parameters=[schemas.KEY], request=NEW_PROPOSAL,
        responses={201: PROPOSAL},
    )  # fmt: skip
    def post(self, request: Request) -> Response:
        """Office: size a wish for a place and keep it as a proposal with the firm's prices."""
        actor, body, catalogue = self.office_only(), body_of(request), catalogue_current()
        only(body, ("place", "name", *WISH, *SITE), ("place", "name", *WISH))
        place, blank = place_in(body, actor), DesignForm(catalogue=catalogue)
        defaults = {"lift_m": "1.5", "pipe_m": "6"}
        form = judged(DesignForm(defaults | as_typed(blank.fields, body), catalogue=catalogue))
        naming = judged(DesignNameForm(as_typed(DesignNameForm.base_fields, body)))
        if sized(form, place, catalogue) is None:
            judged(form)

        def act() -> tuple[int, Any]:
            made = written(form, place, naming.cleaned_data["name"], catalogue, actor)
            return 201, proposal_shape(_rows(actor).get(pk=made.pk), firm_current().currency)

        return once(request, actor, act)


class OneProposal(Operation):
    """One proposal."""

    @extend_schema(operation_id="proposal", responses={200: PROPOSAL})
    def get(self, request: Request, pk: UUID) -> Response:
        """Office: a proposal with its lines, what it comes to, and where it is."""
        return _answered(found(_rows(self.office_only()), pk))

    @extend_schema(
        operation_id="proposal_change", parameters=[schemas.IF_MATCH], request=PROPOSAL_CHANGE,
        responses={200: PROPOSAL},
    )  # fmt: skip
    def patch(self, request: Request, pk: UUID) -> Response:
        """Office: change words, prices and terms; no more once it is answered."""
        actor = self.office_only()
        row = found(_rows(actor), pk)
        rev, body = based_on(request, row), body_of(request)
        only(body, TERMS, ())
        firm = firm_current()
        named = [(line.item.code, line.item.code, line.item.unit) for line in sum_of(row, firm.currency).lines]  # fmt: skip
        form = ProposalForm(
            terms_typed(row, body, {code for code, *_more in named}), currency=firm.currency,
            named=named,
        )  # fmt: skip
        changes = judged(form, place_of).changes()
        proposal_change(proposal=row, changes=changes, rev=rev, by=actor, at=actor.at)
        return _answered(found(_rows(actor), pk))


class Versions(Operation):
    """The versions of a proposal."""

    @extend_schema(
        operation_id="proposal_versions",
        parameters=[OpenApiParameter("limit", int), OpenApiParameter("offset", int)],
        responses={200: schemas.listed(VERSION)},
    )
    def get(self, request: Request, pk: UUID) -> Response:
        """Office: what the client was shown, the newest first, with what they wrote to it."""
        actor = self.office_only()
        row = found(Proposal.objects.visible_to(actor), pk)
        rows = _versions(actor).filter(proposal=row).order_by("-number")
        return page(request, rows, lambda items: map(version_shape, items))

    @extend_schema(
        operation_id="proposal_version_make", request=None, responses={200: VERSION, 201: VERSION}
    )
    def post(self, request: Request, pk: UUID) -> Response:
        """Office: keep what it says now as a version with its PDF; 200 where the last says the same."""
        actor = self.office_only()
        row = found(_rows(actor), pk)
        version, new = version_make(proposal=row, by=actor, at=actor.at)
        fresh = _versions(actor).get(pk=version.pk)
        return Response(version_shape(fresh), status=201 if new else 200)


class VersionPdf(Operation):
    """A version as a file."""

    @extend_schema(
        operation_id="proposal_version_pdf",
        responses={(200, "application/pdf"): OpenApiTypes.BINARY},
    )
    def get(self, request: Request, pk: UUID) -> HttpResponse:
        """Office: a version as it was shown to the client."""
        version = found(_versions(self.office_only()), pk)
        return files.pdf_answer(version.pdf, f"proposal-{version.proposal}-{version.number}")


class SendVersion(Operation):
    """Sending."""

    @extend_schema(operation_id="proposal_version_send", request=SENDING, responses={200: SENT})
    def post(self, request: Request, pk: UUID) -> Response:
        """Office: let the client read the newest version, and write to each who has not had it."""
        actor, body = self.office_only(), body_of(request)
        version = found(_versions(actor), pk)
        only(body, ("words",), ())
        form = judged(ProposalLetterForm(as_typed(ProposalLetterForm.base_fields, body)))
        count = proposal_send(
            version=version, words=form.cleaned_data["words"], by=actor, at=actor.at
        )
        shown = version_shape(_versions(actor).get(pk=pk))
        return Response({"letters": count, "version": shown})


class AnswerProposal(Operation):
    """What the client said."""

    @extend_schema(operation_id="proposal_answer", request=ANSWER, responses={200: PROPOSAL})
    def post(self, request: Request, pk: UUID) -> Response:
        """Office: note that it is accepted or declined, or open again."""
        actor, body = self.office_only(), body_of(request)
        row = found(_rows(actor), pk)
        only(body, ("answer", "on", "version", "said_by", "words"), ("answer",))
        version = _named(body, row, actor)
        typed = as_typed(AnswerForm.base_fields, {**body, "version": None})
        numbers = {"version": str(version.number)} if version else {}
        today = {"on": clock.today().isoformat()}
        form = judged(AnswerForm(today | typed | numbers, versions=[version] if version else []))
        data = form.cleaned_data
        proposal_answer(
            proposal=row, answer=data["answer"], on=data["on"], words=data["words"],
            said_by=data["said_by"], by=actor, at=actor.at,
            version=version if data["answer"] == Answer.ACCEPTED else None,
        )  # fmt: skip
        return _answered(found(_rows(actor), pk))


def _named(body: Mapping[str, Any], row: Proposal, actor: Actor) -> ProposalVersion | None:
    """Return the version that a body names. Raises Invalid for one of another proposal."""
    if body.get("version") is None:
        return None
    pk = uuid_in(dict(body), "version")
    version: ProposalVersion | None = _versions(actor).filter(pk=pk, proposal=row).first()
    if version is None:
        raise fault("/version", _("not a version of this proposal"), str(pk))
    return version


class BuildProposal(Operation):
    """The system of an accepted proposal."""

    @extend_schema(operation_id="proposal_build", request=BUILD, responses={201: schemas.SYSTEM})
    def post(self, request: Request, pk: UUID) -> Response:
        """Office: make the system that was accepted, with its parts and its care plan; once."""
        actor, body = self.office_only(), body_of(request)
        row = found(_rows(actor), pk)
        only(body, ("name",), ("name",))
        form = judged(DesignNameForm({"name": text_in(body, "name", 120)}))
        system = services.proposal_make_system(
            proposal=row, name=form.cleaned_data["name"], catalogue=catalogue_current(), by=actor,
            names={kind.value: upper_first(str(kind.label)) for kind in ComponentKind},
            at=actor.at,
        )  # fmt: skip
        return Response(
            system_shape(with_parts(System.objects.visible_to(actor)).get(pk=system.pk)), status=201
        )
