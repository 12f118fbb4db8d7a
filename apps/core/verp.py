"""The address to which a letter comes back: its own, so that the letter is known by it alone.

Variable envelope return path: what could not be delivered is sent to the envelope's sender
(RFC 5321, 4.5.5), and each letter has a sender of its own. A keyed mark in it keeps strangers from
making letters come back.
"""

import base64
import re
from uuid import UUID

from django.conf import settings
from django.utils.crypto import constant_time_compare, salted_hmac

_SALT = "letter-comes-back"
_MARK = 10
# a local part has at most 64 signs (RFC 5321, 4.5.3.1.1): the plus, the letter and the mark are 37
LONGEST_NAME = 64 - 37
_TAIL = re.compile(r"\+([a-z2-7]{26})([0-9a-f]{10})@", re.IGNORECASE)


def return_address(letter_id: UUID) -> str:
    """Return the envelope's sender of a letter; empty where the firm reads no returned mail."""
    name, at, domain = settings.BOUNCE_ADDRESS.partition("@")
    if not at:
        return ""
    key = base64.b32encode(letter_id.bytes).decode().rstrip("=").lower()
    return f"{name}+{key}{_mark(letter_id, settings.SECRET_KEY)}@{domain}"


def returned_letter(address: str) -> UUID | None:
    """Return the letter whose return address this is; None for any other, and for a forged one."""
    found = _TAIL.search(address)
    if found is None:
        return None
    key, mark = found.group(1).upper(), found.group(2).lower()
    letter_id = UUID(bytes=base64.b32decode(key + "=" * 6))
    keys = [settings.SECRET_KEY, *settings.SECRET_KEY_FALLBACKS]
    known = [_mark(letter_id, secret) for secret in keys]
    return letter_id if any(constant_time_compare(mark, one) for one in known) else None


def _mark(letter_id: UUID, secret: str) -> str:
    return salted_hmac(_SALT, str(letter_id), secret=secret, algorithm="sha256").hexdigest()[:_MARK]
