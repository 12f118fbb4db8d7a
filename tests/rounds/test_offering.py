"""Times offered to a client: found in the rounds as they stand, held, picked, let go."""

import datetime as dt
from dataclasses import replace
from uuid import uuid4

import pytest
from django.core.exceptions import ValidationError
from django.db import DatabaseError, IntegrityError, connection, transaction
from django.utils import timezone

from apps.accounts.models import AuditEntry
from apps.clients.models import Client, Contact, Place, VisitingHours
from apps.core import outbox
from apps.core.exceptions import Invalid
from apps.core.scoping import Actor
from apps.flows import offering, visit_booking
from apps.flows.incident_calls import send
from apps.flows.rounds import plan_accept, stale
from apps.incidents.services import incident_open
from apps.reports.models import Letter
from apps.rounds.exceptions import NoOffer, OfferEnded, PlanStale, TimeGone, TimeHeld
from apps.rounds.models import Hold, PlanningSettings, TimeOffered, TimesOffered, WorkingHours
from apps.rounds.planning.checker import violations
from apps.rounds.planning.draft import Offer, Seat, draft_of
from apps.rounds.planning.plan import Plan
from apps.rounds.planning.problem import Window
from apps.rounds.planning.reasons import left_out
from apps.rounds.selectors import axis_of, gather
from apps.rounds.selectors.offers import AsItStands, Time, as_it_stands, times_of
from apps.rounds.services import absence_add
from apps.visits.models import Assignment, Visit
from apps.visits.services.booking import client_answer
from tests import factories
from tests.rounds.world import MONDAY, TODAY, Town, wants

NOW = factories.NOW
H = dt.timedelta(hours=1)
DAY = dt.timedelta(days=1)


def client_of(visit: Visit) -> Actor:
    """Return whoever holds the client's link."""
    return Actor(role="client", at=NOW, client_id=visit.place.client_id)


def pencilled(firm: Town, name: str = "Heron", km: float = 5, hour: float = 9) -> Visit:
    """Return a visit that nobody was told of, on Monday with Ana."""
    built = firm.gardens.get(name) or firm.garden(name, km)
    return firm.pencil(built, MONDAY, hour)


def offered(firm: Town, visit: Visit, **more) -> TimesOffered:
    return offering.offer(visit=visit, by=firm.by, at=NOW, **more)


def times(offer: TimesOffered) -> list[TimeOffered]:
    return list(offer.times.prefetch_related("holds__user"))


def who(time: TimeOffered) -> list:
    return [hold.user for hold in time.holds.all()]


def pick(offer: TimesOffered, number: int = 0, at: dt.datetime = NOW) -> Visit:
    time = times(offer)[number]
    return offering.pick(offer=offer, time_id=time.pk, by=client_of(offer.visit), at=at)


