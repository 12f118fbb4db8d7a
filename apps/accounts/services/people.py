"""The staff: who they are, tokens, tries and sessions of signing in, keys of repeated requests."""

import datetime as dt
import hashlib
import json
import secrets
from typing import Any
from uuid import UUID

from django.contrib.sessions.models import Session
from django.db import IntegrityError, transaction
from django.db.models import F
from django.utils.translation import gettext as _

from apps.accounts.models import (
    AccessToken,
    IdempotencyKey,
    SignInCount,
    StaffSession,
    User,
)
from apps.accounts.services.record import audit, digest_of
from apps.core.exceptions import Conflict, DomainError, TooMany

SIGN_IN_LIMIT = 8
SIGN_IN_WINDOW = dt.timedelta(minutes=10)
KEY_KEPT = dt.timedelta(days=30)


@transaction.atomic
def user_add(*, username: str, role: str, password: str, at: dt.datetime, **more: str) -> User:
    """Add a member of the staff; `more`: first_name, last_name, phone. Raises ValidationError."""
    user = User(username=username, role=role, **more)
    user.set_password(password)
    user.full_clean()
    user.save()
    audit(at=at, by="command line", verb="added", kind="user", object_id=user.pk)
    return user


@transaction.atomic
def user_end(*, user: User, at: dt.datetime) -> None:
    """Shut a member of the staff out: sign-in, sessions, tokens and calendars; what they did stays."""
    user.is_active = False
    user.save(update_fields=["is_active"])
    keys = list(user.staff_sessions.values_list("session_key", flat=True))
    Session.objects.filter(session_key__in=keys).delete()
    user.staff_sessions.all().delete()
    user.tokens.filter(revoked_at__isnull=True).update(revoked_at=at)
    user.calendar_feeds.filter(revoked_at__isnull=True).update(revoked_at=at)
    audit(at=at, by="command line", verb="shut out", kind="user", object_id=user.pk)


@transaction.atomic
def token_issue(*, user: User, name: str, at: dt.datetime) -> str:
    """Make an access token, keep its hash, return it: it is shown this once."""
    token = secrets.token_urlsafe(32)
    row = AccessToken.objects.create(user=user, name=name, digest=digest_of(token), made_at=at)
    audit(at=at, by=user, verb="issued", kind="token", object_id=row.pk)
    return token


def token_held(token: str) -> AccessToken | None:
    """Return the row of a token that stands and whose user is active, or None."""
    return (
        AccessToken.objects.filter(
            digest=digest_of(token), revoked_at__isnull=True, user__is_active=True
        )
        .select_related("user")
        .first()
    )


def token_note_phone(*, token: AccessToken, phone: UUID) -> None:
    """Note on which phone a token works: the first that was heard from with it, and no other."""
    AccessToken.objects.filter(pk=token.pk, phone__isnull=True).update(phone=phone)


def sign_in_count(bucket: str, at: dt.datetime) -> None:
    """Count one try in a window. Raises TooMany over the limit.

    One conditional UPDATE counts, so parallel guesses cannot slip through between read and write.
    """
    with transaction.atomic():
        SignInCount.objects.get_or_create(
            bucket=bucket, defaults={"count": 0, "ends_at": at + SIGN_IN_WINDOW}
        )
        SignInCount.objects.filter(bucket=bucket, ends_at__lte=at).update(
            count=0, ends_at=at + SIGN_IN_WINDOW
        )
        counted = SignInCount.objects.filter(bucket=bucket, count__lt=SIGN_IN_LIMIT).update(
            count=F("count") + 1
        )
    if not counted:
        raise TooMany(
            _("Too many tries. Wait ten minutes, or ask the office to reset the password.")
        )


def sign_in_clear(bucket: str) -> None:
    """Forget the tries after a good sign-in."""
    SignInCount.objects.filter(bucket=bucket).delete()


def sign_in_counts_forget(at: dt.datetime) -> int:
    """Drop the counts whose window is over; return how many."""
    return SignInCount.objects.filter(ends_at__lte=at).delete()[0]


def session_note(
    *, user: User, session_key: str, browser: str, address: str, at: dt.datetime
) -> None:
    """Remember a signed-in browser."""
    StaffSession.objects.update_or_create(
        session_key=session_key,
        defaults={
            "user": user,
            "began_at": at,
            "browser": browser[:200],
            "address": address[:45],
        },
    )


def session_forget(session_key: str) -> None:
    """Take a browser that signs out off the list."""
    StaffSession.objects.filter(session_key=session_key).delete()


@transaction.atomic
def session_end(*, user: User, session_key: str, at: dt.datetime) -> None:
    """End one of the user's own sessions. Raises DomainError if it is not theirs."""
    # no database text holds a NUL; PostgreSQL refuses to look for one
    wanted = session_key.replace("\0", "")
    row = StaffSession.objects.filter(user=user, session_key=wanted).first()
    if row is None:
        raise DomainError(_("That session has ended already."), "not_found")
    Session.objects.filter(session_key=row.session_key).delete()
    row.delete()
    audit(at=at, by=user, verb="ended session", kind="user", object_id=user.pk)


def fingerprint(method: str, path: str, body: Any) -> str:
    """Return the hash that tells whether two requests with one key are the same request."""
    text = json.dumps([method, path, body], sort_keys=True, ensure_ascii=False)
    return hashlib.sha256(text.encode()).hexdigest()


def key_begin(*, user: User, key: str, print_: str, at: dt.datetime) -> tuple[IdempotencyKey, bool]:
    """Take a key for a request; call inside the transaction of the effect.

    Returns (row, fresh). Raises DomainError 422 for a key used with another body and Conflict
    for one whose first request is still running.
    """
    try:
        with transaction.atomic():
            row = IdempotencyKey.objects.create(user=user, key=key, fingerprint=print_, made_at=at)
        return row, True
    except IntegrityError:
        row = IdempotencyKey.objects.get(user=user, key=key)
    if row.fingerprint != print_:
        raise DomainError(
            _("This Idempotency-Key was used with another body; make a new key for a new request."),
            "key_reused",
        )
    if row.status is None:
        raise Conflict(_("The first request with this key is still running."), "still_running")
    return row, False


def key_finish(*, row: IdempotencyKey, status: int, body: Any) -> None:
    """Keep the answer with the key, in the same transaction as the effect."""
    row.status, row.body = status, body
    row.save(update_fields=["status", "body"])


def keys_forget(at: dt.datetime) -> int:
    """Drop keys older than 30 days; return how many."""
    return IdempotencyKey.objects.filter(made_at__lt=at - KEY_KEPT).delete()[0]
