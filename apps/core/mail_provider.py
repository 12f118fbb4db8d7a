"""Mail through a provider's own interface, for a firm without an SMTP server (django-anymail).

The same ends as over SMTP: what was surely not taken may be tried again or has failed, and what may
have been taken is unsure. The provider reports what became of a letter to an address of ours.
"""

import re
from collections.abc import Iterator, Sequence
from typing import Any

import requests
from anymail.exceptions import (
    AnymailAPIError,
    AnymailRecipientsRefused,
    AnymailUnsupportedFeature,
)
from anymail.signals import AnymailTrackingEvent, EventType, RejectReason
from django.conf import settings
from django.core.mail import EmailMessage
from django.core.mail.backends.base import BaseEmailBackend
from django.urls import URLPattern
from django.utils.module_loading import import_string

from apps.core.mail import Unreached, Unsure
from apps.core.returned_mail import COMPLAINED, DELAYED, DELIVERED, FAILED, STATUS, Returned, line
from apps.core.texting import Busy, Refused

# what its metadata carries to the provider and back with each event
MARK = "message_id"
KINDS = {
    EventType.DELIVERED: DELIVERED,
    EventType.DEFERRED: DELAYED,
    EventType.COMPLAINED: COMPLAINED,
    EventType.BOUNCED: FAILED,
    EventType.REJECTED: FAILED,
    EventType.FAILED: FAILED,
}
# RFC 3463 codes for a provider's reasons, where the event names no code of the reader's server
REASONS = {
    RejectReason.INVALID: "5.1.3",
    RejectReason.BOUNCED: "5.1.0",
    RejectReason.TIMED_OUT: "5.4.7",
    RejectReason.BLOCKED: "5.7.1",
}
# what the options hold cannot be sent: nothing was
NOT_PUT_TOGETHER = requests.exceptions.InvalidHeader | requests.exceptions.MissingSchema
SHORTEST_KEY = 8


class ProviderBackend(BaseEmailBackend):
    """The provider's backend; raises Unreached, Busy, Refused and Unsure as the other ways do."""

    def send_messages(self, email_messages: Sequence[EmailMessage]) -> int:
        """Send each message; return how many went."""
        return sum(self._one(message) for message in email_messages)

    def _one(self, message: Any) -> int:
        message.metadata = {MARK: message.extra_headers.get("Message-ID", "")}
        try:
            count = _handed_over(message)
        except AnymailRecipientsRefused as error:
            raise Refused(_words(error)) from error
        except AnymailAPIError as error:
            raise _end_of(error) from error
        said = message.anymail_status.status or set()
        if "failed" in said:
            raise Refused("the provider could not send it")
        if not said <= {"sent", "queued"}:
            raise Unsure("the provider took it and did not say what becomes of it")
        return count


def _handed_over(message: Any) -> int:
    inner = import_string(f"anymail.backends.{settings.MAIL_PROVIDER}.EmailBackend")()
    try:
        return int(inner.send_messages([message]) or 0)
    except AnymailUnsupportedFeature as error:
        # found while the call is put together: nothing was sent. Such a provider names the
        # letter in its reports by its Message-ID, or not at all
        if "metadata" not in str(error):
            raise
        del message.metadata
        return int(inner.send_messages([message]) or 0)


def _end_of(error: AnymailAPIError) -> Exception:
    """Return what a failed call means: whether the letter may have been taken."""
    words, code = _words(error), error.status_code
    if code is None:
        return Unreached(words) if _never_there(error) else Unsure(words)
    if code in (401, 403, 407):
        # it does not know us: nothing of the letter's
        return Unreached(words)
    if code in (408, 429):
        return Busy(words)
    return Refused(words) if 400 <= code < 500 else Unsure(words)


def _words(error: Exception) -> str:
    """Return what an error says, without the keys: a call that cannot be put together may name one."""
    text = str(error)
    for key in _keys(settings.ANYMAIL):
        for written in (key, repr(key)[1:-1], key.strip()):
            text = text.replace(written, "…")
    return line(text)


def _keys(held: Any) -> Iterator[str]:
    """Yield the texts among the options that may be secret: neither addresses nor short words."""
    if isinstance(held, str):
        if len(held.strip()) >= SHORTEST_KEY and not held.startswith(("http:", "https:")):
            yield held
    elif isinstance(held, dict | list):
        for one in held.values() if isinstance(held, dict) else held:
            yield from _keys(one)


def _never_there(error: Exception) -> bool:
    """Return whether not even a connection came about."""
    if isinstance(error, requests.ConnectTimeout | NOT_PUT_TOGETHER):
        return True
    return isinstance(error, requests.ConnectionError) and "NewConnectionError" in repr(
        error.__cause__
    )


def event_returned(event: AnymailTrackingEvent) -> Returned | None:
    """Return what a provider's event says of a letter; None where it says nothing of its way."""
    what = KINDS.get(event.event_type)
    if what is None:
        return None
    if event.reject_reason == RejectReason.SPAM:
        what = COMPLAINED
    said = line(" ".join(str(part) for part in (event.mta_response, event.description) if part))
    named = re.search(STATUS, said)
    held = event.metadata if isinstance(event.metadata, dict) else {}
    status = named.group() if named else REASONS.get(event.reject_reason, "5.0.0")
    return Returned(
        what=what,
        status=status if what == FAILED else "",
        recipient=line(event.recipient),
        words=said,
        letter_id=None,
        message_id=line(held.get(MARK) or event.message_id),
    )


def event_addresses(provider: str) -> list[URLPattern]:
    """Return the address to which this provider reports, and none of the others'."""
    from anymail.urls import urlpatterns

    return [row for row in urlpatterns if row.name == f"{provider}_tracking_webhook"]
