"""Times that a client picks, and how an offer ends otherwise."""

import datetime as dt
from uuid import uuid4

import pytest
from django.core.exceptions import ValidationError
from django.db import DatabaseError, IntegrityError, transaction

from apps.clients.models import VisitingHours
from apps.core import outbox
from apps.core.exceptions import Invalid
from apps.flows import offering, visit_booking
from apps.reports.models import Letter
from apps.rounds.exceptions import OfferEnded, TimeGone
from apps.rounds.models import Hold, TimeOffered, TimesOffered
from apps.rounds.services import absence_add
from apps.visits.models import Assignment, Visit
from apps.visits.services.booking import client_answer
from tests.rounds.offers import DAY, NOW, H, client_of, offered, pencilled, pick, times, who
from tests.rounds.world import MONDAY, Town


class TestPicking:
    def test_booked_confirmed_and_written_to_as_usual(self, firm: Town) -> None:
        offer = offered(firm, pencilled(firm))
        time = times(offer)[1]
        visit = pick(offer, 1)
        assert (visit.state, visit.client_answer, visit.answered_at) == ("booked", "confirmed", NOW)
        assert (visit.start, visit.end) == (time.start, time.end)
        assert list(visit.technicians.all()) == who(time)
        assert visit.appointment_sequence == 1
        offer.refresh_from_db()
        assert (offer.state, offer.ended_at, offer.rev) == ("picked", NOW, 1)
        assert offer.ended_by == f"client:{visit.place.client_id}"
        assert [row.state for row in times(offer)] == ["free", "picked", "free"]
        assert not Hold.objects.filter(holds=True).exists()
        assert Letter.objects.filter(kind="appointment", visit=visit).count() == 1
        step = visit.steps.get(to_state="booked")
        assert step.reason == "picked by the client"

    def test_the_same_choice_again_changes_nothing(self, firm: Town) -> None:
        offer = offered(firm, pencilled(firm))
        first, again = pick(offer, 1), pick(offer, 1)
        assert (first.pk, first.rev) == (again.pk, again.rev)
        assert Letter.objects.filter(kind="appointment").count() == 1
        with pytest.raises(OfferEnded, match="picked a time") as caught:
            pick(offer, 0)
        assert caught.value.extra["state"] == "picked"

    def test_a_booked_visit_moves_and_its_sequence_grows(self, firm: Town) -> None:
        visit = firm.book(pencilled(firm))
        visit = client_answer(
            visit=visit, answer="other_time", words="Not Monday", by=firm.by, at=NOW
        )
        before = visit.appointment_sequence
        picked = pick(offered(firm, visit))
        assert picked.appointment_sequence > before
        assert (picked.client_answer, picked.client_words) == ("confirmed", "")

    def test_one_that_can_be_had_no_more_leaves_the_others(self, firm: Town) -> None:
        offer = offered(firm, pencilled(firm))
        time = times(offer)[0]
        absence_add(
            user=who(time)[0], first=time.start.date(), last=time.start.date(), by=firm.by, at=NOW
        )
        for _ in range(2):
            with pytest.raises(TimeGone):
                pick(offer)
        assert [row.state for row in times(offer)] == ["gone", "held", "held"]
        assert pick(offer, 2).state == "booked"

    @pytest.mark.parametrize(
        "change",
        [
            lambda time: time.holds.get().user.__class__.objects.update(is_active=False),
            lambda time: VisitingHours.objects.create(
                place=time.offer.visit.place, weekday=7, opens="9:00", closes="10:00"
            ),
            lambda time: Assignment.objects.exclude(visit=time.offer.visit).update(
                user=time.holds.get().user, start=time.start, end=time.end
            ),
        ],
    )
    def test_it_is_looked_at_again_under_the_lock(self, firm: Town, change) -> None:
        firm.pencil(firm.garden("Mill"), MONDAY + 30 * DAY, 9)
        offer = offered(firm, pencilled(firm))
        # not on the day on which the visit itself stands: Ana may be the one who is held
        change(times(offer)[1])
        with pytest.raises(TimeGone):
            pick(offer, 1)

    def test_none_suits(self, firm: Town) -> None:
        offer = offered(firm, pencilled(firm))
        for _ in range(2):
            offering.none_suits(
                offer=offer, words="Only Fridays", by=client_of(offer.visit), at=NOW
            )
        offer.refresh_from_db()
        visit = Visit.objects.get()
        assert (offer.state, offer.words) == ("none_suits", "Only Fridays")
        assert (visit.client_answer, visit.client_words) == ("other_time", "Only Fridays")
        assert offer.rev == visit.rev
        assert not Hold.objects.filter(holds=True).exists()
        with pytest.raises(OfferEnded):
            pick(offer)

    def test_a_time_of_another_offer_is_none(self, firm: Town) -> None:
        one, two = (
            offered(firm, pencilled(firm)),
            offered(firm, pencilled(firm, "Mill", 7, hour=15)),
        )
        with pytest.raises(Invalid) as caught:
            offering.pick(offer=one, time_id=times(two)[0].pk, by=firm.by, at=NOW)
        assert caught.value.errors[0]["pointer"] == "/time"


