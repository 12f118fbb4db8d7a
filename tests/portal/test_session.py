"""A letter's link opens a session of some hours: what it opens, for whom, until when, and how anew."""

import datetime as dt
from http.cookies import Morsel
from typing import Any

import pytest
from django.core import mail, signing
from django.test import Client as Browser

from apps.accounts.models import ClientLink
from apps.accounts.services import link_issue, links_revoke
from apps.clients.models import Contact
from apps.core import clock
from apps.core.outbox import drain
from apps.core.scoping import Actor
from apps.portal import browser as session
from apps.reports.models import Letter
from tests import factories
from tests.factories import NOW
from tests.reader import number_of

HOURS = dt.timedelta(hours=12)


class Moment:
    """The clock of a test."""

    def __init__(self) -> None:
        self.at = NOW

    def __call__(self) -> dt.datetime:
        return self.at


@pytest.fixture
def moment(monkeypatch: pytest.MonkeyPatch) -> Moment:
    it = Moment()
    monkeypatch.setattr(clock, "now", it)
    return it


@pytest.fixture
def contact(db: None, moment: Moment) -> Contact:
    factories.firm()
    factories.system(factories.place(factories.client("Okafor")))
    return Contact.objects.get()


@pytest.fixture
def secret(contact: Contact) -> str:
    return link_issue(client_id=contact.client_id, purpose="page", at=NOW, contact_id=contact.pk)


@pytest.fixture
def address(secret: str) -> str:
    return f"/c/{number_of(secret)}/"


def cookie_of(answer: Any) -> Morsel[str]:
    morsel: Morsel[str] = answer.cookies["reader"]
    return morsel


def test_the_secret_leaves_the_address_and_a_cookie_stays_under_the_new_one(
    secret: str, address: str
) -> None:
    browser = Browser()
    answer = browser.get(f"/c/{secret}/letters/?from=mail")
    assert (answer.status_code, answer.headers["Location"]) == (302, f"{address}letters/?from=mail")
    kept = cookie_of(answer)
    assert (kept["path"], kept["httponly"], kept["samesite"], kept["max-age"]) == (
        address, True, "Lax", HOURS.total_seconds(),
    )  # fmt: skip
    assert "no-store" in answer.headers["Cache-Control"]
    page = browser.get(answer.headers["Location"])
    assert page.status_code == 200
    assert secret not in page.content.decode()


def test_a_served_site_marks_the_cookie_for_tls(secret: str, settings: Any) -> None:
    settings.SESSION_COOKIE_SECURE = True
    assert cookie_of(Browser().get(f"/c/{secret}/"))["secure"]


def test_the_number_alone_opens_nothing(address: str) -> None:
    answer = Browser().get(address)
    assert answer.status_code == 403
    assert "Your page is closed here" in answer.content.decode()
    # the page says in words what the session is set to
    assert "after twelve hours" in answer.content.decode()
    assert session.OPEN_FOR == HOURS
    assert "Okafor" not in answer.content.decode()


def test_nor_does_a_session_of_another_link_or_one_made_up(
    secret: str, address: str, contact: Contact
) -> None:
    other = link_issue(client_id=contact.client_id, purpose="page", at=NOW)
    stranger = Browser()
    theirs = cookie_of(stranger.get(f"/c/{other}/")).value
    later = int((NOW + HOURS).timestamp())
    for value in (theirs, signing.dumps([number_of(secret), later]), "", "[]", "a:b:c"):
        browser = Browser()
        browser.cookies["reader"] = value
        assert browser.get(address).status_code == 403, value


def test_it_ends_after_twelve_hours_and_the_letters_link_opens_it_again(
    secret: str, address: str, moment: Moment
) -> None:
    browser = Browser()
    browser.get(f"/c/{secret}/")
    moment.at = NOW + HOURS - dt.timedelta(seconds=1)
    assert browser.get(address).status_code == 200
    moment.at = NOW + HOURS
    assert browser.get(address).status_code == 403
    assert browser.get(f"/c/{secret}/", follow=True).status_code == 200


def test_nothing_is_written_down_once_it_is_over(secret: str, address: str, moment: Moment) -> None:
    browser = Browser()
    browser.get(f"/c/{secret}/")
    given = {"reports_as": "link", "gets_notices": ""}
    moment.at = NOW + HOURS
    answer = browser.post(f"{address}letters/", given)
    assert answer.status_code == 403
    assert "still there if you go back" in answer.content.decode()
    assert Contact.objects.get().reports_as == "attached"


def test_revoking_the_link_ends_its_sessions(secret: str, address: str, contact: Contact) -> None:
    browser = Browser()
    browser.get(f"/c/{secret}/")
    office = Actor(role="office", at=NOW)
    links_revoke(client_id=contact.client_id, at=NOW, by=office)
    assert browser.get(address).status_code == 404


def test_closing_it_ends_it_here_and_nowhere_else(secret: str, address: str) -> None:
    here, there = Browser(), Browser()
    for browser in (here, there):
        browser.get(f"/c/{secret}/")
    assert here.get(f"{address}close").status_code == 405
    assert here.post(f"{address}close", follow=True).status_code == 403
    assert here.get(address).status_code == 403
    assert there.get(address).status_code == 200


def test_a_scanner_of_mail_uses_nothing_up(secret: str) -> None:
    before = list(ClientLink.objects.values())
    for _n in range(3):
        assert Browser().head(f"/c/{secret}/").status_code == 302
    assert list(ClientLink.objects.values()) == before
    assert Browser().get(f"/c/{secret}/", follow=True).status_code == 200


class TestAgain:
    def test_a_new_link_goes_to_the_reader_three_times_a_day(
        self, address: str, contact: Contact, moment: Moment
    ) -> None:
        said = {Browser().post(f"{address}again", follow=True).content for _n in range(5)}
        texts = [text.decode() for text in said]
        assert all("The link goes to the address that our letters go to" in text for text in texts)
        assert Letter.objects.filter(kind="page").count() == 3
        drain(NOW)
        assert [letter.to for letter in mail.outbox] == [[contact.email]] * 3
        link = mail.outbox[0].body.split("/c/")[1].split("/")[0]
        assert Browser().get(f"/c/{link}/", follow=True).status_code == 200
        moment.at = NOW + dt.timedelta(days=1, seconds=1)
        Browser().post(f"{address}again")
        assert Letter.objects.filter(kind="page").count() == 4

    def test_looking_sends_none_and_it_takes_the_pages_token(self, address: str) -> None:
        assert Browser().get(f"{address}again").status_code == 405
        assert Browser(enforce_csrf_checks=True).post(f"{address}again").status_code == 403
        assert not Letter.objects.exists()

    def test_who_has_no_address_is_told_whom_to_call(self, address: str, contact: Contact) -> None:
        Contact.objects.update(email="", gets_letters=False)
        page = Browser().get(address).content.decode()
        assert "Send me a new link" not in page
        assert "tel:" in page
        assert Browser().post(f"{address}again").status_code == 404

    def test_a_secret_asks_for_none(self, secret: str) -> None:
        assert Browser().post(f"/c/{secret}/again").status_code == 404
