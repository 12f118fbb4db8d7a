"""Text messages: the port's contract against a gateway of our own, and which letters go as one."""

import datetime as dt
import json
import threading
import time
from collections.abc import Iterator
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from typing import Any

import pytest
from django.core import mail
from django.core.exceptions import ImproperlyConfigured
from django.test import Client as Browser

from apps.accounts.models import Firm
from apps.clients.models import Contact
from apps.core import clock, outbox, texting
from apps.core.mail import Unreached, Unsure
from apps.core.texting import (
    MOST_SIGNS,
    Busy,
    ConsoleTexts,
    HttpTexts,
    Refused,
    number_of,
    shortened,
    texts,
)
from apps.flows.letters import compose
from apps.flows.letters_on_the_way import late_letters
from apps.flows.reminder_letters import reminder_letters
from apps.reports.models import Letter, MailServer
from apps.reports.services.letters import letter_again
from apps.reports.services.sending import letter_send
from apps.visits.models import Visit
from demo.sink import _free_port
from tests import factories
from tests.factories import NOW

pytestmark = pytest.mark.django_db
NUMBER = "+32470123456"


class Gateway:
    """What the gateway answers, and what it was sent."""

    def __init__(self) -> None:
        self.status, self.answer, self.waits_s, self.drops = 201, b'{"id": "m-1"}', 0.0, False
        self.seen: list[dict[str, Any]] = []
        self.address = ""


@pytest.fixture
def gateway(settings: Any) -> Iterator[Gateway]:
    held = Gateway()

    class Answers(BaseHTTPRequestHandler):
        def do_POST(self) -> None:
            body = self.rfile.read(int(self.headers["Content-Length"]))
            held.seen.append({"path": self.path, "headers": dict(self.headers), **json.loads(body)})
            time.sleep(held.waits_s)
            if held.drops:
                self.connection.close()
                return
            self.send_response(held.status)
            self.send_header("Content-Length", str(len(held.answer)))
            self.end_headers()
            self.wfile.write(held.answer)

        def log_message(self, *_args: Any) -> None:
            """Say nothing."""

    server = ThreadingHTTPServer(("127.0.0.1", 0), Answers)
    threading.Thread(target=server.serve_forever, daemon=True).start()
    held.address = f"http://127.0.0.1:{server.server_address[1]}/v1/texts?firm=7"
    settings.TEXT_GATEWAY, settings.TEXT_TOKEN = held.address, "secret-token"
    settings.TEXT_SENDER = "ReedRoach"
    yield held
    server.shutdown()
    server.server_close()


def post(key: str = "k1") -> str:
    """Send a text over the port."""
    port = texts()
    assert port is not None
    return port.send(to=NUMBER, text="Ana is on the way, about 14:20. ¡Ñ漢!", key=key)


