"""Whom the planner gets to see, and when they work."""

import datetime as dt

import pytest

from apps.rounds.models import Absence, Crew, PlanningSettings, WorkingHours
from apps.rounds.planning.problem import DAY
from tests.rounds.gathering import H, gathered
from tests.rounds.world import BASE, MONDAY, Town, wants


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
