"""Reading a mailbox over IMAP (RFC 3501): what lies there, and taking away what was read."""

import imaplib
import ipaddress
import ssl
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from urllib.parse import unquote, urlsplit

TIMEOUT_S = 20
# a notice's own parts stand before the mail that it returns
MOST_BYTES = 262_144
MOST_MAILS = 200
PORTS = {"imaps": 993, "imap": 143}


class Unreadable(Exception):
    """The mailbox could not be opened or read, in words for the office."""


@dataclass(frozen=True)
class Mailbox:
    """Where the mailbox is: `imaps://host/folder`, or `imap://` with STARTTLS."""

    address: str
    user: str
    password: str

    @contextmanager
    def opened(self) -> Iterator["OpenMailbox"]:
        """Sign in, open the folder, and sign out at the end. Raises Unreadable."""
        try:
            connection = self._connect()
        except (OSError, imaplib.IMAP4.error, ValueError) as error:
            raise Unreadable(_words(error)) from error
        try:
            yield OpenMailbox(connection)
        except (OSError, imaplib.IMAP4.error) as error:
            raise Unreadable(_words(error)) from error
        finally:
            try:
                connection.logout()
            except (OSError, imaplib.IMAP4.error):
                connection.shutdown()

    def _connect(self) -> imaplib.IMAP4:
        parts = urlsplit(self.address)
        host, folder = parts.hostname or "", unquote(parts.path.strip("/")) or "INBOX"
        if parts.scheme not in PORTS or not host:
            raise ValueError(f"{self.address!r}: write imaps://host/folder")
        port = parts.port or PORTS[parts.scheme]
        context = ssl.create_default_context()
        connection: imaplib.IMAP4
        if parts.scheme == "imaps":
            connection = imaplib.IMAP4_SSL(host, port, ssl_context=context, timeout=TIMEOUT_S)
        else:
            connection = imaplib.IMAP4(host, port, timeout=TIMEOUT_S)
            if "STARTTLS" in connection.capabilities:
                connection.starttls(context)
            elif not _is_here(host):
                raise ValueError(f"{host} offers no TLS; the password is not sent in the clear")
        connection.login(self.user, self.password)
        done, _data = connection.select(f'"{folder}"')
        if done != "OK":
            raise ValueError(f"there is no folder {folder!r}")
        return connection


class OpenMailbox:
    """A folder that is open."""

    def __init__(self, connection: imaplib.IMAP4) -> None:
        self._connection = connection
        _kind, data = connection.response("UIDVALIDITY")
        first = data[0] if data else None
        self._validity = first.decode() if isinstance(first, bytes) else ""

    def mails(self) -> list[tuple[str, str]]:
        """Return (mark, number) of what lies here, oldest first. The mark names it for ever."""
        _done, data = self._connection.uid("SEARCH", "ALL")
        numbers = (data[0] or b"").split() if data else []
        return [(f"{self._validity}:{uid.decode()}", uid.decode()) for uid in numbers]

    def read(self, number: str) -> bytes:
        """Return the beginning of a mail, at most 256 kB; empty where it is gone."""
        _done, data = self._connection.uid("FETCH", number, f"(BODY.PEEK[]<0.{MOST_BYTES}>)")
        return next((item[1] for item in data if isinstance(item, tuple)), b"")

    def take_away(self, numbers: list[str]) -> None:
        """Delete what was read."""
        if numbers:
            self._connection.uid("STORE", ",".join(numbers), "+FLAGS", r"(\Deleted)")
            self._connection.expunge()


def _is_here(host: str) -> bool:
    try:
        return ipaddress.ip_address(host).is_loopback
    except ValueError:
        return host == "localhost"


def _words(error: Exception) -> str:
    held = error.args[0] if error.args else ""
    text = held.decode(errors="replace") if isinstance(held, bytes) else str(error)
    return text or type(error).__name__