class TestFinding:
    def test_on_days_of_their_own_and_held(self, firm: Town) -> None:
        visit = pencilled(firm)
        offer = offered(firm, visit)
        rows = times(offer)
        assert len({timezone.localdate(time.start) for time in rows}) == len(rows) == 3
        settings = PlanningSettings.objects.get()
        first = TODAY + (settings.frozen_days + 1) * DAY
        for time in rows:
            assert first <= timezone.localdate(time.start) < first + settings.days_ahead * DAY
            assert time.end - time.start == H
            assert time.told_until - time.told_from == 2 * H
            assert time.told_from <= time.start <= time.told_until
            assert time.start.minute % 5 == 0
        assert Hold.objects.filter(holds=True).count() == 3
        visit.refresh_from_db()
        assert (visit.state, visit.rev, visit.client_answer) == ("pencilled", 1, "not_asked")
        assert AuditEntry.objects.filter(verb="offered times", object_id=str(visit.pk)).exists()

    def test_within_visiting_hours_and_before_the_care_is_late(self, firm: Town) -> None:
        visit = pencilled(firm)
        for weekday in range(1, 6):
            VisitingHours.objects.create(
                place=visit.place, weekday=weekday, opens="13:00", closes="16:00"
            )
        wants(firm.gardens["Heron"], MONDAY + DAY, early=1, late=2)
        found = offering.choice_of(Visit.objects.get(pk=visit.pk), NOW).times
        days = [timezone.localdate(time.start) for time in found]
        assert days == [MONDAY, MONDAY + DAY, MONDAY + 2 * DAY]
        assert not any(time.late for time in found)
        assert all(time.start.hour >= 13 and time.end.hour <= 16 for time in found)

    def test_a_late_day_comes_last_and_says_so(self, firm: Town) -> None:
        """Even where somebody is next door then, so that it costs less."""
        visit = pencilled(firm)
        wants(firm.gardens["Heron"], MONDAY, early=1, late=0)
        next_door = firm.garden("Mill", 5.1)
        for number in (1, 2, 3):
            firm.book(firm.pencil(next_door, MONDAY + number * DAY, 9, firm.ana))
        found = offering.choice_of(visit, NOW).times
        assert max(time.extra for time in found) == found[0].extra
        assert [time.late for time in found] == [False, True, True]
        assert timezone.localdate(found[0].start) == MONDAY

    def test_further_ahead_where_the_days_have_no_room_for_three(self, firm: Town) -> None:
        visit = pencilled(firm)
        PlanningSettings.objects.update(days_ahead=1)
        VisitingHours.objects.create(place=visit.place, weekday=2, opens="9:00", closes="12:00")
        found = offering.choice_of(visit, NOW).times
        days = [timezone.localdate(time.start) for time in found]
        assert days == [MONDAY + DAY, MONDAY + 8 * DAY, MONDAY + 15 * DAY]

    def test_another_day_for_whoever_wants_another_time(self, firm: Town) -> None:
        visit = firm.book(pencilled(firm))
        visit = client_answer(
            visit=visit, answer="other_time", words="Not Monday", by=firm.by, at=NOW
        )
        found = offering.choice_of(visit, NOW).times
        assert len(found) == 3
        assert MONDAY not in {timezone.localdate(time.start) for time in found}

    def test_it_costs_what_the_judged_rounds_with_it_cost_more(self, firm: Town) -> None:
        """Every time that could be offered, against both plans worked out whole and judged."""
        visit = pencilled(firm, km=6)
        for number, (hour, person) in enumerate([(8, firm.ana), (11, firm.marek), (14, firm.ana)]):
            built = firm.garden(f"P{number}", 3 + 4 * number)
            firm.book(firm.pencil(built, MONDAY + number * DAY, hour, person))
        stands = as_it_stands(visit, TODAY, NOW, 10)
        assert violations(stands.problem, stands.plan) == []
        found = times_of(stands, 8)
        assert len(found) > 5
        for time in found:
            with_it = planned(stands, time)
            assert violations(stands.problem, with_it) == []
            assert with_it.cost - stands.plan.cost == time.extra
            assert metres(with_it) - metres(stands.plan) == time.metres

    def test_what_stands_keeps_its_time_to_the_minute(self, firm: Town) -> None:
        visit = pencilled(firm)
        fixed = firm.book(firm.pencil(firm.garden("Mill", 2), MONDAY, 13, firm.ana))
        loose = firm.pencil(firm.garden("Sedge", 3), MONDAY, 10, firm.marek)
        stands = as_it_stands(visit, TODAY, NOW, 10)
        starts = {
            call.stop: call.start for made in stands.plan.rounds for call in made.calls
        }  # fmt: skip
        for row in (fixed, loose):
            assert starts[f"visit:{row.pk}"] == axis_of(stands.first, row.start)

    def test_held_times_of_others_stand_as_if_booked(self, firm: Town) -> None:
        firm.marek.is_active = False
        firm.marek.save()
        rows = times(offered(firm, pencilled(firm)))
        second = offering.choice_of(pencilled(firm, "Mill", 7, hour=15), NOW).times
        for mine in second:
            assert not any(mine.start < row.end and row.start < mine.end for row in rows)

    def test_the_night_in_which_the_clocks_change(self, firm: Town) -> None:
        """Europe/Brussels leaves summer time on Sunday 25 October 2026 at 03:00 (tz database)."""
        at = dt.datetime(2026, 10, 21, 9, tzinfo=dt.UTC)
        for user in (firm.ana, firm.marek):
            WorkingHours.objects.create(user=user, weekday=7, starts="08:00", ends="16:00")
        with timezone.override("Europe/Brussels"):
            built = firm.garden("Heron", 5)
            visit = firm.pencil(built, dt.date(2026, 10, 28), 9)
            VisitingHours.objects.create(
                place=built.system.place, weekday=7, opens="9:00", closes="12:00"
            )
            stands = as_it_stands(visit, dt.date(2026, 10, 21), at, 2)
            [time] = [t for t in times_of(stands, 3) if timezone.localdate(t.start).day == 25]
            local = timezone.localtime(time.start)
            assert local.utcoffset() == H
            assert 9 <= local.hour < 12
            assert local.hour == time.start.hour + 1
            assert time.end - time.start == H
            assert timezone.localtime(time.told_until) - timezone.localtime(time.told_from) == 2 * H

    def test_two_who_go_together_are_both_held(self, firm: Town) -> None:
        visit = firm.pencil(firm.garden("Heron", 5), MONDAY, 9, firm.ana, firm.marek)
        rows = times(offered(firm, visit))
        assert all(set(who(time)) == {firm.ana, firm.marek} for time in rows)
        assert set(pick(rows[0].offer).technicians.all()) == {firm.ana, firm.marek}


