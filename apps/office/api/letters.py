"""Letters and what became of them."""

from uuid import UUID

from django.utils.translation import gettext as _
from drf_spectacular.utils import OpenApiParameter, extend_schema
from rest_framework.exceptions import ParseError
from rest_framework.request import Request
from rest_framework.response import Response

from apps.flows.operation import Operation, found, key, page
from apps.office.api import schemas
from apps.office.api.shapes import letter_shape
from apps.reports.choices import Delivery
from apps.reports.models import Letter
from apps.reports.services.letters import letter_again, letter_now


class Letters(Operation):
    """The letters."""

    filters = frozenset({"visit", "state"})

    @extend_schema(
        operation_id="letters",
        parameters=[
            OpenApiParameter("visit", UUID), OpenApiParameter("state", str, enum=Delivery.values),
            OpenApiParameter("limit", int), OpenApiParameter("offset", int),
        ],
        responses={200: schemas.listed(schemas.LETTER)},
    )  # fmt: skip
    def get(self, request: Request) -> Response:
        """Office only: letters hold people's addresses."""
        rows = (
            Letter.objects.visible_to(self.office_only())
            .prefetch_related("steps")
            .order_by("-made_at", "id")
        )
        visit, state = key(request, "visit"), request.query_params.get("state")
        if visit is not None:
            rows = rows.filter(visit_id=visit)
        if state is not None:
            if state not in Delivery.values:
                raise ParseError(
                    _("state=%(state)s: one of %(allowed)s")
                    % {"state": repr(state), "allowed": ", ".join(Delivery.values)}
                )
            rows = rows.filter(state=state)
        return page(request, rows, lambda items: [letter_shape(item) for item in items])


class LetterAgain(Operation):
    """Send once more."""

    @extend_schema(operation_id="letter_again", request=None, responses={200: schemas.LETTER})
    def post(self, request: Request, pk: UUID) -> Response:
        """Office: send a failed or unsure letter again under the same Message-ID."""
        actor = self.office_only()
        letter = found(Letter.objects.visible_to(actor), pk)
        letter = letter_again(letter=letter, by=actor, at=actor.at)
        return Response(letter_shape(letter))


class LetterNow(Operation):
    """Send before the morning."""

    @extend_schema(operation_id="letter_now", request=None, responses={200: schemas.LETTER})
    def post(self, request: Request, pk: UUID) -> Response:
        """Office: send a letter now that waits for the end of quiet hours."""
        actor = self.office_only()
        letter = found(Letter.objects.visible_to(actor), pk)
        return Response(letter_shape(letter_now(letter=letter, by=actor, at=actor.at)))
