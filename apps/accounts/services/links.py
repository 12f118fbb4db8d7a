"""A client's links, and calendars by link."""

import datetime as dt
import secrets
from typing import Any
from uuid import UUID

from django.db import transaction
from django.db.models import F, QuerySet
from django.utils.translation import gettext as _

from apps.accounts.choices import Purpose
from apps.accounts.models import (
    CalendarFeed,
    ClientLink,
    User,
)
from apps.accounts.services.record import audit, digest_of
from apps.core.exceptions import Conflict
from apps.core.scoping import Actor

# phones, computers, somebody at home: more than that is a mistake
FEEDS_MOST = 8
READ_NOTED = dt.timedelta(minutes=10)


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
