"""Changes of this app."""

import datetime as dt
import hashlib
import json
import secrets
from typing import Any
from uuid import UUID

from django.contrib.sessions.models import Session
from django.db import IntegrityError, transaction
from django.db.models import F, QuerySet
from django.utils.translation import gettext as _

from apps.accounts.choices import Purpose
from apps.accounts.holidays_known import where_checked
from apps.accounts.models import (
    AccessToken,
    AuditEntry,
    CalendarFeed,
    ClientLink,
    Closure,
    Firm,
    IdempotencyKey,
    SignInCount,
    StaffSession,
    User,
)
from apps.accounts.selectors import holidays_between
from apps.core.exceptions import Conflict, DomainError, Invalid, TooMany
from apps.core.scoping import Actor

SIGN_IN_LIMIT = 8
SIGN_IN_WINDOW = dt.timedelta(minutes=10)
# phones, computers, somebody at home: more than that is a mistake
FEEDS_MOST = 8
READ_NOTED = dt.timedelta(minutes=10)
KEY_KEPT = dt.timedelta(days=30)
# nobody is closed for longer
CLOSED_DAYS = 366


def digest_of(secret: str) -> str:
    """Return the hash under which a secret of at least 128 random bits is kept."""
    return hashlib.sha256(secret.encode()).hexdigest()


def audit(
    *,
    at: dt.datetime,
    by: Actor | User | str,
    verb: str,
    kind: str,
    object_id: object,
    change: dict[str, Any] | None = None,
) -> AuditEntry:
    """Write who did what, in the caller's transaction."""
    if isinstance(by, Actor):
        who = f"{by.role}:{by.user_id or by.client_id or by.reason}"
    else:
        who = str(getattr(by, "pk", by))
    return AuditEntry.objects.create(
        at=at, actor=who[:160], verb=verb, kind=kind, object_id=str(object_id), change=change or {}
    )


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


@transaction.atomic
def link_issue(
    *,
    client_id: UUID,
    purpose: str,
    at: dt.datetime,
    days: int = 180,
    contact_id: UUID | None = None,
    subject_id: UUID | None = None,
    secret: str = "",
) -> str:
    """Make a client's link, keep its hash, return its secret part.

    `secret` may be given where the same letter is prepared again: same secret, same link.
    """
    secret = secret or secrets.token_urlsafe(32)
    ClientLink.objects.get_or_create(
        digest=digest_of(secret),
        defaults={
            "client_id": client_id,
            "contact_id": contact_id,
            "purpose": purpose,
            "subject_id": subject_id,
            "made_at": at,
            "ends_at": at + dt.timedelta(days=days),
        },
    )
    return secret


def link_find(secret: str, at: dt.datetime, purposes: tuple[str, ...] = ()) -> ClientLink | None:
    """Return the link if it is known, not revoked and not over; otherwise None."""
    return _links(at, purposes).filter(digest=digest_of(secret)).first()


def link_held(pk: UUID, at: dt.datetime, purposes: tuple[str, ...] = ()) -> ClientLink | None:
    """Return the link of this number on the same terms; the number alone proves nothing."""
    return _links(at, purposes).filter(pk=pk).first()


def _links(at: dt.datetime, purposes: tuple[str, ...]) -> QuerySet[ClientLink]:
    wanted = purposes or tuple(Purpose.values)
    return ClientLink.objects.filter(revoked_at__isnull=True, ends_at__gt=at, purpose__in=wanted)


@transaction.atomic
def links_revoke(*, client_id: UUID, at: dt.datetime, by: Actor, reason: str = "") -> int:
    """Revoke every open link and calendar of a client; return how many there were."""
    count = sum(
        rows.filter(client_id=client_id, revoked_at__isnull=True).update(revoked_at=at)
        for rows in (ClientLink.objects, CalendarFeed.objects)
    )
    change = {"reason": reason, "links": count}
    audit(at=at, by=by, verb="revoked links", kind="client", object_id=client_id, change=change)
    return count


@transaction.atomic
def feed_issue(
    *,
    at: dt.datetime,
    by: Actor,
    user: User | None = None,
    client_id: UUID | None = None,
    contact_id: UUID | None = None,
) -> str:
    """Make a calendar of a member of the staff or of a client, keep its hash, return its secret.

    Raises Conflict where there are as many as anybody needs.
    """
    whose = {"user": user, "client_id": client_id, "contact_id": contact_id}
    open_ones = CalendarFeed.objects.filter(
        user=user, client_id=client_id, contact_id=contact_id, revoked_at__isnull=True
    )
    if open_ones.count() >= FEEDS_MOST:
        raise Conflict(
            _("There are %(count)d calendar addresses already. End one that nobody needs first.")
            % {"count": FEEDS_MOST},
            "too_many",
        )
    secret = secrets.token_urlsafe(32)
    row = CalendarFeed.objects.create(digest=digest_of(secret), made_at=at, **whose)
    audit(at=at, by=by, verb="issued", kind="calendar", object_id=row.pk)
    return secret


def feed_find(secret: str) -> CalendarFeed | None:
    """Return the calendar if it is known, not revoked, and its person has not left."""
    row = (
        CalendarFeed.objects.filter(digest=digest_of(secret), revoked_at__isnull=True)
        .select_related("user")
        .first()
    )
    return None if row is None or (row.user and not row.user.is_active) else row


