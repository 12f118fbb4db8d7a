"""A proposal to its client: seen first, sent once, attached or linked, withheld; what they write back."""

import datetime as dt
from email.message import Message
from typing import Any
from uuid import uuid4

import pytest
from django.core import mail
from django.db import DatabaseError, transaction

from apps.accounts.models import AuditEntry, ClientLink
from apps.clients.models import Contact
from apps.core import clock, outbox
from apps.office.selectors.waiting import waiting_for_us
from apps.proposals.models import Proposal, ProposalVersion, ProposalWord, Sending
from apps.reports.models import BlockedAddress, Letter
from tests import factories
from tests.office.conftest import Desk
from tests.proposals.sending import proposal, send, undraw, version


@pytest.fixture(autouse=True)
def undrawn(monkeypatch: pytest.MonkeyPatch) -> None:
    undraw(monkeypatch)


@pytest.fixture
def made(desk: Desk) -> ProposalVersion:
    """A version that nobody was sent yet."""
    return version(desk, proposal(desk))


def contact() -> Contact:
    return Contact.objects.get(client__places__systems__name__isnull=False)


def plain(message: Any) -> str:
    return " ".join(message.body.replace("\u00a0", " ").split())


def attached(message: Any) -> list[tuple[str, bytes]]:
    return [
        (str(item.get_filename()), item.get_payload(decode=True))
        if isinstance(item, Message) else (item[0], item[1])
        for item in message.attachments
    ]  # fmt: skip


class TestSeenFirst:
    def test_it_is_shown_and_nothing_is_kept(self, desk: Desk, made: ProposalVersion) -> None:
        page = desk.get("version_send", made.pk)
        text = page.content.decode().replace("\u00a0", " ")
        assert "Our proposal: Patio greens" in text
        assert "1,811.83 EUR in all, taxes in it." in text
        assert "It holds until Wed 15 July 2026." in text
        assert "Nothing is ordered by that" in text
        seen = desk.post("version_send", made.pk, words="We could begin in May.")
        assert "We could begin in May." in seen.content.decode()
        assert not Sending.objects.exists()
        assert not Letter.objects.filter(kind="proposal").exists()
        assert not ClientLink.objects.exists()

    def test_its_link_is_hidden_from_the_office(self, desk: Desk, made: ProposalVersion) -> None:
        assert "/c/…" in desk.get("version_send", made.pk).content.decode()

    def test_who_wants_no_papers_is_named(self, desk: Desk, made: ProposalVersion) -> None:
        Contact.objects.update(reports_as="paused")
        assert "wants no papers for now" in desk.get("version_send", made.pk).content.decode()

    def test_where_nobody_reads_it_says_so_and_sends_nothing(
        self, desk: Desk, made: ProposalVersion
    ) -> None:
        Contact.objects.update(gets_letters=False)
        page = desk.get("version_send", made.pk).content.decode()
        assert "Nobody there gets letters" in page
        assert 'name="send"' not in page
        refused = send(desk, made)
        assert refused.status_code == 422
        assert refused.context["form"].errors["words"]
        assert not Sending.objects.exists()

    def test_a_contacts_language_and_choice_stand_in_the_draft(
        self, desk: Desk, made: ProposalVersion
    ) -> None:
        Contact.objects.update(reports_as="link")
        page = desk.get("version_send", made.pk).content.decode()
        assert "lies on your page" in page
        assert "is attached" not in page


