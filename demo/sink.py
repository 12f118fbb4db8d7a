"""A mail server that keeps every letter as a file instead of passing it on."""

import re
import threading
from email import message_from_bytes, policy
from pathlib import Path

from aiosmtpd.controller import Controller
from aiosmtpd.smtp import SMTP, Envelope, Session


class _Keeper:
    """Writes each message to <folder>/<number>-<recipient>.eml."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self.lock = threading.Lock()
        self.folder.mkdir(parents=True, exist_ok=True)

    async def handle_DATA(self, _server: SMTP, _session: Session, envelope: Envelope) -> str:
        """Keep the letter, then say so."""
        to = re.sub(r"[^a-z0-9.@-]", "_", envelope.rcpt_tos[0].lower())
        with self.lock:
            number = len(list(self.folder.glob("*.eml"))) + 1
            path = self.folder / f"{number:04d}-{to}.eml"
            part = path.with_suffix(".part")
            part.write_bytes(envelope.original_content or b"")
            part.rename(path)
        return "250 kept"


def start(folder: Path, port: int = 0) -> tuple[Controller, int]:
    """Start the sink on the loopback; return it and its port."""
    controller = Controller(_Keeper(folder), hostname="127.0.0.1", port=port or _free_port())
    controller.start()
    return controller, int(controller.port)


def _free_port() -> int:
    import socket

    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return int(probe.getsockname()[1])


def find(folder: Path, message_id: str) -> Path | None:
    """Return the kept letter with this Message-ID."""
    for path in sorted(folder.glob("*.eml")):
        message = message_from_bytes(path.read_bytes(), policy=policy.default)
        if str(message["Message-ID"]).strip() == message_id:
            return path
    return None
