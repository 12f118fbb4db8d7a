"""Who did what, and the hash under which a secret is kept."""

import datetime as dt
import hashlib
from typing import Any

from apps.accounts.models import (
    AuditEntry,
    User,
)
from apps.core.scoping import Actor


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
