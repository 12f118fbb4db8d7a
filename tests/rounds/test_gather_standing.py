"""What the planner gets to see of visits that stand or may be moved."""

import datetime as dt

import pytest

from apps.rounds.choices import Kind
from apps.rounds.models import Absence, PlanningSettings
from apps.rounds.planning.problem import DAY, Promise, Window
from apps.visits.models import Visit
from tests import factories
from tests.rounds.gathering import H, days_of, gathered, stop_of
from tests.rounds.world import MONDAY, TODAY, Town, wants


class TestWhatStands:
    def test_booked(self, firm: Town) -> None:
        built = firm.garden("Heron")
        visit = firm.book(firm.pencil(built, MONDAY, 9.5, minutes=80))
        found = gathered()
        stop = stop_of(found, visit)
        window = Window(9 * H + 1800, 9 * H + 1800)
        assert stop.promise == Promise(window, (str(firm.ana.pk),))
        assert (stop.service, stop.skills) == (80 * 60, frozenset())
        assert found.work[stop.id].kind == Kind.FIXED

    def test_pencilled_and_untold_may_move(self, firm: Town) -> None:
        visit = firm.pencil(firm.garden("Heron"), MONDAY, 9)
        stop = stop_of(gathered(), visit)
        assert stop.promise is None
        assert stop.former is not None
        assert (stop.former.day, stop.former.technicians) == (0, (str(firm.ana.pk),))
        assert days_of(stop) == [0, 1, 2, 3, 4]

    @pytest.mark.parametrize(
        ("answer", "kind"),
        [("not_asked", "movable"), ("other_time", "movable"), ("asked", "fixed"),
         ("confirmed", "fixed"), ("declined", "fixed")],
    )  # fmt: skip
    def test_what_the_client_said(self, firm: Town, answer: str, kind: str) -> None:
        visit = firm.pencil(firm.garden("Heron"), MONDAY, 9)
        Visit.objects.filter(pk=visit.pk).update(client_answer=answer)
        assert gathered().work[f"visit:{visit.pk}"].kind == kind

    def test_today_and_tomorrow_stay(self, firm: Town) -> None:
        tomorrow = TODAY + dt.timedelta(days=1)
        visit = firm.pencil(firm.garden("Heron"), tomorrow, 9)
        wants(firm.garden("Sedge"), TODAY)
        found = gathered(TODAY, 5)
        assert found.problem.settings.frozen_days == {0, 1}
        stop = stop_of(found, visit)
        assert [w for w in stop.windows if w.day == 1] == [Window(DAY + 9 * H, DAY + 9 * H)]
        plan = firm.plan(TODAY, 5)
        call = plan.plan["rounds"][0]["calls"][0]
        assert (call[0], call[3]) == (stop.id, DAY + 9 * H)
        assert [made["day"] for made in plan.plan["rounds"]] == [1, 4]  # Friday, Monday
        PlanningSettings.objects.update(frozen_days=0)
        stop = stop_of(gathered(TODAY, 5), visit)
        assert [w for w in stop.windows if w.day == 1] == [
            Window(DAY + 8 * H, DAY + 18 * H - stop.service)
        ]

    def test_who_goes_tomorrow_is_ill(self, firm: Town) -> None:
        """A visit of a frozen day of which nobody was told goes to whoever is there, or waits."""
        tomorrow = TODAY + dt.timedelta(days=1)
        loose = firm.pencil(firm.garden("Heron"), tomorrow, 9)
        booked = firm.book(firm.pencil(firm.garden("Sedge"), tomorrow, 11))
        Absence.objects.create(user=firm.ana, first=tomorrow, last=tomorrow)
        plan = firm.plan(TODAY, 5)
        assert [row[:2] for row in plan.plan["left_out"]] == [
            [f"visit:{booked.pk}", "technician_away"]
        ]
        [made] = plan.plan["rounds"]
        assert (made["day"], made["calls"][0][0]) == (4, f"visit:{loose.pk}")

    def test_a_client_who_wants_another_time_gets_another_day(self, firm: Town) -> None:
        visit = firm.pencil(firm.garden("Heron"), MONDAY, 9)
        Visit.objects.filter(pk=visit.pk).update(client_answer="other_time")
        stop = stop_of(gathered(), visit)
        assert (days_of(stop), stop.former) == ([1, 2, 3, 4], None)
        assert days_of(stop_of(gathered(days=1), visit)) == [0]

    def test_two_people_three_people(self, firm: Town) -> None:
        cleo = factories.user("cleo")
        two = firm.pencil(firm.garden("Heron"), MONDAY, 9, firm.ana, firm.marek)
        three = firm.pencil(firm.garden("Sedge"), MONDAY, 14, firm.ana, firm.marek, cleo)
        found = gathered()
        assert stop_of(found, two).people == 2
        assert stop_of(found, two).promise is None
        # three stand where they are, each on their own: should one be away, the others still go
        stops = [found.problem.by_stop[f"visit:{three.pk}{more}"] for more in ("", "/1", "/2")]
        people = [stop.promise.technicians for stop in stops if stop.promise]
        assert sorted(people) == sorted((str(u.pk),) for u in (firm.ana, firm.marek, cleo))

    def test_one_of_two_is_away_and_the_others_time_is_held(self, firm: Town) -> None:
        visit = firm.book(firm.pencil(firm.garden("Heron"), MONDAY, 9, firm.ana, firm.marek))
        Absence.objects.create(user=firm.ana, first=MONDAY, last=MONDAY)
        plan = firm.plan()
        [made] = plan.plan["rounds"]
        assert (made["technician"], made["calls"][0][3]) == (str(firm.marek.pk), 9 * H)
        [left] = plan.plan["left_out"]
        assert (left[0].split("/")[0], left[1]) == (f"visit:{visit.pk}", "technician_away")

    def test_a_day_that_has_gone_by_wants_a_new_one(self, firm: Town) -> None:
        visit = firm.pencil(firm.garden("Heron"), TODAY - dt.timedelta(days=3), 9)
        stop = stop_of(gathered(), visit)
        assert (stop.promise, stop.former) == (None, None)
        assert days_of(stop) == [0, 1, 2, 3, 4]

    def test_other_states_hold_nothing(self, firm: Town) -> None:
        visit = firm.pencil(firm.garden("Heron"), MONDAY, 9)
        for state in ("called_off", "written_up"):
            Visit.objects.filter(pk=visit.pk).update(state=state)
            assert f"visit:{visit.pk}" not in gathered().problem.by_stop

    def test_the_day_is_stretched_for_what_is_booked(self, firm: Town) -> None:
        early = firm.book(firm.pencil(firm.garden("Heron", 30), MONDAY, 7.5, minutes=60))
        late = firm.book(firm.pencil(firm.garden("Sedge", 30.5), MONDAY, 17.5, minutes=60))
        found = gathered(days=1)
        plan = firm.plan()
        assert plan.plan["left_out"] == []
        assert {call[0] for call in plan.plan["rounds"][0]["calls"]} == {
            f"visit:{early.pk}", f"visit:{late.pk}",
        }  # fmt: skip
        assert [note.code for note in found.notes] == ["day_stretched"]

    def test_too_little_time_between_two_that_are_booked(self, firm: Town) -> None:
        one = firm.book(firm.pencil(firm.garden("Heron", 5), MONDAY, 9, minutes=60))
        two = firm.book(firm.pencil(firm.garden("Sedge", -25), MONDAY, 10, minutes=60))
        found = gathered(days=1)
        assert [note.code for note in found.notes] == ["drive_too_short"]
        assert stop_of(found, one).service < H
        plan = firm.plan()
        assert [call[0] for call in plan.plan["rounds"][0]["calls"]] == [
            f"visit:{one.pk}", f"visit:{two.pk}",
        ]  # fmt: skip

    def test_booked_through_lunch(self, firm: Town) -> None:
        firm.book(firm.pencil(firm.garden("Heron", 1), MONDAY, 11.25, minutes=90))
        firm.book(firm.pencil(firm.garden("Sedge", 1.2), MONDAY, 13, minutes=60))
        found = gathered(days=1)
        assert [note.code for note in found.notes] == ["no_lunch"]
        assert firm.plan().plan["left_out"] == []

    def test_booked_on_a_day_that_nobody_works(self, firm: Town) -> None:
        saturday = MONDAY + dt.timedelta(days=5)
        visit = firm.book(firm.pencil(firm.garden("Heron"), saturday, 10))
        plan = firm.plan(saturday, 1)
        assert plan.plan["left_out"] == []
        assert plan.plan["rounds"][0]["calls"][0][0] == f"visit:{visit.pk}"
