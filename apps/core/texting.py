"""Text messages: one small port, and two ways to send one.

`console` writes them to the log, for a demo. `http` posts them as JSON to a gateway's address: what
that has to answer is written down here and held by tests, since gateways have no standard.

    POST <address>
    Authorization: Bearer <token>
    Idempotency-Key: <key>
    {"to": "+32470123456", "from": "<sender>", "text": "..."}

    2xx taken, with {"id": "..."} where the gateway has a mark for it
    4xx refused for good, but 408, 425 and 429, which like 5xx mean: try again later
"""

import json
import logging
import re
from dataclasses import dataclass
from http.client import HTTPConnection, HTTPException, HTTPResponse, HTTPSConnection
from typing import Protocol
from urllib.parse import urlsplit

from django.conf import settings
from django.core.exceptions import ImproperlyConfigured

from apps.core.mail import Unreached, Unsure

logger = logging.getLogger(__name__)
TIMEOUT_S = 15
# three parts of a text in letters that GSM 03.38 does not know: 67 each
MOST_SIGNS = 201
# over the network a token never goes out in the clear
HERE = ("localhost", "127.0.0.1", "::1")
LATER = frozenset({408, 425, 429})
_NUMBER = re.compile(r"\+[1-9][0-9]{6,14}")
MOST_ANSWER = 4096


class Refused(Exception):
    """The gateway refuses the message for good, in its words."""


class Busy(Exception):
    """The gateway asks to come back later; nothing was sent."""


def number_of(typed: str) -> str:
    """Return a telephone number as E.164 writes it; empty where it is none of an international form.

    >>> number_of("+32 470 12 34 56"), number_of("0032 (470) 12-34-56"), number_of("0470 123456")
    ('+32470123456', '+32470123456', '')
    """
    bare = re.sub(r"[\s()./\-\u00a0]", "", typed)
    if bare.startswith("00"):
        bare = "+" + bare[2:]
    return bare if _NUMBER.fullmatch(bare) else ""


class Texts(Protocol):
    """What sends a text message."""

    def send(self, *, to: str, text: str, key: str) -> str:
        """Send a text to a number (E.164) and return the gateway's mark of it.

        The same key is the same message. Raises Unreached or Busy (nothing was sent), Refused (for
        good), Unsure (nobody knows).
        """


class ConsoleTexts:
    """Writes messages to the log instead of sending them; the number stays out of it."""

    def send(self, *, to: str, text: str, key: str) -> str:
        """Write it."""
        logger.log(logging.INFO, "text message %s to …%s: %s", key, to[-3:], text)
        return key


@dataclass(frozen=True)
class HttpTexts:
    """Posts messages to a gateway."""

    address: str
    token: str
    sender: str

    def send(self, *, to: str, text: str, key: str) -> str:
        """Post it; see the module for what the gateway answers."""
        body = json.dumps({"to": to, "from": self.sender, "text": text}).encode()
        parts = urlsplit(self.address)
        kind = HTTPSConnection if parts.scheme == "https" else HTTPConnection
        connection = kind(parts.hostname or "", parts.port, timeout=TIMEOUT_S)
        try:
            try:
                connection.connect()
            except OSError as error:
                raise Unreached(str(error)) from error
            path = (parts.path or "/") + (f"?{parts.query}" if parts.query else "")
            try:
                connection.request("POST", path, body, self._headers(key))
                return self._answer(connection.getresponse())
            except (OSError, HTTPException) as error:
                raise Unsure(str(error) or type(error).__name__) from error
        finally:
            connection.close()

    def _headers(self, key: str) -> dict[str, str]:
        return {
            "Authorization": f"Bearer {self.token}", "Content-Type": "application/json",
            "Accept": "application/json", "Idempotency-Key": key,
        }  # fmt: skip

    def _answer(self, response: HTTPResponse) -> str:
        said = response.read(MOST_ANSWER).decode(errors="replace")
        if 200 <= response.status < 300:
            return _mark(said)
        words = f"{response.status} {' '.join(said.split())[:200]}"
        if response.status in LATER or response.status >= 500:
            raise Busy(words)
        raise Refused(words)


def _mark(said: str) -> str:
    try:
        held = json.loads(said)
    except ValueError:
        return ""
    return str(held.get("id", ""))[:120] if isinstance(held, dict) else ""


def texts() -> Texts | None:
    """Return what sends text messages by the settings; None where nothing does.

    Raises ImproperlyConfigured for an address that is none.
    """
    where = settings.TEXT_GATEWAY
    if not where:
        return None
    if where == "console":
        return ConsoleTexts()
    parts = urlsplit(where)
    if parts.scheme == "https" or (parts.scheme == "http" and parts.hostname in HERE):
        return HttpTexts(where, settings.TEXT_TOKEN, settings.TEXT_SENDER)
    raise ImproperlyConfigured(f"TEXT_GATEWAY={where!r}: write console, or https://gateway/path")


@dataclass(frozen=True)
class TextMessage:
    """A text that is ready to go, sent as a mail is."""

    to: str
    body: str
    key: str

    @property
    def subject(self) -> str:
        """Return what stands for it in a list."""
        return self.body

    def send(self) -> int:
        """Send it. Raises what the port raises; Refused where no gateway is set."""
        gateway = texts()
        if gateway is None:
            raise Refused("no gateway is set; see TEXT_GATEWAY")
        gateway.send(to=self.to, text=self.body, key=self.key)
        return 1


def shortened(text: str) -> str:
    """Return a text that fits into three parts."""
    return text if len(text) <= MOST_SIGNS else text[: MOST_SIGNS - 1].rstrip() + "…"
