"""What the planner gets to see of what is due, and what it is worth."""

import datetime as dt

from apps.care.models import CareTask, Standing
from apps.rounds.choices import Kind
from apps.rounds.models import Absence, Crew, PlanningSettings, WorkingHours
from apps.rounds.planning.problem import MONEY
from tests import factories
from tests.rounds.gathering import WEEK, H, days_of, due_of, gathered, stop_of
from tests.rounds.world import MONDAY, Town, calm, wants


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
