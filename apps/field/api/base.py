"""What the phone's operations share: the server's time on every answer, the phone's own mark."""

from typing import Any
from uuid import UUID

from django.utils.translation import gettext as _
from rest_framework.request import Request
from rest_framework.response import Response

from apps.accounts.choices import Role
from apps.accounts.models import AccessToken
from apps.accounts.services import token_note_phone
from apps.core import clock
from apps.core.exceptions import Forbidden
from apps.flows.operation import PHONE, Operation
from apps.visits.models import Phone
from apps.visits.services.phones import phone_admit, phone_contact, phone_is_cut_off


class PhoneOperation(Operation):
    """An operation of a phone."""

    def finalize_response(self, request: Request, response: Any, *args: Any, **kwargs: Any) -> Any:
        """Say the server's time: a phone's clock may be wrong, and no other site says it."""
        answer = super().finalize_response(request, response, *args, **kwargs)
        answer["X-Server-Time"] = clock.now().isoformat()
        return answer

    def phone(self, pk: UUID, said: dict[str, Any] | None = None) -> Phone:
        """Return the phone that asks, heard from now. Raises Forbidden where it is cut off."""
        user: Any = self.request.user
        found = phone_contact(pk=pk, user=user, said=said, at=self.actor.at)
        self.remember(pk)
        phone_admit(pk)
        return found

    def elsewhere(self, pk: UUID) -> bool:
        """Tell whether this sign-in is on another phone, one that is cut off."""
        held = self.phone_held()
        return held is not None and held != pk and phone_is_cut_off(held)

    def remember(self, pk: UUID) -> None:
        """Keep with the sign-in which phone it is on: what comes without the mark is the phone's too."""
        token, session = self.request.auth, self.request._request.session
        if isinstance(token, AccessToken):
            if token.phone is None:
                token_note_phone(token=token, phone=pk)
        elif session.get(PHONE) != str(pk):
            session[PHONE] = str(pk)

    def technician(self) -> None:
        """Raise Forbidden for anybody who makes no rounds."""
        if self.actor.role != Role.TECHNICIAN:
            raise Forbidden(_("Only a technician's phone holds a round."))


def answer(body: dict[str, Any], status: int = 200) -> Response:
    """Return a body as it is."""
    return Response(body, status=status)
