"""Signing in, however the name and password arrive."""

from django.conf import settings
from django.contrib import auth
from django.http import HttpRequest

from apps.accounts import services
from apps.accounts.models import User
from apps.core import clock


def address_of(request: HttpRequest) -> str:
    """Return where a request comes from, as far as it can be known."""
    forwarded = str(request.META.get("HTTP_X_FORWARDED_FOR", ""))
    if forwarded and getattr(settings, "SECURE_PROXY_SSL_HEADER", None):
        # the proxy appends the address that it saw; what stands before it anybody can write
        return forwarded.split(",")[-1].strip()
    return str(request.META.get("REMOTE_ADDR", ""))


def sign_in(request: HttpRequest, name: str, password: str) -> User | None:
    """Sign a member of the staff in; None where name and password do not belong together.

    Raises TooMany where this name was tried too often from this address.
    """
    if "\0" in name:  # nobody's: no database text holds it, and PostgreSQL refuses to look for it
        return None
    now = clock.now()
    bucket = f"{name.lower()[:60]}|{address_of(request)}"
    services.sign_in_count(bucket, now)
    user = auth.authenticate(request, username=name, password=password)
    if not isinstance(user, User):
        return None
    services.sign_in_clear(bucket)
    auth.login(request, user)
    services.session_note(
        user=user,
        session_key=str(request.session.session_key),
        browser=request.headers.get("User-Agent", ""),
        address=address_of(request),
        at=now,
    )
    return user


def password_holds(request: HttpRequest, password: str) -> bool:
    """Tell whether whoever is signed in knows their password. Raises TooMany likewise."""
    user = request.user
    bucket = f"again {user.pk}"
    services.sign_in_count(bucket, clock.now())
    holds = isinstance(user, User) and user.check_password(password)
    if holds:
        services.sign_in_clear(bucket)
    return holds


def signed_out(sender: object, request: HttpRequest, **_extra: object) -> None:
    """Take a browser off its owner's list, however it signs out."""
    services.session_forget(str(request.session.session_key))
