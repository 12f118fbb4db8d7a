"""What the planner gets to see of places and hours, in a fixed number of queries."""

import datetime as dt
from typing import Any

import pytest

from apps.batches.models import FishBatch, Treatment
from apps.clients.models import VisitingHours
from apps.rounds.planning.problem import Window
from apps.rounds.selectors import gather
from tests.rounds.gathering import WEEK, H, days_of, due_of, gathered
from tests.rounds.world import MONDAY, TODAY, Town, wants


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


def test_the_number_of_queries_stays(firm: Town, same_queries: Any) -> None:
    def grow() -> None:
        for number in range(4):
            firm.pencil(firm.garden(f"P{number}", number), MONDAY, 9 + number)
            wants(firm.garden(f"D{number}", number), MONDAY)

    wants(firm.garden("Heron"), MONDAY)
    firm.pencil(firm.garden("Sedge"), MONDAY, 8)
    count = same_queries(lambda: gather(MONDAY, WEEK, TODAY), grow)
    assert count <= 25
