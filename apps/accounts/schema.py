"""How the schema names the ways to sign in."""

from typing import Any

from drf_spectacular.extensions import OpenApiAuthenticationExtension


class TokenScheme(OpenApiAuthenticationExtension):  # type: ignore[no-untyped-call]
    """The bearer token."""

    target_class = "apps.accounts.authentication.TokenAuthentication"
    name = "token"

    def get_security_definition(self, auto_schema: Any) -> dict[str, str]:
        """Return the OpenAPI security scheme."""
        return {"type": "http", "scheme": "bearer"}


class SessionScheme(OpenApiAuthenticationExtension):  # type: ignore[no-untyped-call]
    """The browser's session."""

    target_class = "apps.accounts.authentication.StaffSessionAuthentication"
    name = "session"

    def get_security_definition(self, auto_schema: Any) -> dict[str, str]:
        """Return the OpenAPI security scheme."""
        return {"type": "apiKey", "in": "cookie", "name": "sessionid"}
