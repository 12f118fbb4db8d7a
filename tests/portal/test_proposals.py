"""Proposals on the client's page: read where they were sent, answered by a note that binds nobody."""

import datetime as dt
from typing import Any
from uuid import uuid4

import pytest

from apps.accounts.services import link_issue
from apps.clients.models import Contact
from apps.core import clock
from apps.proposals.models import Proposal, ProposalVersion, ProposalWord
from apps.proposals.services import version_sent
from tests import factories
from tests.office.conftest import Desk, desk, empty, no_broker, standing_clock  # noqa: F401
from tests.proposals.sending import proposal, send, undraw, version
from tests.reader import Reader as Browser


@pytest.fixture
def sent(desk: Desk, monkeypatch: pytest.MonkeyPatch) -> ProposalVersion:  # noqa: F811
    """A version that was sent."""
    undraw(monkeypatch)
    made = version(desk, proposal(desk))
    assert send(desk, made).status_code == 302
    return made


def secret_of(row: ProposalVersion, purpose: str = "page", **more: Any) -> str:
    client = row.proposal.place.client
    return link_issue(
        client_id=client.pk, purpose=purpose, at=factories.NOW,
        contact_id=Contact.objects.filter(client=client)[0].pk, **more,
    )  # fmt: skip


@pytest.fixture
def secret(sent: ProposalVersion) -> str:
    """Its client's page."""
    return secret_of(sent)


def say(secret: str, row: ProposalVersion, **values: str) -> Any:
    given = {"kind": "wanted", "words": "", "key": str(uuid4())} | values
    return Browser().post(f"/c/{secret}/proposals/{row.pk}/answer", given, follow=True)


def test_it_stands_on_the_page_with_its_paper(secret: str, sent: ProposalVersion) -> None:
    page = Browser().get(f"/c/{secret}/").content.decode().replace("\u00a0", " ")
    assert "Our proposal: Patio greens" in page
    assert "1,811.83 EUR in all, taxes in it." in page
    assert "It holds until Wed 15 July 2026." in page
    assert "This orders nothing." in page
    paper = Browser().get(f"/c/{secret}/proposals/{sent.pk}.pdf")
    assert paper.content.startswith(b"%PDF-1.7")
    assert paper["Content-Disposition"] == 'inline; filename="proposal-0001-1.pdf"'
    assert paper["Referrer-Policy"] == "same-origin"


def test_what_was_not_sent_is_nobodys_to_read(
    secret: str,
    sent: ProposalVersion,
    desk: Desk,  # noqa: F811
) -> None:
    Proposal.objects.update(words="Another")
    second = version(desk, sent.proposal)
    assert Browser().get(f"/c/{secret}/proposals/{second.pk}.pdf").status_code == 404
    assert say(secret, second).status_code == 404
    page = Browser().get(f"/c/{secret}/").content.decode()
    assert str(second.pk) not in page
    assert str(sent.pk) in page


def test_a_link_to_one_appointment_opens_none(sent: ProposalVersion) -> None:
    secret = secret_of(sent, "appointment", subject_id=uuid4())
    assert Browser().get(f"/c/{secret}/proposals/{sent.pk}.pdf").status_code == 404
    assert say(secret, sent).status_code == 404


def test_would_like_it_and_nothing_is_accepted(secret: str, sent: ProposalVersion) -> None:
    answer = say(secret, sent, words="In spring, please.")
    assert "speak with you before anything is ordered" in answer.content.decode()
    word = ProposalWord.objects.get()
    assert (word.kind, word.words, word.seen_at) == ("wanted", "In spring, please.", None)
    assert word.contact is not None
    row = Proposal.objects.get()
    assert (row.answer, row.accepted, row.answered_by) == ("open", None, "")
    assert "You would like this." in Browser().get(f"/c/{secret}/").content.decode()


def test_a_question_needs_words(secret: str, sent: ProposalVersion) -> None:
    answer = say(secret, sent, kind="question", words="   ")
    assert "Write your question" in answer.content.decode()
    assert not ProposalWord.objects.exists()
    say(secret, sent, kind="question", words="Does it freeze?\u202e")
    assert ProposalWord.objects.get().words == "Does it freeze?"


def test_sent_twice_it_counts_once(secret: str, sent: ProposalVersion) -> None:
    key = str(uuid4())
    say(secret, sent, key=key)
    say(secret, sent, key=key)
    assert ProposalWord.objects.count() == 1


def test_the_same_wish_counts_once_and_the_page_says_when_it_was_told(
    secret: str, sent: ProposalVersion
) -> None:
    said = say(secret, sent, words="In spring, please.").content.decode()
    assert "Thu 11 June" in said
    assert "We have been told." in said
    assert "We would like this" not in said
    assert "We have a question" in said
    for words in ("", "In spring, please. "):
        again = say(secret, sent, words=words).content.decode()
        assert "You told us on Thu 11 June at" in again
    assert ProposalWord.objects.count() == 1
    # other words are not lost
    say(secret, sent, words="Or in autumn.")
    assert ProposalWord.objects.count() == 2


def test_another_word_is_refused(secret: str, sent: ProposalVersion) -> None:
    assert "Choose one of the answers" in say(secret, sent, kind="accepted").content.decode()
    assert not ProposalWord.objects.exists()


def test_looking_changes_nothing(secret: str, sent: ProposalVersion) -> None:
    assert Browser().get(f"/c/{secret}/proposals/{sent.pk}/answer").status_code == 405
    assert not ProposalWord.objects.exists()


@pytest.mark.parametrize(
    ("change", "words"),
    [({"valid_until": dt.date(2026, 6, 10)}, "no longer valid"),
     ({"answer": "declined", "answered_on": dt.date(2026, 6, 10)}, "answered already")],
)  # fmt: skip
def test_what_is_over_or_answered_takes_no_more_notes(
    secret: str, sent: ProposalVersion, change: dict[str, Any], words: str
) -> None:
    Proposal.objects.update(**change)
    assert words in say(secret, sent).content.decode()
    assert not ProposalWord.objects.exists()
    page = Browser().get(f"/c/{secret}/").content.decode()
    assert "Earlier proposals" in page
    assert "We would like this" not in page


def test_a_newer_one_takes_its_place(
    secret: str,
    sent: ProposalVersion,
    desk: Desk,  # noqa: F811
) -> None:
    Proposal.objects.update(words="Another")
    second = version(desk, sent.proposal)
    version_sent(version=second, by=desk.actor, at=clock.now())
    page = Browser().get(f"/c/{secret}/").content.decode()
    assert str(second.pk) in page
    assert str(sent.pk) not in page
    assert "There is a newer version" in say(secret, sent).content.decode()


def test_the_version_that_was_accepted_is_the_one_that_stays(
    secret: str,
    sent: ProposalVersion,
    desk: Desk,  # noqa: F811
) -> None:
    Proposal.objects.update(words="Another")
    second = version(desk, sent.proposal)
    version_sent(version=second, by=desk.actor, at=clock.now())
    desk.post("proposal_answer", sent.proposal_id, answer="accepted", on="2026-06-10", version="1",
              words="", said_by="Robin")  # fmt: skip
    page = Browser().get(f"/c/{secret}/").content.decode()
    assert str(sent.pk) in page
    assert "accepted on" in page


def test_too_many_notes_are_refused(
    secret: str, sent: ProposalVersion, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("apps.proposals.services.sent.MOST_WORDS", 2)
    for number in range(2):
        say(secret, sent, words=f"In {number + 1} weeks, please.")
    assert "please call us" in say(secret, sent, words="At once.").content.decode()
    assert ProposalWord.objects.count() == 2
