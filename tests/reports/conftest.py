"""A mail server that answers as it is told, and a letter to send."""

import asyncio
from collections import Counter
from collections.abc import Iterator
from email import message_from_bytes, policy
from email.message import EmailMessage
from typing import Any

import pytest
from aiosmtpd.controller import Controller

from apps.reports.models import Letter
from apps.reports.services.letters import letter_make
from demo.sink import _free_port
from tests import factories
from tests.factories import NOW


class Server:
    """An SMTP server that answers as it is told."""

    def __init__(self) -> None:
        self.answer = "250 taken"
        self.recipient = "250 OK"
        self.seen: Counter[str] = Counter()
        self.senders: list[str] = []
        self.messages: list[EmailMessage] = []

    async def handle_RCPT(self, _s: Any, _x: Any, envelope: Any, address: str, _o: Any) -> str:
        envelope.rcpt_tos.append(address)
        return self.recipient

    async def handle_DATA(self, server: Any, _x: Any, envelope: Any) -> str:
        message = message_from_bytes(envelope.content, policy=policy.default)
        self.seen[str(message["Message-ID"]).strip()] += 1
        self.senders.append(envelope.mail_from)
        self.messages.append(message)
        if self.answer == "drop":
            server.transport.close()
            await asyncio.sleep(0)
            return "421 gone"
        return self.answer


@pytest.fixture
def server(settings: Any) -> Iterator[Server]:
    held = Server()
    controller = Controller(held, hostname="127.0.0.1", port=_free_port())
    controller.start()
    settings.EMAIL_BACKEND = "apps.core.mail.PhasedSMTPBackend"
    settings.EMAIL_HOST, settings.EMAIL_PORT = "127.0.0.1", controller.port
    settings.EMAIL_TIMEOUT = 5
    yield held
    controller.stop()


@pytest.fixture
def letter() -> Letter:
    factories.firm()
    contact = factories.client("Okafor").contacts.get()
    return letter_make(
        kind="due_list", key="k", address=contact.email, contact=contact, visit=None,
        parameters={"on": "2026-06-11"}, at=NOW,
    )  # fmt: skip