@transaction.atomic
def feed_revoke(*, feed: CalendarFeed, by: Actor, at: dt.datetime) -> None:
    """End a calendar's address; a second time does nothing."""
    if CalendarFeed.objects.filter(pk=feed.pk, revoked_at__isnull=True).update(revoked_at=at):
        audit(at=at, by=by, verb="revoked", kind="calendar", object_id=feed.pk)


def feed_read(*, feed: CalendarFeed, content: str, at: dt.datetime) -> dt.datetime:
    """Note that a calendar was read; return since when it has said what it says now.

    `content`: the hash of that. Written where it differs, and else once in ten minutes.
    """
    changes: dict[str, Any] = {}
    if feed.content != content or feed.content_at is None:
        # whole seconds: HTTP and calendars know no smaller ones
        feed.content, feed.content_at = content, at.replace(microsecond=0)
        changes = {"content": feed.content, "content_at": feed.content_at}
    if feed.read_at is None or at - feed.read_at >= READ_NOTED:
        changes |= {"read_at": at, "reads": F("reads") + 1}
    if changes:
        CalendarFeed.objects.filter(pk=feed.pk).update(**changes)
    return feed.content_at


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


@transaction.atomic
def country_set(*, country: str, subdivision: str, by: Actor, at: dt.datetime) -> Firm:
    """Say whose holidays the firm keeps; both empty for none. Raises Invalid naming the field."""
    land, part = where_checked(country, subdivision)
    firm = Firm.objects.select_for_update().get(pk=1)
    firm.country, firm.subdivision = land, part
    firm.save(update_fields=["country", "subdivision"])
    change = {"country": land, "subdivision": part}
    audit(at=at, by=by, verb="set holidays", kind="firm", object_id=firm.pk, change=change)
    return firm


@transaction.atomic
def quiet_hours_set(
    *, quiet_from: dt.time, quiet_until: dt.time, by: Actor, at: dt.datetime
) -> None:
    """Say when letters to clients wait, on the clock of whoever gets them; both the same: never."""
    firm = Firm.objects.select_for_update().get(pk=1)
    firm.quiet_from, firm.quiet_until = quiet_from, quiet_until
    firm.save(update_fields=["quiet_from", "quiet_until"])
    change = {"from": f"{quiet_from:%H:%M}", "until": f"{quiet_until:%H:%M}"}
    audit(at=at, by=by, verb="set quiet hours", kind="firm", object_id=firm.pk, change=change)


@transaction.atomic
def notices_set(
    *, quiet_client_days: int, renewal_days: int, low_stock_days: int, low_stock_letters: bool,
    by: Actor, at: dt.datetime,
) -> None:  # fmt: skip
    """Say when clients are written to by itself; 0: never.

    After so many days without a word from them, and so many before their agreement ends or their
    feed is used up; of that only where `low_stock_letters` says so, else the office is told alone.
    """
    firm = Firm.objects.select_for_update().get(pk=1)
    change = {
        "quiet_client_days": quiet_client_days, "renewal_days": renewal_days,
        "low_stock_days": low_stock_days, "low_stock_letters": low_stock_letters,
    }  # fmt: skip
    for name, value in change.items():
        setattr(firm, name, value)
    firm.save(update_fields=list(change))
    audit(at=at, by=by, verb="set notices", kind="firm", object_id=firm.pk, change=change)


@transaction.atomic
def closure_add(
    *, first: dt.date, last: dt.date, name: str, works: bool, by: Actor, at: dt.datetime
) -> Closure:
    """Add days off, or days on which the firm works although they are holidays.

    Raises Invalid for ends in the wrong order, more than a year, days that another row holds, and
    for work where there is no holiday.
    """
    # one at a time: what is looked for below must still be so when the row is stored
    list(Firm.objects.select_for_update().values_list("pk"))
    if last < first:
        raise _invalid("last", last, _("the last day must not come before the first"))
    if (last - first).days >= CLOSED_DAYS:
        raise _invalid("last", last, _("at most a year; add the rest as days of their own"))
    if works and not holidays_between(first, last):
        message = _("none of these days is a holiday of the firm's country; nothing to add")
        raise _invalid("works", first, message)
    met = Closure.objects.filter(first__lte=last, last__gte=first).order_by("first").first()
    if met is not None:
        message = _("%(name)s already holds days from %(first)s to %(last)s; remove it first")
        shown = {"name": met.name, "first": met.first, "last": met.last}
        raise _invalid("first", first, message % shown)
    row = Closure(first=first, last=last, name=name, works=works)
    row.full_clean()
    row.save()
    change = {"first": str(first), "last": str(last), "name": name, "works": works}
    audit(at=at, by=by, verb="added", kind="closure", object_id=row.pk, change=change)
    return row


@transaction.atomic
def closure_remove(*, closure: Closure, by: Actor, at: dt.datetime) -> None:
    """Take days off away again."""
    change = {"first": str(closure.first), "last": str(closure.last), "name": closure.name}
    audit(at=at, by=by, verb="removed", kind="closure", object_id=closure.pk, change=change)
    closure.delete()


def _invalid(field: str, value: dt.date, message: str) -> Invalid:
    row = {"pointer": f"/{field}", "value": str(value), "message": f"{field}: {message}"}
    return Invalid([row])