class TestSent:
    def test_attached_with_its_price_and_a_link(self, desk: Desk, made: ProposalVersion) -> None:
        assert send(desk, made, words="We could begin in May.").status_code == 302
        outbox.drain(factories.NOW)
        (message,) = mail.outbox
        assert message.subject == "Our proposal: Patio greens"
        assert "We could begin in May." in plain(message)
        assert "1,811.83 EUR in all, taxes in it." in plain(message)
        name, data = attached(message)[0]
        assert name == "proposal-0001-1.pdf"
        assert data.startswith(b"%PDF-1.7")
        assert "/c/" in message.body
        assert "Choose which letters you get" in plain(message)
        assert Letter.objects.get(kind="proposal").state == "sent"
        assert Sending.objects.get().version == made

    def test_by_a_link_where_that_was_chosen(self, desk: Desk, made: ProposalVersion) -> None:
        Contact.objects.update(reports_as="link")
        send(desk, made)
        outbox.drain(factories.NOW)
        assert not attached(mail.outbox[0])
        assert "lies on your page" in plain(mail.outbox[0])

    def test_a_paper_that_is_too_large_comes_by_a_link(
        self, desk: Desk, made: ProposalVersion
    ) -> None:
        from apps.accounts.models import Firm

        Firm.objects.update(attach_limit_mb=0)
        send(desk, made)
        outbox.drain(factories.NOW)
        assert not attached(mail.outbox[0])

    def test_pressed_twice_it_goes_once(self, desk: Desk, made: ProposalVersion) -> None:
        send(desk, made)
        again = send(desk, made)
        assert again.status_code == 302
        outbox.drain(factories.NOW)
        assert len(mail.outbox) == 1
        assert Sending.objects.count() == 1

    def test_a_contact_who_came_later_gets_it_alone(
        self, desk: Desk, made: ProposalVersion, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        send(desk, made)
        outbox.drain(factories.NOW)
        Contact.objects.create(
            client=desk.place.client, name="Zita Alder", email="zita@alder.example"
        )
        later = factories.NOW + dt.timedelta(hours=1)
        monkeypatch.setattr(clock, "now", lambda: later)
        send(desk, made)
        outbox.drain(later)
        assert [message.to for message in mail.outbox][1:] == [["zita@alder.example"]]

    @pytest.mark.parametrize(
        ("change", "words"),
        [({"gets_letters": False}, "no letters"), ({"reports_as": "paused"}, "no reports")],
    )
    def test_who_wants_none_by_then_gets_none(
        self, desk: Desk, made: ProposalVersion, change: dict[str, Any], words: str
    ) -> None:
        send(desk, made)
        Contact.objects.update(**change)
        outbox.drain(factories.NOW)
        letter = Letter.objects.get(kind="proposal")
        assert letter.state == "withheld"
        assert words in letter.last_error
        assert not mail.outbox

    def test_an_address_that_takes_no_mail_gets_none(
        self, desk: Desk, made: ProposalVersion
    ) -> None:
        send(desk, made)
        address = Letter.objects.get(kind="proposal").address
        BlockedAddress.objects.create(address=address.lower(), why="bounced", since=factories.NOW)
        outbox.drain(factories.NOW)
        assert Letter.objects.get(kind="proposal").state == "withheld"

    def test_in_quiet_hours_it_waits_for_the_morning(
        self, desk: Desk, made: ProposalVersion, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        from apps.accounts.models import Firm

        Firm.objects.update(quiet_from=dt.time(20), quiet_until=dt.time(7))
        night = factories.NOW.replace(hour=22)
        monkeypatch.setattr(clock, "now", lambda: night)
        send(desk, made)
        outbox.drain(night)
        letter = Letter.objects.get(kind="proposal")
        assert (letter.state, letter.not_before > night) == ("queued", True)
        assert not mail.outbox

    def test_a_letter_that_was_answered_meanwhile_is_let_go(
        self, desk: Desk, made: ProposalVersion
    ) -> None:
        send(desk, made)
        desk.post("proposal_answer", made.proposal_id, answer="declined", on="2026-06-10",
                  words="", said_by="Robin")  # fmt: skip
        outbox.drain(factories.NOW)
        letter = Letter.objects.get(kind="proposal")
        assert (letter.state, letter.last_error) == ("withheld", "the proposal is answered")
        assert letter.steps.last().state == "withheld"
        assert not mail.outbox

    def test_a_letter_that_is_over_when_it_could_go_is_let_go(
        self, desk: Desk, made: ProposalVersion
    ) -> None:
        send(desk, made)
        outbox.drain(factories.NOW + dt.timedelta(days=60))
        letter = Letter.objects.get(kind="proposal")
        assert (letter.state, letter.last_error) == (
            "withheld", "the proposal is no longer valid",
        )  # fmt: skip

    def test_a_newer_version_takes_the_place_of_one_that_waits(
        self, desk: Desk, made: ProposalVersion
    ) -> None:
        send(desk, made)
        row = made.proposal
        row.refresh_from_db()
        Proposal.objects.filter(pk=row.pk).update(words="Another")
        second = version(desk, row)
        send(desk, second)
        outbox.drain(factories.NOW)
        states = {
            letter.parameters["version"]: letter.state
            for letter in Letter.objects.filter(kind="proposal")
        }
        assert states == {str(made.pk): "replaced", str(second.pk): "sent"}
        assert len(mail.outbox) == 1

    def test_a_newer_version_answers_the_letter_of_the_older_one(
        self, desk: Desk, made: ProposalVersion, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        send(desk, made)
        outbox.drain(factories.NOW)
        later = factories.NOW + dt.timedelta(hours=1)
        monkeypatch.setattr(clock, "now", lambda: later)
        Proposal.objects.filter(pk=made.proposal_id).update(words="Another")
        send(desk, version(desk, made.proposal))
        outbox.drain(later)
        first, second = mail.outbox
        assert second.subject == "Our proposal, changed: Patio greens"
        assert second.extra_headers["In-Reply-To"] == first.extra_headers["Message-ID"]


class TestRefused:
    def test_what_has_changed_since_its_paper(self, desk: Desk, made: ProposalVersion) -> None:
        Proposal.objects.update(margin=9_900)
        page = desk.get("version_send", made.pk).content.decode()
        assert "no longer says what the proposal says" in page
        assert 'name="send"' not in page
        assert send(desk, made).status_code == 422
        assert not Sending.objects.exists()

    def test_an_older_version(self, desk: Desk, made: ProposalVersion) -> None:
        Proposal.objects.update(words="Another")
        version(desk, made.proposal)
        Proposal.objects.update(words="With pleasure.")
        assert send(desk, made).status_code == 422

    def test_one_that_is_over(self, desk: Desk, made: ProposalVersion) -> None:
        Proposal.objects.update(valid_until=clock.today() - dt.timedelta(days=1))
        refused = send(desk, made)
        assert refused.status_code == 422
        assert "no longer valid" in str(refused.context["form"].non_field_errors())

    def test_one_that_is_answered(self, desk: Desk, made: ProposalVersion) -> None:
        desk.post("proposal_answer", made.proposal_id, answer="declined", on="2026-06-10",
                  words="", said_by="")  # fmt: skip
        assert send(desk, made).status_code == 422
        assert not Letter.objects.filter(kind="proposal").exists()

    def test_what_was_sent_holds_still(self, desk: Desk, made: ProposalVersion) -> None:
        send(desk, made)
        with pytest.raises(DatabaseError), transaction.atomic():
            Sending.objects.update(by="somebody")


class TestAccepted:
    def test_it_says_who_said_so(self, desk: Desk, made: ProposalVersion) -> None:
        values = {"answer": "accepted", "on": "2026-06-10", "version": "1", "words": ""}
        refused = desk.post("proposal_answer", made.proposal_id, **values, said_by="")
        assert refused.status_code == 422
        assert refused.context["form"].errors["said_by"] == ["Say who accepted it."]
        desk.post("proposal_answer", made.proposal_id, **values, said_by="Robin Alder")
        row = Proposal.objects.get()
        assert (row.answer, row.answered_by) == ("accepted", "Robin Alder")
        assert "said by Robin Alder" in desk.get("proposal", row.pk).content.decode()
        entry = AuditEntry.objects.filter(verb="answer accepted").get()
        assert entry.change["by"] == "Robin Alder"

    def test_the_form_begins_with_what_the_client_wrote(
        self, desk: Desk, made: ProposalVersion
    ) -> None:
        send(desk, made)
        reader = Contact.objects.get(client=desk.place.client)
        ProposalWord.objects.create(
            version=made, kind="wanted", words="Yes please.", at=factories.NOW, contact=reader
        )
        initial = desk.get("proposal_answer", made.proposal_id).context["form"].initial
        assert initial["answer"] == "accepted"
        assert initial["said_by"] == reader.name
        assert initial["words"] == "Yes please."

    def test_open_again_forgets_who(self, desk: Desk, made: ProposalVersion) -> None:
        values = {"on": "2026-06-10", "version": "1", "words": "", "said_by": "Robin"}
        desk.post("proposal_answer", made.proposal_id, answer="accepted", **values)
        desk.post("proposal_answer", made.proposal_id, answer="open", **values)
        assert Proposal.objects.get().answered_by == ""


class TestWaiting:
    def word(self, row: ProposalVersion, **more: Any) -> ProposalWord:
        values = {"kind": "wanted", "words": "", "at": factories.NOW, "pk": uuid4()}
        word: ProposalWord = ProposalWord.objects.create(version=row, **(values | more))
        return word

    def said(self, desk: Desk) -> list[str]:
        return [f"{item.name}{item.text}" for item in waiting_for_us(desk.actor)]

    def test_what_a_client_wrote_waits_until_it_was_looked_at(
        self, desk: Desk, made: ProposalVersion
    ) -> None:
        name = desk.place.client.name
        word = self.word(made)
        self.word(made, kind="question", words="Could it stand in the shade?")
        assert f"{name} would like Patio greens" in self.said(desk)
        assert f"{name} asks about Patio greens: Could it stand in the shade?" in self.said(desk)
        assert desk.post("word_noted", word.pk).status_code == 302
        word.refresh_from_db()
        assert word.seen_by.startswith("office")
        assert f"{name} would like Patio greens" not in self.said(desk)

    def test_an_answer_settles_what_was_written(self, desk: Desk, made: ProposalVersion) -> None:
        self.word(made)
        desk.post("proposal_answer", made.proposal_id, answer="accepted", on="2026-06-10",
                  version="1", words="", said_by="Robin")  # fmt: skip
        assert ProposalWord.objects.get().seen_at == factories.NOW
        assert not any("Patio greens" in said for said in self.said(desk))

    def test_one_that_ran_out_unanswered_waits_for_us(
        self, desk: Desk, made: ProposalVersion
    ) -> None:
        send(desk, made)
        assert not any("not answered" in said for said in self.said(desk))
        Proposal.objects.update(valid_until=clock.today() - dt.timedelta(days=1))
        assert any(
            "Proposal 0001" in said and "no longer valid" in said for said in self.said(desk)
        )

    def test_one_that_was_never_sent_does_not(self, desk: Desk, made: ProposalVersion) -> None:
        Proposal.objects.update(valid_until=clock.today() - dt.timedelta(days=1))
        assert not any("Proposal 0001" in said for said in self.said(desk))