def planned(stands: AsItStands, time: Time) -> Plan:
    """Return the rounds with the visit at one of its times, worked out whole."""
    draft = draft_of(stands.problem, stands.plan)
    start = axis_of(stands.first, time.start)
    stop = stands.problem.by_stop[stands.stop]
    window = next(w for w in stop.windows if w.start <= start <= w.end)
    half = next(w for w in halves(window) if w.start <= start <= w.end)
    for name in time.technicians:
        shift = next(
            n for n, s in enumerate(stands.problem.shifts) if (s.technician, s.day) == (name, window.day)
        )  # fmt: skip
        fit = draft.rounds[shift].cheapest(stop, half)
        assert fit is not None
        draft.take(stop.id, Offer(0, 0, (Seat(shift, fit),)))
    return draft.plan("with it", left_out(draft))


def halves(window: Window) -> list[Window]:
    noon = window.day * 86_400 + 43_200
    if window.end < noon or window.start >= noon:
        return [window]
    return [Window(window.start, noon - 1), Window(noon, window.end)]


def metres(plan: Plan) -> int:
    return sum(made.metres for made in plan.rounds)


class TestRefusals:
    def why(self, firm: Town, visit: Visit) -> str:
        visit = Visit.objects.select_related("place__client").get(pk=visit.pk)
        with pytest.raises(NoOffer) as caught:
            offered(firm, visit)
        assert caught.value.message
        assert (
            not TimesOffered.objects.filter(visit=visit, state="open")
            .exclude(made_at__lt=NOW)
            .exists()
            or caught.value.extra["why"] == "open"
        )
        return str(caught.value.extra["why"])

    def test_settled(self, firm: Town) -> None:
        visit = firm.book(pencilled(firm))
        assert self.why(firm, visit) == "settled"

    def test_open_already(self, firm: Town) -> None:
        visit = pencilled(firm)
        offered(firm, visit)
        assert self.why(firm, visit) == "open"

    def test_who_wants_only_to_be_told(self, firm: Town) -> None:
        visit = pencilled(firm)
        Client.objects.filter(pk=visit.place.client_id).update(just_tell=True)
        assert self.why(firm, visit) == "just_tell"

    def test_nobody_gets_letters(self, firm: Town) -> None:
        visit = pencilled(firm)
        Contact.objects.update(gets_letters=False)
        assert self.why(firm, visit) == "no_letters"

    def test_written_to_often_enough(self, firm: Town) -> None:
        PlanningSettings.objects.update(most_letters=2)
        visit = pencilled(firm)
        for _ in range(2):
            offering.take_back(offer=offered(firm, visit), by=firm.by, at=NOW)
        assert self.why(firm, visit) == "written_to_often"

    def test_not_on_the_map(self, firm: Town) -> None:
        visit = pencilled(firm)
        Place.objects.filter(pk=visit.place_id).update(latitude=None, longitude=None)
        assert self.why(firm, visit) == "no_coordinates"

    def test_three_people(self, firm: Town) -> None:
        third = factories.user("ida")
        visit = firm.pencil(firm.garden("Heron"), MONDAY, 9, firm.ana, firm.marek, third)
        assert self.why(firm, visit) == "people"

    def test_no_time_and_one_time(self, firm: Town) -> None:
        visit = pencilled(firm)
        for user in (firm.ana, firm.marek):
            absence_add(user=user, first=TODAY, last=TODAY + 40 * DAY, by=firm.by, at=NOW)
        refusal = offering.choice_of(visit, NOW).refusal
        assert refusal is not None
        assert refusal.why == "no_time"
        assert "nobody works while somebody may come" in refusal.text
        firm.ana.absences.update(last=TODAY + 5 * DAY)
        firm.ana.absences.create(first=TODAY + 7 * DAY, last=TODAY + 40 * DAY)
        assert self.why(firm, visit) == "one_time"

    def test_fewer_than_two_and_one_that_is_no_more(self, firm: Town) -> None:
        visit = pencilled(firm)
        keys = [time.key for time in offering.choice_of(visit, NOW).times]
        for asked, word in ((keys[:1], "at least two"), ([*keys[:1], "gone"], "no more")):
            with pytest.raises(Invalid, match=word) as caught:
                offered(firm, visit, keys=asked)
            assert caught.value.errors[0]["pointer"] == "/times"
        assert offered(firm, visit, keys=keys[1:]).times.count() == 2

    @pytest.mark.parametrize("until", [NOW, NOW - H, NOW + 9 * DAY])
    def test_a_deadline_that_cannot_be(self, firm: Town, until: dt.datetime) -> None:
        with pytest.raises(Invalid) as caught:
            offered(firm, pencilled(firm), until=until)
        assert caught.value.errors[0]["pointer"] == "/until"
        assert not Hold.objects.exists()

    def test_the_deadline_leaves_the_frozen_days(self, firm: Town) -> None:
        offer = offered(firm, pencilled(firm))
        frozen = PlanningSettings.objects.get().frozen_days
        assert NOW < offer.until <= times(offer)[0].start - frozen * DAY
        later = pencilled(firm, "Mill", 7, hour=14)
        keys = [time.key for time in offering.choice_of(later, NOW).times][1:]
        PlanningSettings.objects.update(frozen_days=0)
        assert offered(firm, later, keys=keys).until == NOW + 2 * DAY


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
