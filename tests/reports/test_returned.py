"""Letters that come back: their own return address, what a notice means, the mailbox, the block."""

import datetime as dt
from collections.abc import Iterator
from typing import Any
from uuid import uuid4

import pytest
from django.core import mail
from django.test import Client as Browser
from hypothesis import given
from hypothesis import settings as examples
from hypothesis import strategies as st

from apps.accounts.models import AuditEntry
from apps.core import clock, mailbox, verp
from apps.core.checks import mail_settings
from apps.core.mailbox import Mailbox, Unreadable
from apps.core.returned_mail import read_returned
from apps.flows import returned_letters
from apps.flows.letters import compose
from apps.flows.returned_letters import returned_read
from apps.office.selectors.waiting import waiting_for_us
from apps.reports.models import BlockedAddress, Letter, MailServer, ReturnedMail
from apps.reports.services.letters import letter_make
from apps.reports.services.returned import returned_forget_old
from apps.reports.services.sending import letter_send
from tests import factories
from tests.factories import NOW
from tests.reports.conftest import Server
from tests.reports.imap import Box, serving
from tests.reports.notices import complaint, status

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def returns(settings: Any) -> None:
    settings.BOUNCE_ADDRESS = "returns@reedandroach.example"


@pytest.fixture
def box(settings: Any) -> Iterator[Box]:
    with serving(Box()) as held:
        settings.BOUNCE_MAILBOX = f"imap://127.0.0.1:{held.port}/INBOX"
        settings.BOUNCE_USER, settings.BOUNCE_PASSWORD = held.user, held.password
        yield held


@pytest.fixture
def sent(letter: Letter) -> Letter:
    """A letter that was sent."""
    Letter.objects.filter(pk=letter.pk).update(state="sent", sent_at=NOW)
    letter.refresh_from_db()
    return letter


def office() -> Any:
    return factories.actor(factories.user("office", "office"))


class TestReturnAddress:
    def test_names_its_letter_and_fits_into_a_local_part(self) -> None:
        letter_id = uuid4()
        address = verp.return_address(letter_id)
        assert verp.returned_letter(f"<{address}>") == letter_id
        # mail servers may write it in capitals
        assert verp.returned_letter(address.upper()) == letter_id
        # RFC 5321, 4.5.3.1.1
        assert len(address.partition("@")[0]) <= 64

    def test_a_forged_one_names_nothing(self) -> None:
        name, _at, domain = verp.return_address(uuid4()).partition("@")
        for forged in (f"{name[:-1]}{'0' if name[-1] != '0' else '1'}@{domain}", "returns@x.example",
                       f"returns+{'a' * 26}{'0' * 10}@x.example", ""):  # fmt: skip
            assert verp.returned_letter(forged) is None, forged

    def test_holds_over_a_change_of_the_key(self, settings: Any) -> None:
        letter_id = uuid4()
        address = verp.return_address(letter_id)
        settings.SECRET_KEY_FALLBACKS = [settings.SECRET_KEY]
        settings.SECRET_KEY = "another-key" * 5
        assert verp.returned_letter(address) == letter_id
        settings.SECRET_KEY_FALLBACKS = []
        assert verp.returned_letter(address) is None

    def test_it_is_the_envelopes_and_the_reader_sees_the_firms(
        self, server: Server, letter: Letter
    ) -> None:
        letter_send(letter_id=letter.pk, compose=compose, at=NOW)
        assert server.senders == [verp.return_address(letter.pk)]
        seen = server.messages[0]["From"].addresses[0]
        assert (seen.display_name, seen.addr_spec) == (
            "Reed & Roach", "office@reedandroach.example",
        )  # fmt: skip

    def test_without_a_setting_it_is_the_sender(
        self, server: Server, letter: Letter, settings: Any
    ) -> None:
        settings.BOUNCE_ADDRESS = ""
        letter_send(letter_id=letter.pk, compose=compose, at=NOW)
        assert server.senders == ["office@reedandroach.example"]


