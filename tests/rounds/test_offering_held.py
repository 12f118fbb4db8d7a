"""Times that are held for a client: nobody else has them."""

import datetime as dt
from dataclasses import replace
from uuid import uuid4

import pytest
from django.db import IntegrityError, connection, transaction

from apps.flows import offering, visit_booking
from apps.flows.incident_calls import send
from apps.flows.rounds import plan_accept, stale
from apps.incidents.services import incident_open
from apps.rounds.exceptions import PlanStale, TimeHeld
from apps.rounds.models import Hold, TimesOffered
from apps.rounds.selectors import gather
from apps.rounds.selectors.offers import Time
from apps.visits.models import Assignment
from tests.rounds.offers import DAY, NOW, offered, pencilled, pick, times, who
from tests.rounds.world import MONDAY, TODAY, Town, wants


class TestHeld:
    """Nobody else is booked, moved or planned into a held time."""

    def test_booking_and_moving_there_say_for_whom(self, firm: Town) -> None:
        offer = offered(firm, pencilled(firm))
        time = times(offer)[1]
        other = firm.garden("Mill")
        day, hour = time.start.date(), time.start.hour + time.start.minute / 60
        with pytest.raises(TimeHeld, match=r"Heron's garden.*take the offer back") as caught:
            firm.pencil(other, day, hour, *who(time))
        assert caught.value.extra["offer"] == str(offer.pk)
        assert caught.value.extra["until"] == offer.until.isoformat()
        elsewhere = firm.pencil(other, MONDAY + 20 * DAY, 9)
        with pytest.raises(TimeHeld):
            visit_booking.move(
                visit=elsewhere, start=time.start, end=time.end, technicians=who(time),
                rev=elsewhere.rev, by=firm.by, at=NOW,
            )  # fmt: skip
        offering.take_back(offer=offer, by=firm.by, at=NOW)
        assert firm.pencil(other, day, hour, *who(time)).state == "pencilled"

    def test_a_plan_leaves_it_free(self, firm: Town) -> None:
        rows = times(offered(firm, pencilled(firm)))
        for number in range(6):
            wants(firm.garden(f"D{number}", 2 + number), MONDAY)
        plan = firm.plan(days=5)
        assert plan.state == "ready"
        plan_accept(plan=plan, today=TODAY, by=firm.by, at=NOW)
        for row in rows:
            taken = Assignment.objects.filter(
                user__in=who(row), holds=True, start__lt=row.end, end__gt=row.start
            ).exclude(visit=row.offer.visit)
            assert not taken.exists()
        kinds = {work[0] for name, work in plan.work.items() if name.startswith("offer:")}
        assert kinds == {"offered"}

    def test_the_visit_itself_is_not_moved_meanwhile(self, firm: Town) -> None:
        visit = pencilled(firm)
        assert gather(MONDAY, 1, TODAY).work[f"visit:{visit.pk}"].kind == "movable"
        offered(firm, visit)
        assert gather(MONDAY, 1, TODAY).work[f"visit:{visit.pk}"].kind == "fixed"

    def test_nor_one_whose_day_has_gone_by(self, firm: Town) -> None:
        visit = firm.pencil(firm.garden("Heron", 5), TODAY - DAY, 9)
        key = f"visit:{visit.pk}"
        assert key in gather(MONDAY, 5, TODAY).work
        offer = offered(firm, visit)
        kinds = {name: work.kind for name, work in gather(MONDAY, 5, TODAY).work.items()}
        assert key not in kinds
        assert set(kinds.values()) == {"offered"}
        assert pick(offer).state == "booked"

    def test_a_plan_made_before_the_offer_is_old(self, firm: Town) -> None:
        visit = pencilled(firm)
        plan = firm.plan(days=3)
        assert not stale(plan, TODAY)
        offer = offered(firm, visit)
        with pytest.raises(PlanStale):
            plan_accept(plan=plan, today=TODAY, by=firm.by, at=NOW)
        offering.take_back(offer=offer, by=firm.by, at=NOW)
        assert not stale(plan, TODAY)

    def test_two_offers_never_hold_the_same(self, firm: Town) -> None:
        one, two = pencilled(firm), pencilled(firm, "Mill", 7, hour=15)
        found = offering.choice_of(two, NOW).times
        offer = offered(firm, one)
        with pytest.raises(TimeHeld):
            # what was found before the first offer was made
            offering._offered(two, clash(found, offer), NOW + DAY, uuid4(), firm.by, NOW)
        assert not TimesOffered.objects.filter(visit=two).exists()

    def test_the_database_holds_nobody_twice(self, firm: Town) -> None:
        if connection.vendor != "postgresql":
            pytest.skip("SQLite has no such constraint; it alone writes while it checks")
        one, two = times(offered(firm, pencilled(firm)))[:2]
        with pytest.raises(IntegrityError, match="hold_no_overlap"), transaction.atomic():
            Hold.objects.filter(time=two).update(user=who(one)[0], start=one.start, end=one.end)

    def test_a_call_for_help_goes_through_and_the_time_is_gone(self, firm: Town) -> None:
        offer = offered(firm, pencilled(firm))
        time = times(offer)[0]
        at = time.start - 10 * dt.timedelta(minutes=1)
        built = firm.garden("Reed", 1)
        by = replace(firm.by, at=at)
        incident = incident_open(
            system=built.system, kind="gasping", pk=uuid4(), by=by, at=at, said="", caller=""
        )
        send(incident=incident, technician=who(time)[0], by=by, at=at)
        time.refresh_from_db()
        offer.refresh_from_db()
        assert (time.state, offer.state) == ("gone", "open")
        assert not time.holds.filter(holds=True).exists()
        assert [row.state for row in times(offer)[1:]] == ["held", "held"]

    def test_with_the_last_time_the_offer_ends(self, firm: Town) -> None:
        offer = offered(firm, pencilled(firm, hour=16))
        for time in times(offer):
            visit_booking.pencil(
                place=firm.gardens["Heron"].system.place, systems=[firm.gardens["Heron"].system],
                start=time.start, end=time.end, technicians=who(time), by=firm.by, at=NOW,
                any_hour=True,
            )  # fmt: skip
        offer.refresh_from_db()
        assert offer.state == "overtaken"


def clash(found: list[Time], offer: TimesOffered) -> list[Time]:
    """Return times of which one lies where another offer holds somebody."""
    held = times(offer)[0]
    people = tuple(str(user.pk) for user in who(held))
    return [replace(found[0], start=held.start, end=held.end, technicians=people,
                    told_from=held.told_from, told_until=held.told_until), *found[1:]]  # fmt: skip