class TestEnding:
    def test_it_lapses_at_its_time(self, firm: Town) -> None:
        offer = offered(firm, pencilled(firm))
        early = offer.until - dt.timedelta(seconds=1)
        outbox.drain(early)
        assert not offering.lapse(offer_id=offer.pk, at=early), "whoever asks for it too early"
        offer.refresh_from_db()
        assert offer.state == "open"
        assert outbox.drain(offer.until) == 1
        offer.refresh_from_db()
        assert (offer.state, offer.ended_at) == ("lapsed", offer.until)
        assert not Hold.objects.filter(holds=True).exists()

    def test_too_late_by_a_second(self, firm: Town) -> None:
        """The deadline counts, whenever the worker comes."""
        offer = offered(firm, pencilled(firm))
        with pytest.raises(OfferEnded) as caught:
            pick(offer, at=offer.until)
        assert caught.value.extra["state"] == "lapsed"
        assert pick(offer, at=offer.until - dt.timedelta(seconds=1)).state == "booked"
        assert not offering.lapse(offer_id=offer.pk, at=offer.until)

    def test_taken_back_once(self, firm: Town) -> None:
        offer = offered(firm, pencilled(firm))
        offering.take_back(offer=offer, by=firm.by, at=NOW)
        with pytest.raises(OfferEnded, match="taken back"):
            offering.take_back(offer=offer, by=firm.by, at=NOW)
        with pytest.raises(OfferEnded):
            pick(offer)

    @pytest.mark.parametrize(
        ("act", "state"),
        [
            (lambda f, v: visit_booking.step(visit=v, to="called_off", by=f.by, at=NOW), "overtaken"),
            (lambda f, v: visit_booking.step(visit=v, to="booked", by=f.by, at=NOW), "overtaken"),
            (lambda f, v: visit_booking.move(
                visit=v, start=v.start + H, end=v.end + H, technicians=[f.ana], rev=v.rev, by=f.by,
                at=NOW), "overtaken"),
            (lambda f, v: visit_booking.answer(
                visit=v, answer="declined", words="", by=f.by, at=NOW), "overtaken"),
            (lambda f, v: visit_booking.answer(
                visit=v, answer="other_time", words="In May", by=f.by, at=NOW), "none_suits"),
            (lambda f, v: visit_booking.answer(
                visit=v, answer="asked", words="", by=f.by, at=NOW), "open"),
        ],
    )  # fmt: skip
    def test_settled_by_hand_meanwhile(self, firm: Town, act, state: str) -> None:
        visit = pencilled(firm)
        offer = offered(firm, visit)
        act(firm, visit)
        offer.refresh_from_db()
        assert offer.state == state
        assert Hold.objects.filter(holds=True).exists() == (state == "open")

    def test_moved_into_one_of_its_own_times(self, firm: Town) -> None:
        """The office books by hand what the client said on the telephone."""
        visit = pencilled(firm)
        time = times(offered(firm, visit))[2]
        moved = visit_booking.move(
            visit=visit, start=time.start, end=time.end, technicians=who(time), rev=visit.rev,
            by=firm.by, at=NOW,
        )  # fmt: skip
        assert moved.start == time.start

    def test_the_rows_hold_still_once_they_ended(self, firm: Town) -> None:
        offer = offered(firm, pencilled(firm))
        pick(offer)
        tries = (
            lambda: TimesOffered.objects.update(state="open", ended_at=None, rev=None),
            lambda: TimesOffered.objects.update(words="x"),
            lambda: TimeOffered.objects.update(state="held"),
            lambda: Hold.objects.update(holds=True),
            lambda: Hold.objects.all().delete(),
        )
        for change in tries:
            with pytest.raises(DatabaseError, match="make another"), transaction.atomic():
                change()

    def test_the_database_keeps_the_rules(self, firm: Town) -> None:
        offer = offered(firm, pencilled(firm))
        time = times(offer)[0]
        rows, those = (
            TimesOffered.objects.filter(pk=offer.pk),
            TimeOffered.objects.filter(pk=time.pk),
        )
        for change, name in (
            (lambda: rows.update(ended_at=NOW), "offer_ended"),
            (lambda: rows.update(state="lapsed"), "offer_ended"),
            (lambda: rows.update(until=NOW), "offer_until_later"),
            (lambda: rows.update(state="lost"), "offer_"),
            (lambda: those.update(told_from=time.start + H), "time_within_what_is_told"),
            (lambda: those.update(end=time.start), "time_in_order"),
        ):  # fmt: skip
            with pytest.raises(IntegrityError, match=name), transaction.atomic():
                change()
        with pytest.raises((IntegrityError, ValidationError)), transaction.atomic():
            TimesOffered.objects.create(visit=offer.visit, until=NOW + H, made_by="x", made_at=NOW)

    def test_pressed_twice_is_one_offer(self, firm: Town) -> None:
        visit, key = pencilled(firm), uuid4()
        first, again = offered(firm, visit, pk=key), offered(firm, visit, pk=key)
        assert first.pk == again.pk == key
        assert Letter.objects.filter(kind="times").count() == 1
        assert TimeOffered.objects.count() == 3
