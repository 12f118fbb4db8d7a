"""What a mail that came back says: not delivered, late, delivered, or marked as spam.

Delivery status notifications by RFC 3464 with the codes of RFC 3463, complaints by RFC 5965; both
read with the standard library. All that is read here was written by strangers.
"""

import re
from collections.abc import Iterator
from dataclasses import dataclass
from email import message_from_bytes, policy
from email.message import EmailMessage, Message
from uuid import UUID

from apps.core.verp import returned_letter

# headers in which mail servers keep to whom a mail was handed over
_HANDED_TO = ("Delivered-To", "X-Original-To", "Envelope-To", "To")
STATUS = re.compile(r"\b([245])\.(\d{1,3})\.(\d{1,3})\b")
MOST_WORDS = 300
FAILED, DELAYED, DELIVERED, COMPLAINED = "failed", "delayed", "delivered", "complained"


@dataclass(frozen=True)
class Returned:
    """One notice. `status`: the enhanced code; `words`: what the server said, one line."""

    what: str
    status: str
    recipient: str
    words: str
    letter_id: UUID | None
    message_id: str

    @property
    def for_good(self) -> bool:
        """True where the address itself takes no mail: it is unknown, has moved, or is closed.

        RFC 3463: X.1 is about addresses; X.2.1 is a mailbox that is switched off. A full mailbox,
        a mail too large and a rule against its content say nothing of the address.
        """
        if self.what == COMPLAINED:
            return True
        if self.what != FAILED or not self.status.startswith("5."):
            return False
        return self.status.split(".")[1] == "1" or self.status == "5.2.1"


def read_returned(raw: bytes) -> Returned | None:
    """Return what a mail from the mailbox of returned mail says; None where it is something else."""
    try:
        message = message_from_bytes(raw, policy=policy.default)
        kind = str(message.get_param("report-type", "")).lower()
        if message.get_content_type() != "multipart/report":
            return None
        if kind == "delivery-status":
            return _status(message)
        return _complaint(message) if kind == "feedback-report" else None
    except (ValueError, LookupError, AttributeError, TypeError):
        # a header that breaks the standard library's reader breaks nothing of ours
        return None


def line(value: object) -> str:
    """Return what a stranger wrote as one printable line, cut short."""
    text = "".join(c if c.isprintable() else " " for c in str(value or ""))
    return " ".join(text.split())[:MOST_WORDS]


def _parts(message: Message, kind: str) -> Iterator[Message]:
    return (part for part in message.walk() if part.get_content_type() == kind)


def _blocks(message: Message, kind: str) -> list[Message]:
    """Return the groups of fields of a report's machine-readable part."""
    blocks: list[Message] = []
    for part in _parts(message, kind):
        held = part.get_payload()
        blocks += (
            [block for block in held if isinstance(block, Message)]
            if isinstance(held, list)
            else [message_from_bytes(str(held).encode(), policy=policy.default)]
        )
    return blocks


def _typed(block: Message, name: str) -> str:
    """Return a field of the form 'type; value' without its type."""
    kind, mark, value = line(block.get(name)).partition(";")
    return (value if mark else kind).strip()


def _status(message: EmailMessage) -> Returned | None:
    for block in _blocks(message, "message/delivery-status"):
        action = line(block.get("Action")).lower()
        if action not in (FAILED, DELAYED, DELIVERED):
            continue
        words = _typed(block, "Diagnostic-Code")
        code = STATUS.search(line(block.get("Status"))) or STATUS.search(words)
        recipient = _typed(block, "Original-Recipient") or _typed(block, "Final-Recipient")
        return Returned(
            action, code.group(0) if code else "", recipient.lower(),
            words or line(block.get("Status")), _letter_of(message), _original_id(message),
        )  # fmt: skip
    return None


def _complaint(message: EmailMessage) -> Returned | None:
    for block in _blocks(message, "message/feedback-report"):
        kind = line(block.get("Feedback-Type")).lower()
        if not kind or kind == "not-spam":
            continue
        recipient = line(block.get("Original-Rcpt-To")).strip("<>").lower()
        return Returned(COMPLAINED, "", recipient, kind, _letter_of(message), _original_id(message))
    return None


def _letter_of(message: EmailMessage) -> UUID | None:
    """Return the letter by the address that the notice was sent to."""
    for name in _HANDED_TO:
        for value in message.get_all(name, []):
            found = returned_letter(str(value))
            if found is not None:
                return found
    return None


def _original_id(message: EmailMessage) -> str:
    """Return the Message-ID of the mail that came back, as far as the notice holds it."""
    for part in message.walk():
        if part.get_content_type() == "text/rfc822-headers":
            held = message_from_bytes(str(part.get_payload()).encode(), policy=policy.default)
            return line(held.get("Message-ID"))
        if part.get_content_type() == "message/rfc822":
            inside = part.get_payload(0)
            return line(inside.get("Message-ID")) if isinstance(inside, Message) else ""
    return ""