class TestContract:
    def test_what_the_gateway_is_sent(self, gateway: Gateway) -> None:
        assert post() == "m-1"
        (seen,) = gateway.seen
        assert seen["path"] == "/v1/texts?firm=7"
        assert (seen["to"], seen["from"]) == (NUMBER, "ReedRoach")
        assert seen["text"] == "Ana is on the way, about 14:20. ¡Ñ漢!"
        headers = seen["headers"]
        assert headers["Authorization"] == "Bearer secret-token"
        assert headers["Idempotency-Key"] == "k1"
        assert headers["Content-Type"] == "application/json"

    @pytest.mark.parametrize("answer", [b"", b"taken", b"[]", b'{"ok": true}'])
    def test_taken_without_a_mark_is_taken(self, gateway: Gateway, answer: bytes) -> None:
        gateway.answer = answer
        assert post() == ""

    @pytest.mark.parametrize(
        ("status", "error"),
        [(400, Refused), (401, Refused), (422, Refused), (302, Refused), (408, Busy), (425, Busy),
         (429, Busy), (500, Busy), (503, Busy)],
    )  # fmt: skip
    def test_what_it_answers_otherwise(
        self, gateway: Gateway, status: int, error: type[Exception]
    ) -> None:
        gateway.status, gateway.answer = status, b"no such\nnumber"
        with pytest.raises(error, match=f"{status} no such number"):
            post()

    def test_no_connection_has_sent_nothing(self, gateway: Gateway, settings: Any) -> None:
        settings.TEXT_GATEWAY = f"http://127.0.0.1:{_free_port()}/"
        with pytest.raises(Unreached):
            post()

    def test_no_answer_is_unsure(self, gateway: Gateway, monkeypatch: pytest.MonkeyPatch) -> None:
        gateway.drops = True
        with pytest.raises(Unsure):
            post()
        gateway.drops, gateway.waits_s = False, 1.0
        monkeypatch.setattr(texting, "TIMEOUT_S", 0.2)
        with pytest.raises(Unsure):
            post()

    def test_by_the_settings(self, settings: Any, caplog: pytest.LogCaptureFixture) -> None:
        settings.TEXT_GATEWAY = ""
        assert texts() is None
        settings.TEXT_GATEWAY = "console"
        port = texts()
        assert isinstance(port, ConsoleTexts)
        with caplog.at_level("INFO"):
            port.send(to=NUMBER, text="On the way", key="k")
        assert "On the way" in caplog.text
        assert NUMBER not in caplog.text, "a number does not stand in the log"
        settings.TEXT_GATEWAY = "https://gateway.example/x"
        assert isinstance(texts(), HttpTexts)
        for bad in ("http://gateway.example/x", "ftp://x", "yes"):
            settings.TEXT_GATEWAY = bad
            with pytest.raises(ImproperlyConfigured, match="TEXT_GATEWAY"):
                texts()

    @pytest.mark.outside(
        source="ITU-T E.164: a plus, the country, at most 15 digits", kind="memory", tolerance=0
    )
    @pytest.mark.parametrize(
        ("typed", "number"),
        [("+32 470 12 34 56", NUMBER), ("0032 (470) 12-34-56", NUMBER), ("0470 12 34 56", ""),
         ("+0470123456", ""), ("+1234567890123456", ""), ("call me", ""), ("", "")],
    )  # fmt: skip
    def test_numbers(self, typed: str, number: str) -> None:
        assert number_of(typed) == number

    def test_a_long_text_is_cut_to_three_parts(self) -> None:
        assert shortened("x" * 201) == "x" * 201
        assert len(shortened("x " * 300)) <= MOST_SIGNS
        assert shortened("x " * 300).endswith("…")


class World:
    """A visit tomorrow at a client who gets text messages."""

    def __init__(self) -> None:
        factories.firm()
        self.client = factories.client("Okafor")
        Contact.objects.update(phone="+32 470 12 34 56", gets_texts=True)
        self.place = factories.place(self.client)
        start = NOW + dt.timedelta(days=1)
        self.visit = Visit.objects.create(
            place=self.place, start=start, end=start + dt.timedelta(hours=1), made_at=NOW,
            state="booked",
        )  # fmt: skip

    def text(self) -> Letter:
        """The text message."""
        return Letter.objects.get(channel="text")


@pytest.fixture
def world(monkeypatch: pytest.MonkeyPatch) -> World:
    monkeypatch.setattr(clock, "now", lambda: NOW)
    monkeypatch.setattr(outbox, "poke", lambda *_args: None)
    return World()


def send(letter: Letter, at: dt.datetime = NOW) -> Letter:
    """Send and read again."""
    try:
        letter_send(letter_id=letter.pk, compose=compose, at=at)
    except outbox.Transient:
        pass
    finally:
        letter.refresh_from_db()
    return letter


