"""Text messages beside letters: before a visit, on the way, later than was said."""

import datetime as dt
from typing import Any
from uuid import UUID

from django.conf import settings

from apps.accounts.selectors import firm_current
from apps.clients.models import Contact
from apps.clients.selectors import text_contacts
from apps.core.texting import TextMessage, number_of, shortened
from apps.reports.choices import Channel
from apps.reports.models import Letter
from apps.reports.rendering.mailing import Mail
from apps.reports.services.letters import letter_make
from apps.visits.models import Visit


def text_letters(
    *, kind: str, key: str, visit: Visit, parameters: dict[str, Any], at: dt.datetime
) -> list[Letter]:
    """Write a text message to each contact who gets them; none where no gateway is set."""
    return [
        letter_make(
            kind=kind, key=key, address=number, contact=contact, visit=visit,
            parameters=parameters, at=at, channel=Channel.TEXT,
        )
        for contact, number in text_readers(visit.place.client_id)
    ]  # fmt: skip


def text_readers(client_id: UUID) -> list[tuple[Contact, str]]:
    """Return the contacts of a client who get text messages, each with the number (E.164)."""
    if not settings.TEXT_GATEWAY:
        return []
    return [
        (contact, number)
        for contact in text_contacts(client_id)
        if (number := number_of(contact.phone))
    ]


def text_of(letter: Letter, mail: Mail) -> TextMessage:
    """Return a letter's one sentence as a text message, with who says it and whom to call."""
    firm = firm_current()
    said = " ".join(part for part in (f"{firm.name}:", mail.subject, firm.phone) if part)
    return TextMessage(letter.address, shortened(said), str(letter.pk))
