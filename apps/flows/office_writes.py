"""Letters that the office writes itself: its own words, what runs out, when the agreement ends."""

import datetime as dt
import hashlib
import json
from typing import Any
from uuid import UUID

from django.db import transaction
from django.utils.translation import gettext as _

from apps.accounts.services import audit
from apps.care.models import FeedCount
from apps.clients.models import Client, Contact
from apps.clients.selectors import letter_contacts
from apps.core.exceptions import Invalid
from apps.core.scoping import Actor
from apps.flows.noticing import low_stock_key, renewal_key
from apps.reports.choices import NOTICES, LetterKind
from apps.reports.models import Letter, Notice
from apps.reports.services.letters import letter_make


def _readers(client: Client, kind: str) -> list[Contact]:
    return [
        contact
        for contact in letter_contacts(client.pk)
        if kind not in NOTICES or contact.gets_notices
    ]


def _plain(value: Any) -> Any:
    if isinstance(value, dt.date):
        return value.isoformat()
    return str(value) if isinstance(value, UUID) else value


def _parameters(kind: str, values: dict[str, Any]) -> dict[str, Any]:
    held = {name: _plain(value) for name, value in values.items()}
    return held if kind == LetterKind.OWN else {"notices": [{"kind": str(kind), **held}]}


def letters_drafted(
    *, client: Client, kind: str, values: dict[str, Any], at: dt.datetime
) -> list[Letter]:
    """Return the letters as they would go out, one a reader, not kept and not sent."""
    return [
        Letter(kind=kind, contact=contact, address=contact.email, made_at=at,
               parameters=_parameters(kind, values))
        for contact in _readers(client, kind)
    ]  # fmt: skip


def _told_key(kind: str, values: dict[str, Any]) -> str:
    """Return the key under which a letter's reader is told something once; empty where there is none."""
    if kind == LetterKind.RENEWAL:
        return renewal_key(values["until"])
    count = values.get("count") if kind == LetterKind.LOW_STOCK else None
    return low_stock_key(count) if count else ""


@transaction.atomic
def letters_write(
    *, client: Client, kind: str, values: dict[str, Any], by: Actor, at: dt.datetime
) -> int:
    """Write the letters, one a reader; the same words on the same day go out once.

    Returns how many. Raises Invalid where nobody there gets letters of this kind, and for a count of
    feed that is another client's.
    """
    count = values.get("count")
    if count and not FeedCount.objects.filter(pk=count, system__place__client=client).exists():
        message = "count: " + _("this count is none of theirs; begin again from Due")
        raise Invalid([{"pointer": "/count", "value": str(count), "message": message}])
    drafts = letters_drafted(client=client, kind=kind, values=values, at=at)
    if not drafts:
        message = "words: " + _("nobody there gets letters of this kind; call them")
        raise Invalid([{"pointer": "/words", "value": None, "message": message}])
    said = json.dumps([kind, drafts[0].parameters, at.date().isoformat()], sort_keys=True)
    key = f"{kind}:{client.pk}:{hashlib.sha256(said.encode()).hexdigest()[:24]}"
    for draft in drafts:
        letter = letter_make(
            kind=kind, key=key, address=draft.address, contact=draft.contact, visit=None,
            parameters=draft.parameters, at=at,
        )  # fmt: skip
        told = _told_key(kind, values)
        if told and draft.contact is not None:
            # told is told: the day's notices do not say it once more
            Notice.objects.get_or_create(
                contact=draft.contact, key=told, defaults={"letter": letter, "at": at}
            )
    audit(at=at, by=by, verb="wrote to", kind="client", object_id=client.pk,
          change={"kind": str(kind)})  # fmt: skip
    return len(drafts)
