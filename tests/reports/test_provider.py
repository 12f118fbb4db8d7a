"""Mail through a provider: each way a call can end, over a real connection, and what it reports."""

import base64
import json
import threading
import time
from collections.abc import Iterator
from contextlib import suppress
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from typing import Any

import pytest
from anymail.signals import AnymailTrackingEvent
from django.core.checks import run_checks
from django.core.exceptions import ImproperlyConfigured
from django.test import Client as Browser
from django.test import override_settings
from django.urls import include, path

from apps.accounts.selectors import firm_current
from apps.core import outbox
from apps.core.mail_provider import event_addresses, event_returned
from apps.flows.letters import compose
from apps.reports.choices import Delivery
from apps.reports.models import BlockedAddress, Letter, MailServer
from apps.reports.services.letters import letter_make
from apps.reports.services.sending import letter_send
from backyard.settings import env
from demo.sink import _free_port
from tests import factories
from tests.factories import NOW

pytestmark = pytest.mark.django_db
# one that carries metadata, and one that does not; the address of each is a setting
NAME, PLAIN = "postmark", "postal"
KEY = base64.b64encode(b"mail:a long word").decode()
urlpatterns = [path("mail-events/", include(event_addresses(NAME)))]


class Provider:
    """What the provider answers, and what it was sent."""

    def __init__(self) -> None:
        self.status, self.waits_s, self.drops = 200, 0.0, False
        self.error, self.words = 0, "OK"
        self.seen: list[dict[str, Any]] = []

    def body(self, sent: dict[str, Any]) -> dict[str, Any]:
        if "to" in sent:
            taken = {address: {"id": 1, "token": "t"} for address in sent["to"]}
            return {"status": "success", "data": {"message_id": "m-1", "messages": taken}}
        return {
            "ErrorCode": self.error,
            "Message": self.words.format(sent["To"]),
            "MessageID": "m-1",
            "To": sent["To"],
        }


@pytest.fixture
def provider(settings: Any) -> Iterator[Provider]:
    held = Provider()

    class Answers(BaseHTTPRequestHandler):
        def do_POST(self) -> None:
            sent = json.loads(self.rfile.read(int(self.headers["Content-Length"])))
            held.seen.append(sent)
            if held.drops:
                self.connection.close()
                return
            time.sleep(held.waits_s)
            body = json.dumps(held.body(sent)).encode()
            self.send_response(held.status)
            self.send_header("Content-Length", str(len(body)))
            self.end_headers()
            self.wfile.write(body)

        def log_message(self, *_args: Any) -> None:
            """Say nothing."""

    server = ThreadingHTTPServer(("127.0.0.1", 0), Answers)
    threading.Thread(target=server.serve_forever, daemon=True).start()
    settings.MAIL_PROVIDER = NAME
    settings.EMAIL_BACKEND = "apps.core.mail_provider.ProviderBackend"
    settings.ANYMAIL = {
        "POSTMARK_API_URL": f"http://127.0.0.1:{server.server_port}/", "POSTMARK_SERVER_TOKEN": "k",
        "POSTAL_API_URL": f"http://127.0.0.1:{server.server_port}/", "POSTAL_API_KEY": "k",
        "REQUESTS_TIMEOUT": 1, "WEBHOOK_SECRET": "mail:a long word",
    }  # fmt: skip
    yield held
    server.shutdown()
    server.server_close()


@pytest.fixture
def letter() -> Letter:
    factories.firm()
    contact = factories.place(factories.client("Okafor")).client.contacts.get()
    return letter_make(
        kind="own", key="provider", address=contact.email, contact=contact, visit=None, at=NOW,
        parameters={"subject": "Green water", "words": "It is only algae.", "client": str(contact.client_id)},
        at_once=True,
    )  # fmt: skip


def send(letter: Letter) -> str:
    """Send it; return where it stands."""
    with suppress(outbox.Transient):
        letter_send(letter_id=letter.pk, compose=compose, at=NOW)
    letter.refresh_from_db()
    return letter.state


def test_it_goes_with_all_that_a_mail_has(provider: Provider, letter: Letter) -> None:
    assert send(letter) == Delivery.SENT
    (sent,) = provider.seen
    for words in (letter.message_id, "Green water", firm_current().email, "auto-generated"):
        assert words in json.dumps(sent)
    assert sent["Metadata"] == {"message_id": letter.message_id}


