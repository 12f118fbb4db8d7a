"""Two who want the same at the same moment: one has it, the other is told. Commits for real."""

import datetime as dt

import pytest

from apps.core import clock, outbox
from apps.core.scoping import Actor
from apps.flows import offering, visit_booking
from apps.reports.models import Letter
from apps.rounds.exceptions import OfferEnded
from apps.rounds.models import Hold, TimesOffered
from apps.visits.models import Assignment, Visit
from tests import factories
from tests.racing import Act, at_once
from tests.rounds.world import MONDAY, Town, town

NOW = factories.NOW


@pytest.fixture
def firm(committed_db: None, monkeypatch: pytest.MonkeyPatch) -> Town:
    monkeypatch.setattr(clock, "now", lambda: NOW)
    monkeypatch.setattr(outbox, "poke", lambda *_args: None)
    return town()


def offered(firm: Town, name: str = "Heron", hour: float = 9) -> TimesOffered:
    visit = firm.pencil(firm.garden(name, 5), MONDAY, hour)
    return offering.offer(visit=visit, by=firm.by, at=NOW)


def pick(offer: TimesOffered, number: int, at: dt.datetime = NOW) -> Act:
    """Return the client's choice of one of the times."""
    key = offer.times.order_by("start")[number].pk
    by = Actor(role="client", at=at, client_id=offer.visit.place.client_id)
    return lambda: offering.pick(offer=offer, time_id=key, by=by, at=at).start


def nobody_twice() -> bool:
    """Whether no technician is held or booked twice at once."""
    rows = [
        (row.user_id, row.start, row.end)
        for model in (Assignment, Hold)
        for row in model.objects.filter(holds=True)
    ]
    return not any(
        a[0] == b[0] and a[1] < b[2] and b[1] < a[2]
        for n, a in enumerate(rows)
        for b in rows[n + 1 :]
    )


@pytest.mark.django_db
def test_one_after_the_other(monkeypatch: pytest.MonkeyPatch) -> None:
    """The same on either database, in one connection."""
    monkeypatch.setattr(clock, "now", lambda: NOW)
    monkeypatch.setattr(outbox, "poke", lambda *_args: None)
    offer = offered(town())
    booked = pick(offer, 0)()
    with pytest.raises(OfferEnded):
        pick(offer, 1)()
    assert Visit.objects.get().start == booked


def test_two_choices_at_once_book_one(firm: Town) -> None:
    offer = offered(firm)
    found = at_once(pick(offer, 0), pick(offer, 1))
    visit = Visit.objects.get()
    assert sorted(map(str, found)) == sorted([str(visit.start), "offer_ended"])
    assert Letter.objects.filter(kind="appointment").count() == 1


def test_the_same_choice_from_two_screens_books_once(firm: Town) -> None:
    offer = offered(firm)
    found = at_once(*[pick(offer, 1)] * 4)
    assert len(set(found)) == 1
    assert found[0] == Visit.objects.get().start
    assert Letter.objects.filter(kind="appointment").count() == 1


def test_a_choice_and_the_deadline(firm: Town) -> None:
    """Whatever the clocks of two servers say: booked and picked, or lapsed and as before."""
    offer = offered(firm)
    last = offer.until - dt.timedelta(seconds=1)
    found = at_once(pick(offer, 0, last), lambda: offering.lapse(offer_id=offer.pk, at=offer.until))
    offer.refresh_from_db()
    visit = Visit.objects.get()
    if found[1] is True:
        assert (found[0], offer.state, visit.state) == ("offer_ended", "lapsed", "pencilled")
    else:
        assert (found, offer.state, visit.state) == ([visit.start, False], "picked", "booked")
    assert not Hold.objects.filter(holds=True).exists()


def test_a_choice_and_somebody_who_books_there(firm: Town) -> None:
    offer, other = offered(firm), firm.garden("Mill")
    time = offer.times.order_by("start")[0]
    people = [hold.user for hold in time.holds.select_related("user")]

    def book() -> str:
        visit_booking.pencil(
            place=other.system.place, systems=[other.system], start=time.start, end=time.end,
            technicians=people, by=firm.by, at=NOW,
        )  # fmt: skip
        return "booked"

    found = at_once(pick(offer, 0), book)
    assert found[0] == time.start
    assert found[1] in ("time_held", "double_booked")
    assert nobody_twice()


def test_pressed_twice_at_once_is_one_offer(firm: Town) -> None:
    visit = firm.pencil(firm.garden("Heron", 5), MONDAY, 9)
    key = visit.pk
    found = at_once(*[lambda: offering.offer(visit=visit, pk=key, by=firm.by, at=NOW).pk] * 3)
    assert found == [key] * 3
    assert Letter.objects.filter(kind="times").count() == 1


def test_two_offers_at_once_hold_nobody_twice(firm: Town) -> None:
    """Both look for times before either has held any."""
    visits = [firm.pencil(firm.garden(n, 5), MONDAY, h) for n, h in (("Heron", 14), ("Mill", 16))]
    acts = [lambda v=v: offering.offer(visit=v, by=firm.by, at=NOW).state for v in visits]
    found = at_once(*acts)
    assert "open" in found
    assert set(found) <= {"open", "time_held"}
    assert nobody_twice()


def test_a_choice_and_taking_back(firm: Town) -> None:
    offer = offered(firm)
    found = at_once(
        pick(offer, 2), lambda: offering.take_back(offer=offer, by=firm.by, at=NOW).state
    )
    offer.refresh_from_db()
    assert found.count("offer_ended") == 1
    assert offer.state in ("picked", "taken_back")
    assert (offer.state == "picked") == (Visit.objects.get().state == "booked")
