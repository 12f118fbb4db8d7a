"""Who works with the phone."""

from typing import Any

from django.contrib import auth
from django.middleware.csrf import get_token
from django.utils.decorators import method_decorator
from django.utils.translation import gettext as _
from django.views.decorators.csrf import csrf_protect
from django.views.decorators.debug import sensitive_variables
from drf_spectacular.utils import OpenApiParameter, extend_schema
from rest_framework.permissions import AllowAny
from rest_framework.request import Request
from rest_framework.response import Response

from apps.accounts.signing import sign_in
from apps.field.api import shapes
from apps.field.api.base import PhoneOperation, answer
from apps.field.phone.shell import MIN_VERSION, version
from apps.flows.operation import body_of, key, only
from apps.visits.services.phones import phone_held_seq, phone_is_cut_off

DEVICE = [OpenApiParameter("device", str)]


class Session(PhoneOperation):
    """Signed in or not; a page that was opened with no signal learns its token here."""

    permission_classes = [AllowAny]
    filters = frozenset({"device"})
    # it tells a phone that it was cut off, and anybody may sign out
    open_when_cut_off = True

    def _body(self, request: Request) -> dict[str, Any]:
        return {
            "csrf": get_token(request._request),
            "version": version(),
            "min_version": MIN_VERSION,
        }

    def _signed_in(self, request: Request) -> Response:
        user: Any = request.user
        device = key(request, "device")
        who = {"id": str(user.pk), "name": str(user), "role": user.role}
        body = {"user": who, **self._body(request), "cut_off": False}
        if device is not None:
            cut = self.elsewhere(device) or phone_is_cut_off(device)
            body |= {"cut_off": cut, "held_seq": phone_held_seq(device)}
        return answer(body)

    def _nobody(self, request: Request) -> Response:
        problem = {
            "type": "about:blank", "title": _("Sign in"), "status": 401, "code": "sign_in",
            "detail": _("Name and password do not belong together."), **self._body(request),
        }  # fmt: skip
        return Response(problem, status=401, content_type="application/problem+json")

    @extend_schema(
        operation_id="phone_session",
        parameters=DEVICE,
        responses={200: shapes.SESSION},
        auth=[],
    )
    def get(self, request: Request) -> Response:
        """Anyone: who is signed in on this phone, null for nobody; a token to sign in with."""
        if request.user.is_authenticated:
            return self._signed_in(request)
        return answer({"user": None, **self._body(request), "cut_off": False})

    @extend_schema(
        operation_id="phone_sign_in",
        parameters=DEVICE,
        request=shapes.SIGN_IN,
        responses={200: shapes.SESSION},
        examples=shapes.SIGN_IN_EXAMPLES,
        auth=[],
    )
    @method_decorator(csrf_protect)
    @sensitive_variables("body")
    def post(self, request: Request) -> Response:
        """Anyone: sign in by name and password, under the same limits as the page."""
        body = body_of(request)
        only(body, ("username", "password"), ("username", "password"))
        name, word = str(body["username"])[:150], str(body["password"])[:200]
        user = sign_in(request._request, name, word)
        if user is None:
            return self._nobody(request)
        request.user = user
        device = key(request, "device")
        if device is not None and not self.elsewhere(device):
            self.remember(device)
        return self._signed_in(request)

    @extend_schema(operation_id="phone_sign_out", responses={200: shapes.SESSION})
    @method_decorator(csrf_protect)
    def delete(self, request: Request) -> Response:
        """Whoever is signed in: sign out; what the phone keeps stays on it."""
        auth.logout(request._request)
        return answer({**self._body(request), "user": None, "cut_off": False})
