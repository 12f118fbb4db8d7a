"""A letter that only tries the mail, from the command line over a real connection."""

from io import StringIO
from typing import Any

import pytest
from django.core.management import CommandError, call_command

from apps.reports.models import Letter
from demo.sink import _free_port
from tests import factories
from tests.reports.conftest import Server

pytestmark = pytest.mark.django_db
TO = "robin@okafor.example"


def run(to: str = TO) -> str:
    """Run the command; return what it said."""
    out = StringIO()
    call_command("letter_test", to=to, stdout=out)
    return out.getvalue()


def test_it_arrives_and_the_answer_is_told(server: Server, settings: Any) -> None:
    factories.firm()
    settings.BOUNCE_ADDRESS = "returns@reedandroach.example"
    said = run()
    assert f"taken: look into the inbox of {TO}" in said
    assert "no TLS" in said
    (message,) = server.messages
    assert message["Auto-Submitted"] == "auto-generated"
    assert message["Reply-To"] == "office@reedandroach.example"
    assert str(message["Message-ID"]).strip() in said
    assert server.senders[0].startswith("returns+")
    assert {part.get_content_type() for part in message.walk()} >= {"text/plain", "text/html"}
    # it is kept nowhere, so that nobody takes it for a client's
    assert not Letter.objects.exists()


@pytest.mark.parametrize(
    ("recipient", "answer", "words"),
    [
        ("550 no such address", "250 taken", "refused: .*550"),
        ("250 OK", "554 spam", "refused: .*554"),
        ("250 OK", "drop", "handed over, no answer"),
    ],
)
def test_what_the_server_refuses_is_told(
    server: Server, recipient: str, answer: str, words: str
) -> None:
    factories.firm()
    server.recipient, server.answer = recipient, answer
    with pytest.raises(CommandError, match=words):
        run()


def test_a_server_that_is_away(settings: Any, server: Server) -> None:
    factories.firm()
    settings.EMAIL_PORT = _free_port()
    with pytest.raises(CommandError, match="could not be reached"):
        run()


def test_an_address_that_is_none_is_refused_by_name() -> None:
    with pytest.raises(CommandError, match=r"--to 'robin': write an address such as"):
        run("robin")


def test_without_a_firm_it_says_what_to_do(server: Server) -> None:
    with pytest.raises(CommandError, match="firm_setup"):
        run()
