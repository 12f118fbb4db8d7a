"""Who asks the API: a bearer token (RFC 6750) or a signed-in browser."""

from typing import Any

from django.utils.translation import gettext as _
from rest_framework.authentication import BaseAuthentication, SessionAuthentication
from rest_framework.exceptions import AuthenticationFailed
from rest_framework.request import Request

from apps.accounts.models import AccessToken, User
from apps.accounts.services import token_held


class TokenAuthentication(BaseAuthentication):
    """`Authorization: Bearer <token>`."""

    def authenticate(self, request: Request) -> tuple[User, AccessToken] | None:
        """Return user and token; None where no token is sent. Raises AuthenticationFailed."""
        header = request.headers.get("Authorization", "")
        scheme, _space, token = header.partition(" ")
        if scheme.lower() != "bearer":
            return None
        held = token_held(token.strip())
        if held is None:
            raise AuthenticationFailed(_("The token is unknown or revoked."))
        return held.user, held

    def authenticate_header(self, request: Request) -> str:
        """Return what a 401 names."""
        return 'Bearer realm="backyard"'


class StaffSessionAuthentication(SessionAuthentication):
    """A signed-in browser, with the usual protection against forged requests."""

    def authenticate_header(self, request: Request) -> Any:
        """Return what a 401 names."""
        return 'Bearer realm="backyard"'
