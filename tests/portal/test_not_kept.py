"""An appointment that is not kept as it was promised: its page says so, and nobody confirms it."""

import datetime as dt
from typing import Any

import pytest

from apps.accounts.services import link_issue
from apps.core import clock
from apps.flows import incident_calls, offering, visit_booking
from apps.incidents.services import incident_open
from apps.office.selectors.waiting import waiting_for_us
from apps.portal.selectors import appointments
from apps.rounds.models import Absence
from apps.rounds.selectors.standing_in import visits_lacking
from apps.visits.models import Visit
from tests import factories
from tests.reader import Reader as Browser
from tests.rounds.conftest import firm  # noqa: F401
from tests.rounds.world import MONDAY, Town

NOW = factories.NOW
SUITS = "That suits me"


class Page:
    """A client's page with one booked visit of Marek's."""

    def __init__(self, firm: Town) -> None:  # noqa: F811
        self.firm, self.browser = firm, Browser()
        built = firm.garden("Heron", 5)
        self.visit = firm.book(firm.pencil(built, MONDAY, 9, firm.marek))
        self.client = built.system.place.client_id
        self.secret = link_issue(client_id=self.client, purpose="page", at=NOW)

    def get(self) -> str:
        answer = self.browser.get(f"/c/{self.secret}/")
        assert answer.status_code == 200
        return answer.content.decode()

    def confirm(self) -> str:
        """Press the button as a page that was left open would, and return what follows."""
        address = f"/c/{self.secret}/visits/{self.visit.pk}/answer"
        return self.browser.post(address, {"answer": "confirmed"}, follow=True).content.decode()

    def says(self, answer: str) -> None:
        """Note what the client said."""
        visit_booking.answer(
            visit=self.visit, answer=answer, words="Fridays", by=self.firm.by, at=NOW
        )

    def away(self) -> Absence:
        """Let Marek be away on the day."""
        return Absence.objects.create(user=self.firm.marek, first=MONDAY, last=MONDAY)

    @property
    def answer(self) -> str:
        return Visit.objects.get(pk=self.visit.pk).client_answer


@pytest.fixture
def page(firm: Town, monkeypatch: pytest.MonkeyPatch) -> Page:  # noqa: F811
    monkeypatch.setattr(clock, "now", lambda: NOW)
    return Page(firm)


def test_as_long_as_it_is_kept_it_can_be_confirmed(page: Page) -> None:
    # away another day, another half of the day, or somebody else
    Absence.objects.create(
        user=page.firm.marek,
        first=MONDAY + dt.timedelta(days=1),
        last=MONDAY + dt.timedelta(days=1),
    )
    Absence.objects.create(user=page.firm.marek, first=MONDAY, last=MONDAY, part="afternoon")
    Absence.objects.create(user=page.firm.ana, first=MONDAY, last=MONDAY)
    assert SUITS in page.get()
    assert "We have noted your answer" in page.confirm()
    assert page.answer == "confirmed"


def test_of_somebody_who_is_away_it_says_that_we_cannot_come(page: Page) -> None:
    page.away()
    shown = page.get()
    assert "We cannot come on Monday 15 June at 09:00 after all." in shown
    assert SUITS not in shown
    assert 'class="appointment"' not in shown
    before = page.answer
    assert "please tell us when else would suit you" in page.confirm()
    assert page.answer == before
    # they may still say when it would suit them
    assert "Ask for another time" in shown


def test_a_confirmed_one_says_so_too(page: Page) -> None:
    page.confirm()
    page.away()
    shown = page.get()
    assert "We cannot come on Monday 15 June" in shown
    assert "You have confirmed" not in shown


def test_one_that_the_client_declined_says_only_that(page: Page) -> None:
    page.says("declined")
    page.away()
    shown = page.get()
    assert "You have declined this appointment." in shown
    assert "cannot come" not in shown
    assert SUITS not in shown


def test_who_was_offered_other_times_does_not_confirm_the_old_one(page: Page) -> None:
    page.says("other_time")
    assert SUITS in page.get(), "they may still think better of it"
    row = offering.offer(visit=page.visit, by=page.firm.by, at=NOW)
    assert "You have asked for another time instead" in page.confirm()
    row.refresh_from_db()
    assert (row.state, page.answer) == ("open", "other_time")
    offering.none_suits(offer=row, words="Only on Fridays", by=page.firm.by, at=NOW)
    shown = page.get()
    assert "You have asked for another time; we will write to you." in shown
    assert SUITS not in shown
    page.confirm()
    assert page.answer == "other_time"
    assert any("wants another time" in row.text for row in waiting_for_us(page.firm.by))


def test_beside_times_to_choose_nothing_says_that_we_come(page: Page) -> None:
    page.away()
    offering.offer(visit=page.visit, by=page.firm.by, at=NOW)
    shown = page.get()
    assert "So far we come" not in shown
    assert "We cannot come on Monday 15 June at 09:00 after all." in shown


@pytest.mark.parametrize("count", [1, 4])
def test_however_many_visits_the_absences_are_read_once(
    page: Page, count: int, django_assert_num_queries: Any
) -> None:
    built = page.firm.gardens["Heron"]
    for number in range(count):
        page.firm.book(page.firm.pencil(built, MONDAY, 11 + number, page.firm.marek))
    page.away()
    rows = appointments(page.firm.by, NOW)
    with django_assert_num_queries(1):
        assert len(visits_lacking(rows)) == count + 1


def test_whoever_was_sent_after_a_call_for_help_comes_and_nobody_confirmed_that(
    page: Page,
) -> None:
    built = page.firm.gardens["Heron"]
    call = incident_open(system=built.system, kind="gasping", by=page.firm.by, at=NOW)
    incident_calls.send(incident=call, technician=page.firm.ana, by=page.firm.by, at=NOW)
    shown = page.get()
    assert "You have called for help: somebody comes to you." in shown
    assert "You have confirmed" not in shown
    page.confirm()
    assert "You have confirmed this appointment." in page.get(), "the other one is theirs"