def test_one_that_carries_no_mark_gets_it_without(
    provider: Provider, letter: Letter, settings: Any
) -> None:
    settings.MAIL_PROVIDER = PLAIN
    assert send(letter) == Delivery.SENT
    (sent,) = provider.seen
    assert letter.message_id in json.dumps(sent)


@pytest.mark.parametrize(
    ("status", "state"),
    [(400, "failed"), (413, "failed"), (429, "queued"), (408, "queued"), (500, "unsure"), (503, "unsure")],
)  # fmt: skip
def test_what_it_answers_decides(
    provider: Provider, letter: Letter, status: int, state: str
) -> None:
    provider.status = status
    assert send(letter) == state
    assert letter.last_error


def test_a_reader_it_refuses_has_failed(provider: Provider, letter: Letter) -> None:
    # how this provider says that it does not write to an address
    provider.status, provider.error = 422, 406
    provider.words = "Found inactive addresses: {}. Inactive recipients are ones that bounced."
    assert send(letter) == Delivery.FAILED


def test_one_that_it_says_nothing_of_is_unsure(provider: Provider, letter: Letter) -> None:
    provider.status, provider.error = 422, 406
    assert send(letter) == Delivery.UNSURE


@pytest.mark.parametrize("status", [401, 403])
def test_a_key_that_is_wrong_is_the_provider_and_not_the_letter(
    provider: Provider, letter: Letter, status: int
) -> None:
    provider.status = status
    assert send(letter) == Delivery.QUEUED
    assert MailServer.objects.get().failures == 1


def test_no_answer_is_unsure_and_never_sent_again(provider: Provider, letter: Letter) -> None:
    provider.drops = True
    assert send(letter) == Delivery.UNSURE
    assert send(letter) == Delivery.UNSURE
    assert len(provider.seen) == 1


def test_an_answer_that_comes_too_late_is_unsure(provider: Provider, letter: Letter) -> None:
    provider.waits_s = 1.5
    assert send(letter) == Delivery.UNSURE


def test_nobody_there_is_tried_again(provider: Provider, letter: Letter, settings: Any) -> None:
    settings.ANYMAIL |= {"POSTMARK_API_URL": f"http://127.0.0.1:{_free_port()}/"}
    assert send(letter) == Delivery.QUEUED
    assert MailServer.objects.get().failures == 1


@pytest.mark.parametrize(
    "options",
    [{"POSTMARK_SERVER_TOKEN": "key-of-the-firm\n"}, {"POSTMARK_SERVER_TOKEN": " key-of-the-firm"},
     {"POSTMARK_API_URL": "nowhere/"}],
)  # fmt: skip
def test_options_that_cannot_be_sent_are_tried_again_and_the_key_is_not_told(
    provider: Provider, letter: Letter, settings: Any, options: dict[str, str]
) -> None:
    """A key with the end of its file's line in it: the words stand where the office reads them."""
    settings.ANYMAIL |= options
    assert send(letter) == Delivery.QUEUED
    assert MailServer.objects.get().failures == 1
    assert letter.last_error
    assert "key-of-the-firm" not in letter.last_error + letter.steps.last().words
    assert not provider.seen


def test_a_provider_that_says_our_key_is_not_quoted(
    provider: Provider, letter: Letter, settings: Any
) -> None:
    settings.ANYMAIL |= {"MORE": {"keys": ["key-of-the-firm"]}}
    provider.status, provider.words = 400, "x" * 90 + " key-of-the-firm is not known"
    assert send(letter) == Delivery.FAILED
    assert "… is not known" in letter.last_error


def report(letter: Letter, kind: str = "HardBounce", key: str = KEY, **more: Any) -> Any:
    """Report an event as this provider does; return the answer."""
    event = {
        "RecordType": "Bounce", "ID": 42, "Type": kind, "MessageID": "m-1", "Email": letter.address,
        "Details": "smtp;550 5.1.1 no such user", "Description": "The address does not exist.",
        "BouncedAt": "2026-06-11T09:00:00Z", "Metadata": {"message_id": letter.message_id},
    } | more  # fmt: skip
    with override_settings(ROOT_URLCONF=__name__):
        return Browser(enforce_csrf_checks=True).post(
            f"/mail-events/{NAME}/tracking/", json.dumps(event), "application/json",
            headers={"Authorization": f"Basic {key}"},
        )  # fmt: skip