class TestSettings:
    @pytest.mark.parametrize(
        ("name", "value", "number"),
        [
            ("BOUNCE_ADDRESS", "returns", "E002"),
            ("BOUNCE_ADDRESS", f"{'r' * 28}@x.example", "E002"),
            ("BOUNCE_MAILBOX", "mail.example.org", "E003"),
            ("TEXT_GATEWAY", "http://gateway.example/", "E004"),
        ],
    )
    def test_what_cannot_work_is_refused_by_name(
        self, settings: Any, name: str, value: str, number: str
    ) -> None:
        assert mail_settings() == []
        setattr(settings, name, value)
        (error,) = mail_settings()
        assert error.id == f"backyard.{number}"
        assert repr(value) in str(error.msg)

    def test_the_longest_name_fits(self, settings: Any) -> None:
        settings.BOUNCE_ADDRESS = f"{'r' * verp.LONGEST_NAME}@reedandroach.example"
        assert mail_settings() == []
        assert len(verp.return_address(uuid4()).partition("@")[0]) == 64


class TestWhatANoticeSays:
    @pytest.mark.outside(
        source="RFC 3463, section 3: classes, subjects and details of status codes",
        kind="memory", tolerance=0,
    )  # fmt: skip
    @pytest.mark.parametrize(
        ("action", "code", "for_good"),
        [
            ("failed", "5.1.1", True),  # bad destination mailbox address
            ("failed", "5.1.2", True),  # bad destination system address
            ("failed", "5.1.6", True),  # mailbox has moved
            ("failed", "5.2.1", True),  # mailbox disabled
            ("failed", "5.2.2", False),  # mailbox full
            ("failed", "5.3.4", False),  # message too big
            ("failed", "5.7.1", False),  # delivery not authorised
            ("failed", "4.4.7", False),  # delivery time expired
            ("delayed", "4.4.1", False),
            ("delivered", "2.1.5", False),
        ],
    )
    def test_only_an_address_that_takes_no_mail_is_for_good(
        self, action: str, code: str, for_good: bool
    ) -> None:
        notice = read_returned(status(to="x@y.example", recipient="r@o.example", action=action,
                                      code=code, words="said"))  # fmt: skip
        assert notice is not None
        assert (notice.what, notice.status, notice.for_good) == (action, code, for_good)
        assert notice.recipient == "r@o.example"

    def test_what_is_no_notice_means_nothing(self) -> None:
        for raw in (b"", b"\xff\xfe", b"Subject: away\n\nI am on holiday.\n",
                    b"Content-Type: multipart/report; report-type=delivery-status\n\n",
                    b"Content-Type: multipart/report; report-type=disposition-notification;"
                    b" boundary=x\n\n--x\n\n--x--\n"):  # fmt: skip
            assert read_returned(raw) is None, raw

    @given(st.binary(max_size=400), st.integers(0, 900))
    @examples(deadline=None)
    def test_any_bytes_are_read_without_harm(self, junk: bytes, at: int) -> None:
        whole = status(to="x@y.example", recipient="r@o.example", original="<a@b>")
        read_returned(junk)
        read_returned(whole[:at] + junk + whole[at + len(junk) :])

    def test_what_a_server_said_is_one_line_without_marks(self) -> None:
        notice = read_returned(status(to="x@y.example", recipient="r@o.example",
                                      words="550\x07 no\n such  \u202e user " + "x" * 900))  # fmt: skip
        assert notice is not None
        assert "\n" not in notice.words
        assert "\u202e" not in notice.words
        assert len(notice.words) <= 300


