"""What the planner gets to see of the database, rule by rule."""

import datetime as dt
from typing import Any

import pytest
from django.utils import timezone

from apps.batches.models import FishBatch, Treatment
from apps.care.models import CareTask, Standing
from apps.clients.models import VisitingHours
from apps.rounds.choices import Kind
from apps.rounds.models import Absence, Crew, PlanningSettings, WorkingHours
from apps.rounds.planning.problem import DAY, MONEY, Promise, Stop, Window
from apps.rounds.planning.validation import validate
from apps.rounds.selectors import Gathered, axis_of, gather, moment_of
from apps.visits.models import Visit
from tests import factories
from tests.rounds.world import BASE, MONDAY, TODAY, Town, calm, wants

H = 3600
WEEK = 5


def gathered(first: dt.date = MONDAY, days: int = WEEK, **more: Any) -> Gathered:
    """Gather, and hold it to what the planner takes."""
    found = gather(first, days, TODAY, **more)
    validate(found.problem)
    return found


def stop_of(found: Gathered, visit: Visit) -> Stop:
    return found.problem.by_stop[f"visit:{visit.pk}"]


def due_of(found: Gathered, built: factories.Built) -> Stop:
    return found.problem.by_stop[f"due:{built.system.place_id}"]


def days_of(stop: Stop) -> list[int]:
    return sorted({window.day for window in stop.windows})


class TestWhoWorks:
    def test_without_any_row_the_firms_day_from_monday_to_friday(self, firm: Town) -> None:
        shifts = gathered(days=7).problem.shifts
        assert {shift.day for shift in shifts} == set(range(5))
        assert {shift.technician for shift in shifts} == {str(firm.ana.pk), str(firm.marek.pk)}
        one = shifts[0]
        assert (one.start, one.end, one.start_place, one.overtime) == (8 * H, 18 * H, "base", 0)
        assert one.lunch is not None
        assert one.lunch.seconds == 1800

    def test_own_hours_home_skills_and_overtime(self, firm: Town) -> None:
        Crew.objects.create(
            user=firm.ana, skills=["electric"], latitude=50.6, longitude=4.4, starts_from="home",
            overtime_minutes=60, overtime_share="0.50",
        )  # fmt: skip
        WorkingHours.objects.create(
            user=firm.ana, weekday=2, starts="07:30", ends="15:00", lunch_minutes=45
        )
        ana = [s for s in gathered().problem.shifts if s.technician == str(firm.ana.pk)]
        assert [(s.day, s.start % DAY, s.end % DAY) for s in ana] == [(1, 27000, 15 * H)]
        assert (ana[0].start_place, ana[0].skills) == (f"home:{firm.ana.pk}", {"electric"})
        # half of an hour's 36 more: 18 an hour is 50 ten-thousandths a second
        assert (ana[0].overtime, ana[0].overtime_per_second) == (H, 50)
        assert ana[0].lunch is not None
        assert ana[0].lunch.seconds == 45 * 60

    @pytest.mark.parametrize(
        ("parts", "left"),
        [
            (["whole"], None), (["morning"], (12 * H, 18 * H)),
            (["afternoon"], (8 * H, 12 * H)), (["morning", "afternoon"], None),
        ],
    )  # fmt: skip
    def test_absence(self, firm: Town, parts: list[str], left: tuple[int, int] | None) -> None:
        day = MONDAY + dt.timedelta(days=1)
        for part in parts:
            Absence.objects.create(user=firm.ana, first=day, last=day, part=part)
        found = {
            (s.technician, s.day): (s.start - s.day * DAY, s.end - s.day * DAY)
            for s in gathered().problem.shifts
        }
        assert found.get((str(firm.ana.pk), 1)) == left
        assert found[str(firm.ana.pk), 2] == found[str(firm.marek.pk), 1] == (8 * H, 18 * H)

    def test_booked_while_somebody_is_away_for_half_a_day(self, firm: Town) -> None:
        morning = firm.book(firm.pencil(firm.garden("Heron"), MONDAY, 9))
        afternoon = firm.book(firm.pencil(firm.garden("Sedge"), MONDAY, 14))
        Absence.objects.create(user=firm.ana, first=MONDAY, last=MONDAY, part="morning")
        plan = firm.plan()
        assert [row[0] for row in plan.plan["left_out"]] == [f"visit:{morning.pk}"]
        [made] = plan.plan["rounds"]
        assert [call[0] for call in made["calls"]] == [f"visit:{afternoon.pk}"]
        assert made["leave"] >= 12 * H

    def test_who_has_left_does_not_work(self, firm: Town) -> None:
        visit = firm.book(firm.pencil(firm.garden("Heron"), MONDAY, 9, firm.marek))
        loose = firm.pencil(firm.garden("Sedge"), MONDAY, 11, firm.marek)
        firm.marek.is_active = False
        firm.marek.save()
        plan = firm.plan()
        said = {row[0]: row[1] for row in plan.plan["left_out"]}
        assert said == {f"visit:{visit.pk}": "technician_away"}
        [round_] = plan.plan["rounds"]
        assert round_["technician"] == str(firm.ana.pk)
        assert [call[0] for call in round_["calls"]] == [f"visit:{loose.pk}"]

    def test_without_a_base_it_lies_amid_the_places(self, firm: Town) -> None:
        PlanningSettings.objects.all().delete()
        firm.garden("Heron", 4)
        wants(firm.gardens["Heron"], MONDAY)
        found = gathered()
        assert [note.code for note in found.notes] == ["base_assumed"]
        base = found.problem.places[0]
        assert (base.lat, base.lon) == (pytest.approx(BASE[0] + 4 / 111.2), BASE[1])


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