class TestReports:
    def test_a_letter_that_came_back_stands_so_and_its_address_is_blocked(
        self, provider: Provider, letter: Letter
    ) -> None:
        send(letter)
        for _n in range(2):
            assert report(letter).status_code == 200
        letter.refresh_from_db()
        assert letter.state == Delivery.RETURNED
        assert letter.steps.filter(state=Delivery.RETURNED).count() == 1
        assert BlockedAddress.objects.get().address == letter.address

    def test_a_full_mailbox_blocks_nothing(self, provider: Provider, letter: Letter) -> None:
        send(letter)
        report(letter, Details="smtp;552 5.2.2 mailbox full")
        letter.refresh_from_db()
        assert letter.state == Delivery.RETURNED
        assert not BlockedAddress.objects.exists()

    def test_called_spam_it_is_blocked_and_stays_sent(
        self, provider: Provider, letter: Letter
    ) -> None:
        send(letter)
        report(letter, "SpamComplaint", RecordType="SpamComplaint", Details="", Description="")
        letter.refresh_from_db()
        assert letter.state == Delivery.SENT
        assert BlockedAddress.objects.get().why == "complained"

    def test_delivered_settles_an_unsure_one(self, provider: Provider, letter: Letter) -> None:
        provider.drops = True
        send(letter)
        report(
            letter,
            RecordType="Delivery",
            Recipient=letter.address,
            DeliveredAt="2026-06-11T09:00:00Z",
        )
        letter.refresh_from_db()
        assert letter.state == Delivery.SENT

    def test_opened_means_nothing_here(self, provider: Provider, letter: Letter) -> None:
        """Read receipts are not used."""
        send(letter)
        steps = letter.steps.count()
        report(
            letter, RecordType="Open", Recipient=letter.address, ReceivedAt="2026-06-11T09:00:00Z"
        )
        assert letter.steps.count() == steps

    def test_without_the_secret_nothing_changes(self, provider: Provider, letter: Letter) -> None:
        send(letter)
        for key in ("", base64.b64encode(b"mail:another").decode()):
            assert report(letter, key=key).status_code == 400
        letter.refresh_from_db()
        assert letter.state == Delivery.SENT

    def test_another_letters_mark_with_a_strangers_address_names_nothing(
        self, provider: Provider, letter: Letter
    ) -> None:
        send(letter)
        report(letter, Email="somebody@else.example")
        letter.refresh_from_db()
        assert letter.state == Delivery.SENT


@pytest.mark.parametrize("held", [["a"], "a", 7, None, {"message_id": {"a": 1}}, {"other": "a"}])
def test_what_an_event_carries_may_be_anything(held: Any) -> None:
    """No database takes a NUL byte for a text."""
    event = AnymailTrackingEvent(
        event_type="bounced", metadata=held, message_id="m\x001", recipient=["a\x00@b.example"]
    )
    notice = event_returned(event)
    assert notice is not None
    assert "\x00" not in notice.recipient + notice.message_id
    assert (notice.message_id == "m 1") == (held != {"message_id": {"a": 1}})


def test_without_a_provider_there_is_no_such_address() -> None:
    assert Browser().post(f"/mail-events/{NAME}/tracking/").status_code in (302, 404)


def test_only_its_own_address_is_open() -> None:
    assert [row.name for row in event_addresses(NAME)] == ["postmark_tracking_webhook"]


@pytest.mark.parametrize(
    ("name", "options", "code"),
    [("carrier-pigeon", {"WEBHOOK_SECRET": "a:b"}, "E005"), (NAME, {}, "E006"),
     (NAME, {"WEBHOOK_SECRET": "a:b"}, "")],
)  # fmt: skip
def test_settings_that_cannot_work_are_refused(
    settings: Any, name: str, options: dict[str, str], code: str
) -> None:
    settings.MAIL_PROVIDER, settings.ANYMAIL = name, options
    found = [error.id for error in run_checks() if str(error.id).startswith("backyard.E")]
    assert found == ([f"backyard.{code}"] if code else [])


@pytest.mark.parametrize("typed", ["[]", "{", "key=1"])
def test_options_that_are_no_table_are_refused_without_their_value(
    monkeypatch: pytest.MonkeyPatch, typed: str
) -> None:
    monkeypatch.setenv("MAIL_PROVIDER_OPTIONS", typed)
    with pytest.raises(ImproperlyConfigured, match="write a JSON object") as raised:
        env.table("MAIL_PROVIDER_OPTIONS")
    assert typed not in str(raised.value).split(": write")[0]
