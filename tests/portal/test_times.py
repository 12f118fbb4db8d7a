"""Times to choose from on the client's page: looking changes nothing, a choice acts once."""

import datetime as dt
import re

import pytest
from django.core import mail

from apps.accounts.services import link_issue
from apps.clients.models import Contact
from apps.core import clock, outbox
from apps.flows import offering, visit_booking
from apps.rounds.models import TimesOffered
from apps.rounds.services.offers import time_gone
from apps.visits.models import Visit
from tests import factories
from tests.reader import Reader as Browser
from tests.rounds.conftest import firm  # noqa: F401
from tests.rounds.world import MONDAY, Town
from tests.trust.world import rows_of_everything

NOW = factories.NOW


class Page:
    """A client's browser at the link of the letter."""

    def __init__(self, offer: TimesOffered) -> None:
        outbox.drain(NOW)
        [letter] = [m for m in mail.outbox if m.subject.startswith("Which of these times")]
        self.offer, self.browser = offer, Browser()
        self.secret = re.findall(r"/c/([^/]+)/", letter.body)[0]

    def get(self) -> str:
        answer = self.browser.get(f"/c/{self.secret}/")
        assert answer.status_code == 200
        return answer.content.decode()

    def post(self, offer: TimesOffered | None = None, **data: str) -> str:
        """Send the form and return the page that follows."""
        pk = (offer or self.offer).pk
        answer = self.browser.post(f"/c/{self.secret}/times/{pk}/answer", data, follow=True)
        return answer.content.decode()

    def times(self) -> list[str]:
        return re.findall(r'name="time" value="([^"]+)"', self.get())

    @property
    def state(self) -> str:
        self.offer.refresh_from_db()
        return self.offer.state


@pytest.fixture
def page(firm: Town) -> Page:  # noqa: F811
    visit = firm.pencil(firm.garden("Heron", 5), MONDAY, 9)
    return Page(offering.offer(visit=visit, by=firm.by, at=NOW))


def test_the_times_with_day_and_window_and_nobodys_name(page: Page) -> None:
    shown = page.get()
    assert len(page.times()) == 3
    for time in page.offer.times.all():
        assert f"between {time.told_from:%H:%M} and {time.told_until:%H:%M}" in shown
    assert "We keep these times for you until" in shown
    assert "EUR" not in shown
    assert "<script" not in shown.split("<main")[1]


def test_whoever_follows_links_changes_nothing(page: Page) -> None:
    """A mail scanner opens every address that it finds, in every way that is safe."""
    page.get()  # the link notes when it was first opened
    before = rows_of_everything()
    found = set(re.findall(r'(?:href|action)="(/c/[^"]+)"', page.get()))
    assert {address.split("/")[3] for address in found} == {"times", "close"}
    for address in {*found, f"/c/{page.secret}/"}:
        for method in (page.browser.get, page.browser.head, page.browser.options):
            assert method(address).status_code in (200, 405)
    assert rows_of_everything() == before
    assert page.state == "open"


def test_a_choice_books_and_the_page_says_when(page: Page) -> None:
    key = page.times()[1]
    said = page.post(time=key)
    time = page.offer.times.get(pk=key)
    assert "Thank you. We come on" in said
    assert "You have confirmed this appointment." in said
    visit = Visit.objects.get()
    assert (visit.state, visit.start, visit.client_answer) == ("booked", time.start, "confirmed")
    assert "Thank you. We come on" in page.post(time=key), "the same again is the same"
    assert "You have chosen a time already." in page.post(time=str(page.offer.times.first().pk))
    assert Visit.objects.get().start == time.start


def test_it_needs_its_token(page: Page) -> None:
    strict = Browser(enforce_csrf_checks=True)
    address = f"/c/{page.secret}/times/{page.offer.pk}/answer"
    assert strict.post(address, {"time": page.times()[0]}).status_code == 403
    assert page.state == "open"


@pytest.mark.parametrize("sent", [{}, {"time": ""}, {"time": "x"}, {"time": str(MONDAY)}])
def test_no_choice_is_asked_again(page: Page, sent: dict[str, str]) -> None:
    assert "Choose one of the times." in page.post(**sent)
    assert page.state == "open"