class TestWhatIsDue:
    def test_a_places_systems_together(self, firm: Town) -> None:
        built = firm.garden("Heron")
        other = factories.system(built.system.place, "Roof")
        calm(other)
        wants(built, MONDAY)
        wants(other, MONDAY + dt.timedelta(days=1))
        found = gathered()
        stop = due_of(found, built)
        assert set(found.work[stop.id].systems) == {built.system.pk, other.system.pk}
        assert found.work[stop.id].kind == Kind.DUE

    def test_not_before_it_opens_and_worth_less_each_day_after(self, firm: Town) -> None:
        built = firm.garden("Heron")
        wants(built, MONDAY + dt.timedelta(days=2), early=1, late=1)
        stop = due_of(gathered(), built)
        assert days_of(stop) == [1, 2, 3, 4]
        worth = [stop.prizes[day] for day in range(5)]
        assert worth[2] == max(worth)
        assert worth[2] - worth[3] < worth[3] - worth[4]

    def test_worth_more_on_the_day_of_its_area(self, firm: Town) -> None:
        built = firm.garden("Heron", area="Hillside")
        away = firm.garden("Lindqvist", area="Harbour")
        visit = firm.pencil(firm.garden("Osei", area="hillside "), MONDAY, 9)
        wants(built, MONDAY)
        wants(away, MONDAY)
        before = gathered()
        for weekday in (2, 4):
            WorkingHours.objects.create(
                user=firm.marek, weekday=weekday, starts=dt.time(8), ends=dt.time(16),
                area="Hillside",
            )  # fmt: skip
        Absence.objects.create(
            user=firm.marek, first=MONDAY + dt.timedelta(3), last=MONDAY + dt.timedelta(3)
        )
        WorkingHours.objects.create(
            user=firm.office, weekday=5, starts=dt.time(8), ends=dt.time(16), area="Hillside"
        )  # who goes out nowhere
        found, more = gathered(), int(PlanningSettings().area_day * MONEY)
        for stop, other in (
            (due_of(found, built), due_of(before, built)),
            (stop_of(found, visit), stop_of(before, visit)),
        ):
            gain = {day: stop.prizes[day] - other.prizes[day] for day in range(WEEK)}
            assert gain == {0: 0, 1: more, 2: 0, 3: 0, 4: 0}
            assert stop.in_area == {1: frozenset({str(firm.marek.pk)})}
        assert found.problem.settings.own_area == int(PlanningSettings().area_technician * MONEY)
        assert due_of(found, away).prizes == due_of(before, away).prizes

    def test_a_system_with_a_visit_is_not_proposed_again(self, firm: Town) -> None:
        built = firm.garden("Heron")
        wants(built, MONDAY)
        firm.pencil(built, MONDAY + dt.timedelta(days=30), 9)
        assert f"due:{built.system.place_id}" not in gathered().problem.by_stop

    def test_what_is_due_later_is_not_asked_for(self, firm: Town) -> None:
        built = firm.garden("Heron")
        wants(built, MONDAY + dt.timedelta(days=WEEK))
        assert not gathered().problem.stops

    def test_fish_at_risk_weigh_more_and_at_once(self, firm: Town) -> None:
        calm, urgent = firm.garden("Heron", 2), firm.garden("Sedge", 2)
        wants(calm, MONDAY)
        wants(urgent, MONDAY)
        Standing.objects.filter(system=urgent.system).update(
            fixed_class=1, advice_urgency="now", advice_since=factories.NOW
        )
        found = gathered()
        there, here = due_of(found, urgent), due_of(found, calm)
        assert there.prizes[0] > 1.5 * here.prizes[0]
        assert there.prizes[0] - there.prizes[1] >= 40 * MONEY

    def test_pencilled_before_anything_is_due_is_worth_its_trip(self, firm: Town) -> None:
        built = firm.garden("Heron", 30)
        wants(built, MONDAY + dt.timedelta(days=40))
        visit = firm.pencil(built, MONDAY + dt.timedelta(days=1), 9)
        stop = stop_of(gathered(), visit)
        assert days_of(stop) == [1, 2, 3, 4]
        assert stop.prizes[1] == max(stop.prizes.values())
        assert firm.plan(days=5).work[stop.id][0] == "movable"

    def test_a_task_without_its_late_day(self, firm: Town) -> None:
        built = firm.garden("Heron")
        task = wants(built, MONDAY)
        CareTask.objects.filter(pk=task.pk).update(next_late=None)
        assert days_of(due_of(gathered(), built)) == [0, 1, 2, 3, 4]

    def test_advice_within_three_days(self, firm: Town) -> None:
        built = firm.garden("Heron")
        wants(built, MONDAY + dt.timedelta(days=4))
        calm_worth = due_of(gathered(), built).prizes
        Standing.objects.filter(system=built.system).update(
            advice_urgency="within_3_days", advice_since=factories.NOW
        )
        stop = due_of(gathered(), built)
        assert days_of(stop) == [0, 1, 2, 3, 4]
        # by Sunday: from Monday on each day counts for less
        assert all(stop.prizes[day] > stop.prizes[day + 1] for day in range(4))
        assert calm_worth[4] == max(calm_worth.values())

    def test_longer_overdue_never_counts_less(self, firm: Town) -> None:
        worth = []
        built = firm.garden("Heron")
        for days in (0, 5, 20, 60, 200):
            wants(built, MONDAY - dt.timedelta(days=days))
            worth.append(due_of(gathered(), built).prizes[0])
        assert worth == sorted(worth)

    def test_a_lone_trip_is_worth_its_cost(self, firm: Town) -> None:
        built = firm.garden("Heron", 60)
        wants(built, MONDAY)
        assert firm.plan().plan["left_out"] == []

    def test_length_by_the_lines_and_the_greeting(self, firm: Town) -> None:
        built = firm.garden("Heron")
        task = wants(built, MONDAY, minutes=47)
        stop = due_of(gathered(), built)
        # the lines that a visit of that day then has
        visit = firm.pencil(built, MONDAY, 9, minutes=30)
        lines = [row for sheet in visit.sheets.all() for row in sheet.lines.all()]
        assert task.pk in {line.task_id for line in lines}
        minutes = sum(line.minutes_planned for line in lines) + 15
        assert stop.service == -(-minutes // 5) * 5 * 60
        assert stop_of(gathered(), visit).service == stop.service

    def test_a_longer_visit_is_not_cut_short(self, firm: Town) -> None:
        visit = firm.pencil(firm.garden("Heron"), MONDAY, 9, minutes=300)
        assert stop_of(gathered(), visit).service == 5 * H

    def test_skills(self, firm: Town) -> None:
        built = firm.garden("Heron")
        wants(built, MONDAY, skill="electric")
        assert due_of(gathered(), built).skills == {"electric"}
        assert firm.plan().plan["left_out"] == [
            [f"due:{built.system.place_id}", "skill_missing", {"skills": ["electric"]}]
        ]
        Crew.objects.create(user=firm.marek, skills=["electric"])
        [made] = firm.plan().plan["rounds"]
        assert made["technician"] == str(firm.marek.pk)

    def test_clients_own_tasks_are_not_the_firms(self, firm: Town) -> None:
        built = firm.garden("Heron")
        wants(built, MONDAY)
        CareTask.objects.filter(system=built.system).update(who="client")
        assert "skill" not in due_of(gathered(), built).skills


class TestWhereAndWhen:
    def test_gone_by_closing(self, firm: Town) -> None:
        built = firm.garden("Heron")
        for weekday, opens, closes in (
            (1, "08:00", "12:00"),
            (1, "13:00", "17:00"),
            (3, "9:00", "9:20"),
        ):
            VisitingHours.objects.create(
                place=built.system.place, weekday=weekday, opens=opens, closes=closes
            )
        wants(built, MONDAY)
        stop = due_of(gathered(), built)
        length = stop.service
        assert stop.windows == (Window(8 * H, 12 * H - length), Window(13 * H, 17 * H - length))

    def test_no_hours_mean_the_firms_day(self, firm: Town) -> None:
        built = firm.garden("Heron")
        wants(built, MONDAY)
        stop = due_of(gathered(days=1), built)
        assert stop.windows == (Window(8 * H, 18 * H - stop.service),)

    def test_a_closed_day(self, firm: Town, monkeypatch: pytest.MonkeyPatch) -> None:
        tuesday = MONDAY + dt.timedelta(days=1)
        monkeypatch.setattr("apps.rounds.selectors.people.closed_days", lambda *_: {tuesday})
        built = firm.garden("Heron")
        wants(built, MONDAY)
        found = gathered()
        assert days_of(due_of(found, built)) == [0, 2, 3, 4]
        assert {shift.day for shift in found.problem.shifts} == {0, 2, 3, 4}

    def test_a_place_that_is_not_on_the_map(self, firm: Town) -> None:
        due = firm.garden("Heron", latitude=None, longitude=None)
        wants(due, MONDAY)
        booked = firm.book(
            firm.pencil(firm.garden("Sedge", latitude=None, longitude=None), MONDAY, 9)
        )
        loose = firm.garden("Rush", 1)
        wants(loose, MONDAY)
        plan = firm.plan()
        assert {(row[0], row[1]) for row in plan.plan["left_out"]} == {
            (f"due:{due.system.place_id}", "no_coordinates"),
            (f"visit:{booked.pk}", "no_coordinates"),
        }
        # its time is held all the same
        calls = [call for made in plan.plan["rounds"] for call in made["calls"]
                 if made["technician"] == str(firm.ana.pk)]  # fmt: skip
        held = next(call for call in calls if call[0].startswith(f"held:{booked.pk}"))
        assert held[3] == 9 * H

    def test_disease_goes_last(self, firm: Town) -> None:
        sick, well = firm.garden("Heron", 1), firm.garden("Sedge", 6)
        wants(sick, MONDAY)
        wants(well, MONDAY)
        firm.marek.is_active = False
        firm.marek.save()
        assert not due_of(gathered(), sick).last_of_day
        Treatment.objects.create(
            loop=sick.loop, product="bath", lot="1", on_whose_word="vet", began_on=TODAY
        )
        stop = due_of(gathered(), sick)
        assert (stop.last_of_day, stop.disinfecting) == (True, 20 * 60)
        [made] = firm.plan().plan["rounds"]
        assert [call[0] for call in made["calls"]] == [
            f"due:{well.system.place_id}", f"due:{sick.system.place_id}",
        ]  # fmt: skip
        Treatment.objects.update(ended_on=MONDAY - dt.timedelta(days=1))
        assert not due_of(gathered(), sick).last_of_day

    def test_disease_that_is_booked_before_another_is_told(self, firm: Town) -> None:
        sick, well = firm.garden("Heron", 1), firm.garden("Sedge", 2)
        firm.book(firm.pencil(sick, MONDAY, 9))
        firm.book(firm.pencil(well, MONDAY, 14))
        Treatment.objects.create(
            loop=sick.loop, product="bath", lot="1", on_whose_word="vet", began_on=TODAY
        )
        assert [note.code for note in gathered().notes] == ["disease_not_last"]

    def test_live_fish_come_first_on_their_day(self, firm: Town) -> None:
        built = firm.garden("Heron")
        wants(built, MONDAY)
        wednesday = MONDAY + dt.timedelta(days=2)
        FishBatch.objects.create(
            loop=built.loop, species_code="nile_tilapia", count=20, mean_weight_g=10,
            stocked_on=wednesday,
        )  # fmt: skip
        stop = due_of(gathered(), built)
        assert (stop.first_of_day, days_of(stop)) == (True, [2])

    def test_drives_are_whole_steps(self, firm: Town) -> None:
        for name, north in (("Heron", 3.3), ("Sedge", 11.7)):
            wants(firm.garden(name, north), MONDAY)
        travel = gathered().problem.travel
        assert travel.any_estimated
        assert {value % 300 for row in travel.seconds for value in row} == {0}


class TestTheAxis:
    """Europe/Brussels leaves summer time on 25 October 2026 at 03:00 (tz database)."""

    @pytest.mark.outside(source="IANA tz database 2025b", kind="memory", tolerance="none")
    @pytest.mark.parametrize(
        ("seconds", "utc"),
        [(8 * H, "2026-10-24T06:00"), (DAY + H, "2026-10-24T23:00"),
         (DAY + 4 * H, "2026-10-25T03:00"), (DAY + 8 * H, "2026-10-25T07:00")],
    )  # fmt: skip
    def test_the_local_clock(self, seconds: int, utc: str) -> None:
        with timezone.override("Europe/Brussels"):
            moment = moment_of(dt.date(2026, 10, 24), seconds)
            assert f"{moment:%Y-%m-%dT%H:%M}" == utc
            assert axis_of(dt.date(2026, 10, 24), moment) == seconds

    @pytest.mark.outside(source="IANA tz database 2025b", kind="memory", tolerance="none")
    def test_an_hour_that_the_clocks_leave_out(self) -> None:
        """On 28 March 2027 they go from 02:00 to 03:00: half past two is half past three."""
        with timezone.override("Europe/Brussels"):
            moment = moment_of(dt.date(2027, 3, 28), 2 * H + 1800)
            assert f"{moment:%H:%M}" == "01:30"
            assert timezone.localtime(moment).hour == 3

    def test_a_visit_in_the_night_of_the_change(self, firm: Town) -> None:
        """It lasts as long as it lasts, whatever the clock shows."""
        saturday = dt.date(2026, 10, 24)
        with timezone.override("Europe/Brussels"):
            start = moment_of(saturday, DAY + H)
            visit = firm.pencil(firm.garden("Heron"), saturday, 23, minutes=240)
            assert visit.start == start
            firm.book(visit)
            found = gathered(saturday, 2)
        stop = stop_of(found, visit)
        assert stop.promise is not None
        assert (stop.promise.window.start, stop.service) == (DAY + H, 4 * H)

    @pytest.mark.parametrize("day", ["2026-10-25", "2027-03-28"])
    def test_a_round_on_the_day_of_the_change(self, firm: Town, day: str) -> None:
        first = dt.date.fromisoformat(day)
        for user in (firm.ana, firm.marek):
            WorkingHours.objects.create(user=user, weekday=7, starts="08:00", ends="16:00")
        wants(firm.garden("Heron"), first)
        from apps.flows.rounds import plan_accept

        with timezone.override("Europe/Brussels"):
            plan = firm.plan(first, 1)
            [visit] = plan_accept(plan=plan, today=TODAY, by=firm.by, at=factories.NOW)
            call = plan.plan["rounds"][0]["calls"][0]
            local = timezone.localtime(visit.start)
            assert local.hour * H + local.minute * 60 == call[3]
            assert 8 <= local.hour < 10


def test_the_number_of_queries_stays(firm: Town, same_queries: Any) -> None:
    def grow() -> None:
        for number in range(4):
            firm.pencil(firm.garden(f"P{number}", number), MONDAY, 9 + number)
            wants(firm.garden(f"D{number}", number), MONDAY)

    wants(firm.garden("Heron"), MONDAY)
    firm.pencil(firm.garden("Sedge"), MONDAY, 8)
    count = same_queries(lambda: gather(MONDAY, WEEK, TODAY), grow)
    assert count <= 25