class TestMailbox:
    def test_a_letter_that_came_back_stands_so_and_its_address_is_blocked(
        self, box: Box, sent: Letter
    ) -> None:
        box.put(status(to=verp.return_address(sent.pk), recipient=sent.address))
        assert returned_read(NOW) == 1
        sent.refresh_from_db()
        assert sent.state == "returned"
        assert "5.1.1" in sent.last_error
        blocked = BlockedAddress.objects.get()
        assert (blocked.address, blocked.why, blocked.letter) == (sent.address, "bounced", sent)
        assert box.mails == {}, "what was understood is deleted there"
        texts = [f"{item.name}{item.text}" for item in waiting_for_us(office())]
        assert any("came back" in text and sent.address in text for text in texts), texts
        # the office is told of the letter, too
        assert len(texts) == 2

    def test_nothing_more_is_sent_there(self, box: Box, sent: Letter) -> None:
        box.put(status(to=verp.return_address(sent.pk), recipient=sent.address))
        returned_read(NOW)
        later = letter_make(
            kind="report", key="later", address=sent.address.upper(), contact=sent.contact,
            visit=_visit(sent), parameters={"versions": []}, at=NOW,
        )  # fmt: skip
        letter_send(letter_id=later.pk, compose=compose, at=NOW)
        later.refresh_from_db()
        assert (later.state, mail.outbox) == ("withheld", [])

    @pytest.mark.parametrize("code", ["5.2.2", "5.7.1"])
    def test_a_full_mailbox_blocks_nothing(self, box: Box, sent: Letter, code: str) -> None:
        box.put(status(to=verp.return_address(sent.pk), recipient=sent.address, code=code))
        returned_read(NOW)
        sent.refresh_from_db()
        assert sent.state == "returned"
        assert not BlockedAddress.objects.exists()

    def test_late_changes_nothing_and_delivered_settles_an_unsure_one(
        self, box: Box, sent: Letter
    ) -> None:
        Letter.objects.filter(pk=sent.pk).update(state="unsure")
        for action, code, state in (("delayed", "4.4.1", "unsure"), ("delivered", "2.1.5", "sent")):
            box.put(status(to=verp.return_address(sent.pk), recipient=sent.address, action=action,
                           code=code))  # fmt: skip
            returned_read(NOW)
            sent.refresh_from_db()
            assert sent.state == state

    def test_called_spam_it_is_blocked_and_stays_sent(self, box: Box, sent: Letter) -> None:
        box.put(complaint(to=verp.return_address(sent.pk), original=sent.message_id))
        box.put(
            complaint(to=verp.return_address(sent.pk), original=sent.message_id, kind="not-spam")
        )
        assert returned_read(NOW) == 1
        sent.refresh_from_db()
        assert sent.state == "sent"
        assert BlockedAddress.objects.get().why == "complained"

    def test_without_its_own_address_the_message_id_must_go_with_the_recipient(
        self, box: Box, sent: Letter
    ) -> None:
        box.put(status(to="returns@reedandroach.example", recipient="other@x.example",
                       original=sent.message_id))  # fmt: skip
        assert returned_read(NOW) == 0
        box.put(status(to="returns@reedandroach.example", recipient=sent.address,
                       original=sent.message_id))  # fmt: skip
        assert returned_read(NOW) == 1
        assert len(box.mails) == 1, "what was not understood is left for a person"

    def test_the_same_mail_is_taken_once(
        self, box: Box, sent: Letter, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        box.put(status(to=verp.return_address(sent.pk), recipient=sent.address))
        whole = mailbox.OpenMailbox.take_away
        # the reader dies after the database and before the deletion
        monkeypatch.setattr(mailbox.OpenMailbox, "take_away", lambda *_args: None)
        returned_read(NOW)
        steps = sent.steps.count()
        BlockedAddress.objects.all().delete()
        monkeypatch.setattr(mailbox.OpenMailbox, "take_away", whole)
        assert returned_read(NOW) == 0
        assert (sent.steps.count(), box.mails) == (steps, {})
        assert not BlockedAddress.objects.exists()

    def test_the_offices_own_address_is_never_blocked(self, box: Box) -> None:
        factories.firm()
        letter = letter_make(kind="due_list", key="d", address="office@reedandroach.example",
                             contact=None, visit=None, parameters={"on": "2026-06-11"}, at=NOW)  # fmt: skip
        Letter.objects.update(state="sent")
        box.put(status(to=verp.return_address(letter.pk), recipient=letter.address))
        assert returned_read(NOW) == 1
        assert not BlockedAddress.objects.exists()

    @pytest.mark.parametrize("trouble", ["password", "folder", "gone", "dies"])
    def test_a_mailbox_that_cannot_be_read_is_told(
        self, box: Box, letter: Letter, settings: Any, trouble: str
    ) -> None:
        if trouble == "password":
            settings.BOUNCE_PASSWORD = "wrong"
        elif trouble == "folder":
            settings.BOUNCE_MAILBOX = settings.BOUNCE_MAILBOX.replace("INBOX", "Nowhere")
        elif trouble == "gone":
            settings.BOUNCE_MAILBOX = "imap://127.0.0.1:1/INBOX"
        else:
            box.dies_after = 2
        assert returned_read(NOW) == 0
        row = MailServer.objects.get()
        assert row.mailbox_failing_since == NOW
        assert row.mailbox_error
        assert "wrong" not in row.mailbox_error
        by = office()
        assert any("mailbox" in item.name for item in waiting_for_us(by))
        box.dies_after, settings.BOUNCE_PASSWORD = 0, box.password
        settings.BOUNCE_MAILBOX = f"imap://127.0.0.1:{box.port}/INBOX"
        returned_read(NOW + dt.timedelta(minutes=5))
        row.refresh_from_db()
        assert (row.mailbox_failing_since, row.mailbox_error) == (None, "")

    def test_a_password_never_goes_out_in_the_clear(
        self, box: Box, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        monkeypatch.setattr(mailbox, "_is_here", lambda _host: False)
        held = Mailbox(f"imap://127.0.0.1:{box.port}", box.user, box.password)
        with pytest.raises(Unreadable, match="no TLS"), held.opened():
            pass

    def test_without_a_mailbox_nothing_is_done(self, settings: Any) -> None:
        settings.BOUNCE_MAILBOX = ""
        assert returned_read(NOW) == 0
        assert not MailServer.objects.exists()

    def test_old_marks_go(self, box: Box, letter: Letter) -> None:
        box.put(b"Subject: away\n\nOn holiday\n")
        returned_read(NOW)
        assert returned_forget_old(NOW + dt.timedelta(days=89)) == 0
        assert returned_forget_old(NOW + dt.timedelta(days=91)) == 1
        assert not ReturnedMail.objects.exists()
        assert returned_letters.MOST_MAILS == 200


def _visit(letter: Letter) -> Any:
    from apps.visits.models import Visit

    place = factories.place(letter.contact.client)  # type: ignore[union-attr]
    return Visit.objects.create(place=place, start=NOW - dt.timedelta(hours=3), made_at=NOW,
                                end=NOW - dt.timedelta(hours=2), state="reported")  # fmt: skip


class TestOffice:
    @pytest.fixture
    def desk(self, monkeypatch: pytest.MonkeyPatch, box: Box, sent: Letter) -> Browser:
        monkeypatch.setattr(clock, "now", lambda: NOW)
        box.put(status(to=verp.return_address(sent.pk), recipient=sent.address))
        returned_read(NOW)
        browser = Browser()
        browser.force_login(factories.user("office", "office"))
        return browser

    def test_sees_it_notes_it_and_frees_it(self, desk: Browser, sent: Letter) -> None:
        row = BlockedAddress.objects.get()
        assert "1 address without letters" in desk.get("/letters/").content.decode()
        page = desk.get("/letters/addresses/").content.decode()
        assert sent.address in page
        assert "no such mailbox here" in page
        assert "It came back" in desk.get(f"/letters/{sent.pk}/").content.decode()
        desk.post(f"/letters/addresses/{row.pk}/noted/")
        row.refresh_from_db()
        assert row.seen_at == NOW
        assert desk.get(f"/letters/addresses/{row.pk}/again/").status_code == 200
        assert BlockedAddress.objects.exists(), "asking changes nothing"
        desk.post(f"/letters/addresses/{row.pk}/again/")
        assert not BlockedAddress.objects.exists()
        assert set(AuditEntry.objects.filter(kind="address").values_list("verb", flat=True)) == {
            "seen", "freed",
        }  # fmt: skip
