"""Times to offer, found in the rounds as they stand."""

import datetime as dt

from django.utils import timezone

from apps.accounts.models import AuditEntry
from apps.clients.models import VisitingHours
from apps.flows import offering
from apps.rounds.models import Hold, PlanningSettings, WorkingHours
from apps.rounds.planning.checker import violations
from apps.rounds.planning.draft import Offer, Seat, draft_of
from apps.rounds.planning.plan import Plan
from apps.rounds.planning.problem import Window
from apps.rounds.planning.reasons import left_out
from apps.rounds.selectors import axis_of
from apps.rounds.selectors.offers import AsItStands, Time, as_it_stands, times_of
from apps.visits.models import Visit
from apps.visits.services.booking import client_answer
from tests.rounds.offers import DAY, NOW, H, offered, pencilled, pick, times, who
from tests.rounds.world import MONDAY, TODAY, Town, wants


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
