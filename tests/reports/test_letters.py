"""Letters over a real SMTP connection: each way it can end."""

import datetime as dt
from typing import Any

import pytest
from django.core.mail import EmailMessage
from django.db import transaction

from apps.core import outbox
from apps.core.exceptions import Conflict
from apps.reports.models import Letter
from apps.reports.services.letters import letter_again, letter_make
from apps.reports.services.sending import leases_reap, letter_send
from demo.sink import _free_port
from tests import factories
from tests.factories import NOW
from tests.reports.conftest import Server

pytestmark = pytest.mark.django_db


def compose(letter: Letter) -> EmailMessage:
    """A short letter."""
    return EmailMessage(
        "Due", "text", "office@reedandroach.example", [letter.address],
        headers={"Message-ID": letter.message_id},
    )  # fmt: skip


def send(letter: Letter, at: dt.datetime = NOW) -> Letter:
    """Send and read again."""
    try:
        letter_send(letter_id=letter.pk, compose=compose, at=at)
    finally:
        letter.refresh_from_db()
    return letter


def test_taken(server: Server, letter: Letter) -> None:
    assert send(letter).state == "sent"
    assert send(letter).state == "sent"
    assert server.seen[letter.message_id] == 1
    assert [step.state for step in letter.steps.all()] == ["queued", "sending", "sent"]


def test_refused_for_now_is_tried_again(server: Server, letter: Letter) -> None:
    server.recipient = "451 busy"
    with pytest.raises(outbox.Transient):
        send(letter)
    assert letter.state == "queued"
    server.recipient = "250 OK"
    assert send(letter).state == "sent"


@pytest.mark.parametrize("where", ["recipient", "answer"])
def test_refused_for_good_has_failed(server: Server, letter: Letter, where: str) -> None:
    setattr(server, where, "550 no such address")
    assert send(letter).state == "failed"
    assert "550" in letter.last_error


def test_no_answer_after_the_data_is_unsure(server: Server, letter: Letter) -> None:
    server.answer = "drop"
    assert send(letter).state == "unsure"
    server.answer = "250 taken"
    assert send(letter).state == "unsure", "nothing is sent again silently"
    assert server.seen[letter.message_id] == 1


def test_server_away_is_tried_again(settings: Any, letter: Letter) -> None:
    settings.EMAIL_BACKEND = "apps.core.mail.PhasedSMTPBackend"
    settings.EMAIL_HOST, settings.EMAIL_PORT = "127.0.0.1", _free_port()
    with pytest.raises(outbox.Transient):
        send(letter)
    assert letter.state == "queued"


def test_dead_sender_is_unsure_within_five_minutes(letter: Letter) -> None:
    Letter.objects.filter(pk=letter.pk).update(
        state="sending", lease_until=NOW + dt.timedelta(minutes=2)
    )
    assert leases_reap(NOW + dt.timedelta(minutes=1)) == 0
    assert leases_reap(NOW + dt.timedelta(minutes=3)) == 1
    letter.refresh_from_db()
    assert letter.state == "unsure"


class TestAgain:
    def test_keeps_its_message_id(self, server: Server, letter: Letter) -> None:
        server.answer = "550 no"
        send(letter)
        office = factories.actor(factories.user("office", "office"))
        again = letter_again(letter=letter, by=office, at=NOW)
        server.answer = "250 taken"
        assert send(again).state == "sent"
        assert list(server.seen) == [letter.message_id]

    def test_not_for_a_letter_that_went(self, server: Server, letter: Letter) -> None:
        send(letter)
        office = factories.actor(factories.user("office", "office"))
        with pytest.raises(Conflict), transaction.atomic():
            letter_again(letter=letter, by=office, at=NOW)


def test_same_key_same_letter(letter: Letter) -> None:
    again = letter_make(
        kind="due_list", key="k", address=letter.address.upper(), contact=letter.contact, visit=None,
        parameters={}, at=NOW,
    )  # fmt: skip
    assert again.pk == letter.pk
    assert Letter.objects.count() == 1
