"""What a client has had, beside what was said; letters of the office, seen before they go."""

from typing import Any

import pytest
from django.core import mail
from django.test import Client as Browser

from apps.accounts.models import ClientLink, Firm
from apps.clients.models import Contact
from apps.core import clock, outbox
from apps.office.services import call_note
from apps.reports.models import Letter
from apps.reports.services.letters import letter_make
from tests import factories
from tests.factories import NOW

pytestmark = pytest.mark.django_db


class Desk:
    """The office's browser, and one client."""

    def __init__(self) -> None:
        factories.firm()
        self.user = factories.user("office", "office")
        self.client = factories.client("Okafor")
        self.place = factories.place(self.client)
        self.browser = Browser()
        self.browser.force_login(self.user)
        self.by = factories.actor(self.user)
        self.url = f"/clients/{self.client.pk}/letters/"

    def page(self, path: str = "") -> str:
        """Look at the client's letters."""
        return self.browser.get(self.url + path).content.decode()

    def write(self, kind: str, status: int = 200, **values: Any) -> str:
        """Send the form of a letter."""
        answer = self.browser.post(f"{self.url}new/{kind}/", values)
        assert answer.status_code == status, answer.content.decode()[:2000]
        return answer.content.decode()


@pytest.fixture
def desk(monkeypatch: pytest.MonkeyPatch) -> Desk:
    monkeypatch.setattr(clock, "now", lambda: NOW)
    monkeypatch.setattr(outbox, "poke", lambda *_args: None)
    return Desk()


def test_letters_and_notes_in_one_order(desk: Desk) -> None:
    assert "Nothing yet" in desk.page()
    letter_make(
        kind="own", key="k", address="okafor@okafor.example", contact=Contact.objects.get(),
        visit=None, parameters={"subject": "Your tank", "words": "All is well."},
        at=NOW.replace(hour=7),
    )  # fmt: skip
    desk.browser.post(f"/places/{desk.place.pk}/call/", {"text": "They asked about feed."})
    desk.browser.post(
        f"/places/{desk.place.pk}/call/", {"text": "A photo of the roots.", "way": "message"}
    )
    page = desk.page()
    assert "our own words" in page
    assert page.index("A photo of the roots.") < page.rindex("our own words")
    assert "message" in page
    assert "They asked about feed." in page


def test_only_this_clients(desk: Desk) -> None:
    other = factories.client("Hazel")
    call_note(client=other, system=None, text="not theirs", by=desk.by, at=NOW)
    assert "not theirs" not in desk.page()


def test_the_number_of_queries_stays(desk: Desk, same_queries: Any) -> None:
    contact = Contact.objects.get()

    def more() -> None:
        for number in range(8):
            letter_make(kind="own", key=f"k{number}", address=contact.email, contact=contact,
                        visit=None, parameters={}, at=NOW)  # fmt: skip
            call_note(client=desk.client, system=None, text="x", by=desk.by, at=NOW)

    more_first = {"subject": "x"}
    letter_make(kind="own", key="first", address=contact.email, contact=contact, visit=None,
                parameters=more_first, at=NOW)  # fmt: skip
    call_note(client=desk.client, system=None, text="x", by=desk.by, at=NOW)
    same_queries(desk.page, more)


class TestWriting:
    def test_it_is_seen_first_and_nothing_is_stored(self, desk: Desk) -> None:
        page = desk.write("own", subject="Your tank", words="All is well.\nUntil soon.")
        assert "Dear Robin Okafor," in page
        assert "Until soon." in page
        assert "/c/…" in page, "its link is hidden"
        assert (Letter.objects.count(), ClientLink.objects.count()) == (0, 0)

    def test_then_it_goes_once_however_often_it_is_pressed(self, desk: Desk) -> None:
        for _each in range(2):
            desk.write("own", 302, subject="Your tank", words="All is well.", send="1")
        outbox.drain(NOW)
        (message,) = mail.outbox
        assert message.subject == "Your tank"
        assert "All is well." in str(message.body)
        assert "List-Unsubscribe" not in message.extra_headers

    def test_what_runs_out(self, desk: Desk) -> None:
        page = desk.write("low_stock", what="Fish feed", until="2026-06-20")
        assert "Fish feed will last at your place until about Saturday 20 June" in page
        assert "Fish feed runs out at your place." in desk.write("low_stock", what="Fish feed")
        desk.write("low_stock", 302, what="Fish feed", send="1")
        outbox.drain(NOW)
        assert "List-Unsubscribe" in mail.outbox[0].extra_headers

    def test_when_the_agreement_ends(self, desk: Desk) -> None:
        page = desk.write("renewal", until="2026-07-31", words="212 heads this year.")
        assert "Our agreement ends on Friday 31 July" in page
        assert "212 heads this year." in page

    @pytest.mark.parametrize(
        ("kind", "values", "field"),
        [
            ("own", {"words": "x"}, "What it is about"),
            ("own", {"subject": "x"}, "What it says"),
            ("low_stock", {}, "What runs out"),
            ("renewal", {"until": "soon"}, "Ends on"),
        ],
    )
    def test_what_is_missing_is_named(
        self, desk: Desk, kind: str, values: dict[str, str], field: str
    ) -> None:
        assert f">{field}</a>" in desk.write(kind, 422, send="1", **values)
        assert not Letter.objects.exists()

    def test_a_newline_in_the_subject_makes_no_header(self, desk: Desk) -> None:
        desk.write("own", 302, subject="Your tank\r\nBcc: x@y.example", words="x", send="1")
        outbox.drain(NOW)
        text = mail.outbox[0].message().as_string()
        assert "\nBcc:" not in text

    def test_nobody_there_gets_such_letters(self, desk: Desk) -> None:
        Contact.objects.update(gets_notices=False)
        assert "Nobody there gets letters of this kind" in desk.write("low_stock", 422, what="Feed")
        assert "nobody there gets" in desk.write("low_stock", 422, what="Feed", send="1").lower()
        desk.write("own", 302, subject="x", words="y", send="1")

    def test_an_unknown_kind_is_no_page(self, desk: Desk) -> None:
        assert desk.browser.get(f"{desk.url}new/report/").status_code == 404


def test_after_how_long_a_quiet_client_is_asked(desk: Desk) -> None:
    assert (
        desk.browser.post(
            "/letters/notices/",
            {"quiet_client_days": "x", "renewal_days": "0", "low_stock_days": "14"},
        ).status_code
        == 422
    )
    assert (
        desk.browser.post(
            "/letters/notices/",
            {"quiet_client_days": "45", "renewal_days": "0", "low_stock_days": "14"},
        ).status_code
        == 302
    )
    assert Firm.objects.get().quiet_client_days == 45


def test_a_contacts_choice_is_kept_and_shown(desk: Desk) -> None:
    contact = Contact.objects.get()
    values = {"name": "Robin", "email": "r@okafor.example", "language": "en", "units": "metric",
              "gets_letters": "on"}  # fmt: skip
    address = f"/places/{desk.place.pk}/contacts/{contact.pk}/"
    assert desk.browser.post(address, values | {"reports_as": "link"}).status_code == 302
    contact.refresh_from_db()
    assert (contact.reports_as, contact.gets_notices) == ("link", False)
    page = desk.browser.get(f"/places/{desk.place.pk}/").content.decode()
    assert "gets letters, reports by a link" in page
    assert "no notices" in page
    assert desk.browser.post(address, values | {"reports_as": "pigeon"}).status_code == 422
