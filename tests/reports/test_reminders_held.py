"""Nobody is reminded of a visit that nobody can make: held, told on Due, sent once somebody goes."""

import datetime as dt
from typing import Any

import pytest

from apps.accounts.models import User
from apps.core import clock, outbox
from apps.core.scoping import Actor
from apps.flows import visit_booking
from apps.flows.nightly import reminders
from apps.office.selectors.waiting_visits import visits_waiting
from apps.reports.choices import Delivery
from apps.reports.models import Letter
from apps.reports.services.wanted import NOBODY_GOES, why_not
from apps.rounds.models import Absence
from apps.visits.models import Visit
from tests import factories

NOW = factories.NOW
SOON = NOW + dt.timedelta(hours=20)


@pytest.fixture
def people(db: None, monkeypatch: pytest.MonkeyPatch) -> tuple[Actor, User, User]:
    monkeypatch.setattr(clock, "now", lambda: NOW)
    monkeypatch.setattr(outbox, "poke", lambda *_args: None)
    factories.firm()
    office = factories.user("office", "office")
    return factories.actor(office), factories.user("ana"), factories.user("marek")


@pytest.fixture
def visit(people: tuple[Actor, User, User]) -> Visit:
    """A visit of tomorrow by Ana, of which the client was asked."""
    by, ana, _marek = people
    built = factories.system(factories.place(factories.client("Okafor")))
    row = visit_booking.pencil(
        place=built.system.place, systems=[built.system], technicians=[ana], start=SOON,
        end=SOON + dt.timedelta(hours=1), by=by, at=NOW,
    )  # fmt: skip
    return visit_booking.step(visit=row, to="booked", by=by, at=NOW)


def away(ana: User, part: str = "whole") -> Absence:
    day = SOON.date()
    return Absence.objects.create(user=ana, first=day, last=day, part=part)


def reminded() -> Any:
    return Letter.objects.filter(kind="reminder")


def test_it_is_held_while_whoever_was_to_come_is_away(
    people: tuple[Actor, User, User], visit: Visit
) -> None:
    by, ana, _marek = people
    gone = away(ana)
    assert reminders(NOW) == 0
    assert not reminded().exists()
    lines = [row.name + row.text for row in visits_waiting(by)]
    assert "Ana is away: 1 booked visit has nobody" in lines
    assert "Ana: 1 client is not reminded of a visit, as nobody can make it" in lines
    gone.delete()
    assert reminders(NOW) == 1


def test_away_at_another_hour_it_goes_out(people: tuple[Actor, User, User], visit: Visit) -> None:
    _by, ana, _marek = people
    away(ana, "afternoon")  # the visit is at 5 in the morning, UTC
    assert reminders(NOW) == 1


def test_one_that_waits_already_is_held_at_the_last_moment_and_written_anew(
    people: tuple[Actor, User, User], visit: Visit
) -> None:
    by, ana, marek = people
    assert reminders(NOW) == 1
    gone = away(ana)
    letter = reminded().get()
    assert why_not(letter, NOW) == (Delivery.WITHHELD, NOBODY_GOES)
    Letter.objects.filter(pk=letter.pk).update(state=Delivery.WITHHELD, last_error=NOBODY_GOES)
    assert reminders(NOW) == 0
    visit.refresh_from_db()
    visit_booking.hand_over(visit=visit, leaves=ana, instead=marek, rev=visit.rev, by=by, at=NOW)
    assert reminders(NOW) == 1
    assert reminders(NOW) == 0
    assert reminded().count() == 2, "written anew once"
    fresh = reminded().exclude(pk=letter.pk).get()
    assert why_not(fresh, NOW) is None
    gone.delete()


def test_no_reminder_that_is_far_off_is_named(
    people: tuple[Actor, User, User], visit: Visit
) -> None:
    by, ana, _marek = people
    later = SOON + dt.timedelta(days=4)
    Visit.objects.filter(pk=visit.pk).update(start=later, end=later + dt.timedelta(hours=1))
    day = later.date()
    Absence.objects.create(user=ana, first=day, last=day)
    lines = [row.name + row.text for row in visits_waiting(by)]
    assert "Ana is away: 1 booked visit has nobody" in lines
    assert not [line for line in lines if "not reminded" in line]