class TestLetters:
    def test_a_reminder_goes_both_ways(self, gateway: Gateway, world: World) -> None:
        reminder_letters([world.visit], NOW)
        reminder_letters([world.visit], NOW)
        outbox.drain(NOW)
        assert len(mail.outbox) == 1
        (seen,) = gateway.seen
        assert seen["text"] == "Reed & Roach: We come on Friday 12 June at 09:00. 0555 0100"
        letter = world.text()
        assert (letter.state, letter.address) == ("sent", NUMBER)
        assert seen["headers"]["Idempotency-Key"] == str(letter.pk)

    def test_that_we_come_later_too(self, gateway: Gateway, world: World) -> None:
        late_letters(world.visit, world.visit.pk, NOW, NOW)
        outbox.drain(NOW)
        assert gateway.seen[0]["text"].startswith("Reed & Roach: We come later: on Friday 12 June")

    def test_without_a_gateway_there_is_none(self, world: World, settings: Any) -> None:
        settings.TEXT_GATEWAY = ""
        reminder_letters([world.visit], NOW)
        assert not Letter.objects.filter(channel="text").exists()

    def test_not_to_who_wants_none_any_more(self, gateway: Gateway, world: World) -> None:
        reminder_letters([world.visit], NOW)
        Contact.objects.update(gets_texts=False)
        assert send(world.text()).state == "withheld"
        assert gateway.seen == []

    @pytest.mark.parametrize(
        ("status", "drops", "state"),
        [(503, False, "queued"), (400, False, "failed"), (200, True, "unsure")],
    )
    def test_it_ends_as_a_letter_does(
        self, gateway: Gateway, world: World, status: int, drops: bool, state: str
    ) -> None:
        gateway.status, gateway.drops = status, drops
        reminder_letters([world.visit], NOW)
        assert send(world.text()).state == state
        # the mail server has no part in it
        assert not MailServer.objects.exists()

    def test_a_mail_server_that_is_away_holds_no_text_up(
        self, gateway: Gateway, world: World
    ) -> None:
        MailServer.objects.create(pk=1, failures=9, away_since=NOW,
                                  paused_until=NOW + dt.timedelta(minutes=5))  # fmt: skip
        reminder_letters([world.visit], NOW)
        assert send(world.text()).state == "sent"
        assert send(Letter.objects.get(channel="mail")).state == "queued"

    def test_quiet_hours_hold_for_it(self, gateway: Gateway, world: World) -> None:
        Firm.objects.update(quiet_from=dt.time(8), quiet_until=dt.time(10))
        reminder_letters([world.visit], NOW)
        assert world.text().not_before == NOW.replace(hour=10)
        # the mail that says the same does not take its place
        assert set(Letter.objects.values_list("state", flat=True)) == {"queued"}

    def test_sent_again_it_goes_to_the_number_of_now(self, gateway: Gateway, world: World) -> None:
        gateway.status = 400
        reminder_letters([world.visit], NOW)
        letter = send(world.text())
        Contact.objects.update(phone="+32 470 65 43 21")
        letter.refresh_from_db()
        gateway.status = 200
        by = factories.actor(factories.user("office", "office"))
        assert (
            send(letter_again(letter=Letter.objects.get(pk=letter.pk), by=by, at=NOW)).state
            == "sent"
        )
        assert gateway.seen[-1]["to"] == "+32470654321"


def test_a_number_without_its_country_is_refused_at_its_field(world: World) -> None:
    browser = Browser()
    browser.force_login(factories.user("office", "office"))
    contact = Contact.objects.get()
    address = f"/places/{world.place.pk}/contacts/{contact.pk}/"
    values = {"name": "Robin", "email": "r@okafor.example", "language": "en", "units": "metric",
              "gets_letters": "on", "gets_texts": "on"}  # fmt: skip
    refused = browser.post(address, values | {"phone": "0470 12 34 56"})
    assert refused.status_code == 422
    assert "a number with its country, such as +32 470 12 34 56" in refused.content.decode()
    assert browser.post(address, values | {"phone": "+32 470 12 34 57"}).status_code == 302
    assert "text messages" in browser.get(f"/places/{world.place.pk}/").content.decode()