def test_none_suits_needs_words_and_frees_the_times(page: Page) -> None:
    assert "Tell us in a few words" in page.post(answer="none", words="  ")
    assert page.state == "open"
    said = page.post(answer="none", words="Only on Fridays")
    assert "We look for other times" in said
    assert page.state == "none_suits"
    visit = Visit.objects.get()
    assert (visit.client_answer, visit.client_words) == ("other_time", "Only on Fridays")
    assert "None of the times suits you" in page.get()
    assert "can be had no more" in page.post(time=str(page.offer.times.first().pk))


def test_one_that_is_gone_stands_struck_out_and_the_others_stay(page: Page) -> None:
    gone = page.offer.times.first()
    time_gone(time=gone, by=factories.actor(gone.holds.get().user), at=NOW)
    assert "taken by now" in page.get()
    assert len(page.times()) == 2
    assert "the others are still free" in page.post(time=str(gone.pk))
    assert "Thank you. We come on" in page.post(time=page.times()[0])


def test_over_by_the_clock_before_the_job_comes(
    page: Page, monkeypatch: pytest.MonkeyPatch
) -> None:
    key = page.times()[0]
    monkeypatch.setattr(clock, "now", lambda: page.offer.until)
    assert "The time to choose is over" in page.get()
    assert page.times() == []
    assert "can be had no more" in page.post(time=key)
    assert (page.state, Visit.objects.get().state) == ("open", "pencilled")
    outbox.drain(page.offer.until)
    assert page.state == "lapsed"
    assert "The time to choose is over" in page.get()


def test_taken_back_and_settled_otherwise(page: Page, firm: Town) -> None:  # noqa: F811
    offering.take_back(offer=page.offer, by=firm.by, at=NOW)
    assert "These times can be had no more" in page.get()
    visit = Visit.objects.get()
    again = offering.offer(visit=visit, by=firm.by, at=NOW + dt.timedelta(minutes=1))
    assert len(page.times()) == 3, "the newest offer stands there, by the old link too"
    visit_booking.step(visit=visit, to="called_off", by=firm.by, at=NOW)
    assert "These times can be had no more" in page.get()
    assert "can be had no more" in page.post(offer=again, time=str(again.times.first().pk))


def test_a_booked_visit_stands_until_another_time_is_chosen(firm: Town) -> None:  # noqa: F811
    visit = firm.book(firm.pencil(firm.garden("Heron", 5), MONDAY, 9))
    visit = visit_booking.answer(visit=visit, answer="other_time", words="No", by=firm.by, at=NOW)
    page = Page(offering.offer(visit=visit, by=firm.by, at=NOW))
    shown = page.get()
    assert "So far we come on Monday 15 June at 09:00." in shown
    assert 'value="confirmed"' not in shown


def test_whose_link_it_is(page: Page, firm: Town) -> None:  # noqa: F811
    other = firm.pencil(firm.garden("Mill", 7), MONDAY, 15)
    theirs = offering.offer(visit=other, by=firm.by, at=NOW)
    address = f"/c/{page.secret}/times/{theirs.pk}/answer"
    time = theirs.times.first()
    assert page.browser.post(address, {"time": str(time.pk)}).status_code == 404
    mine = firm.pencil(firm.gardens["Heron"], MONDAY + dt.timedelta(days=30), 9)
    second = offering.offer(visit=mine, by=firm.by, at=NOW)
    narrow = f"/c/{page.secret}/times/{second.pk}/answer"
    assert page.browser.post(narrow, {"answer": "none", "words": "x"}).status_code == 404
    whole = link_issue(client_id=mine.place.client_id, purpose="page", at=NOW)
    shown = page.browser.get(f"/c/{whole}/").content.decode()
    assert shown.count("Take this time") == 2
    assert page.browser.get(f"/c/{'y' * 43}/").status_code == 404


def test_in_the_contacts_language(page: Page) -> None:
    Contact.objects.update(language="xx")
    assert '<html lang="xx"' in page.get()
