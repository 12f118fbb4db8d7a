"""Plans changed by hand: a stop elsewhere, a technician away; nothing is applied until accepted."""

import datetime as dt

import pytest

from apps.accounts.models import User
from apps.clients.models import VisitingHours
from apps.core.exceptions import Invalid
from apps.flows.rounds import plan_accept
from apps.flows.rounds_changes import stop_move, technician_away
from apps.rounds.choices import PlanState
from apps.rounds.codec import plan_of, problem_of
from apps.rounds.exceptions import ChangeRefused, PlanNotReady, PlanStale
from apps.rounds.models import Absence, RoundPlan
from apps.rounds.planning.checker import violations
from apps.visits.models import Assignment, Visit
from tests import factories
from tests.rounds.world import MONDAY, TODAY, Town, wants

NOW = factories.NOW
TUESDAY = MONDAY + dt.timedelta(days=1)


@pytest.fixture
def week(firm: Town) -> Town:
    """Three gardens that are due, and a visit that Ana's client was told of."""
    for name, north in (("Heron", 3), ("Sedge", 6), ("Rush", 9)):
        wants(firm.garden(name, north), MONDAY)
    firm.book(firm.pencil(firm.garden("Mill", 5), TUESDAY, 10))
    return firm


def move(firm: Town, plan: RoundPlan, stop: str, who: User, day: dt.date, **more) -> RoundPlan:
    return stop_move(
        plan=plan, stop=stop, technicians=[who], day=day, today=TODAY, by=firm.by, at=NOW, **more
    )


def away(firm: Town, plan: RoundPlan, who: User, first: dt.date, last: dt.date) -> RoundPlan:
    return technician_away(
        plan=plan, technician=who, first=first, last=last, today=TODAY, by=firm.by, at=NOW,
        reason="ill",
    )  # fmt: skip


def due(firm: Town, name: str) -> str:
    return f"due:{firm.gardens[name].system.place_id}"


def where(plan: RoundPlan) -> dict[str, tuple[int, str]]:
    return {
        call.stop: (made.day, made.technician)
        for made in plan_of(plan.plan).rounds
        for call in made.calls
    }


class TestMoved:
    def test_what_it_costs(self, week: Town) -> None:
        plan = week.plan(days=2)
        before = where(plan)
        made = move(week, plan, due(week, "Rush"), week.marek, TUESDAY, time=dt.time(14, 5))
        assert where(made)[due(week, "Rush")] == (1, str(week.marek.pk))
        assert (made.state, made.revises, made.judge_passed) == (PlanState.READY, plan, True)
        old, new = plan_of(plan.plan), plan_of(made.plan)
        assert made.change["extra"] == new.cost - old.cost > 0
        metres = [sum(one.metres for one in each.rounds) for each in (old, new)]
        assert made.change["metres"] == metres[1] - metres[0]
        start = next(c.start for r in new.rounds for c in r.calls if c.stop == due(week, "Rush"))
        assert start == 86400 + 14 * 3600 + 300
        plan.refresh_from_db()
        assert where(plan) == before
        assert Visit.objects.count() == 1

    def test_accepted(self, week: Town) -> None:
        made = move(week, week.plan(days=2), due(week, "Rush"), week.marek, TUESDAY)
        visits = plan_accept(plan=made, today=TODAY, by=week.by, at=NOW)
        rush = next(v for v in visits if v.place == week.gardens["Rush"].system.place)
        assert (rush.start.date(), list(rush.technicians.all())) == (TUESDAY, [week.marek])

    def test_a_promise_would_break(self, week: Town) -> None:
        plan = week.plan(days=2)
        booked = Visit.objects.get()
        with pytest.raises(ChangeRefused) as caught:
            move(week, plan, f"visit:{booked.pk}", week.marek, TUESDAY)
        assert "Mill's garden: the time or the person promised" in caught.value.message
        assert {row["code"] for row in caught.value.extra["violations"]} == {"promise_broken"}
        assert RoundPlan.objects.count() == 1

    def test_no_day_could_hold_it(self, week: Town) -> None:
        plan = week.plan(days=2)
        with pytest.raises(ChangeRefused, match="Rush's garden does not fit into the day of Ana"):
            move(week, plan, due(week, "Rush"), week.ana, MONDAY, time=dt.time(23, 0))

    def test_while_nobody_may_come(self, week: Town) -> None:
        for weekday in (1, 2):
            VisitingHours.objects.create(
                place=week.gardens["Rush"].system.place, weekday=weekday, opens="08:00",
                closes="13:00",
            )  # fmt: skip
        with pytest.raises(ChangeRefused, match="Rush's garden: nobody may come then"):
            move(week, week.plan(days=2), due(week, "Rush"), week.ana, MONDAY, time=dt.time(14, 0))

    @pytest.mark.parametrize(
        ("change", "pointer"),
        [({"stop": "due:nothing"}, "/stop"), ({"day": MONDAY + dt.timedelta(days=9)}, "/day"),
         ({"time": dt.time(9, 3)}, "/time")],
    )  # fmt: skip
    def test_bad_input(self, week: Town, change: dict, pointer: str) -> None:
        plan = week.plan(days=2)
        values = {"stop": due(week, "Rush"), "day": MONDAY} | change
        with pytest.raises(Invalid) as caught:
            move(week, plan, values.pop("stop"), week.ana, values.pop("day"), **values)
        assert caught.value.errors[0]["pointer"] == pointer

    def test_not_of_a_plan_that_is_old_or_ended(self, week: Town) -> None:
        plan = week.plan(days=2)
        week.pencil(week.garden("Lock"), TUESDAY, 15)
        with pytest.raises(PlanStale):
            move(week, plan, due(week, "Rush"), week.ana, TUESDAY)
        plan = week.plan(days=2)
        plan_accept(plan=plan, today=TODAY, by=week.by, at=NOW)
        plan.refresh_from_db()
        with pytest.raises(PlanNotReady):
            move(week, plan, due(week, "Rush"), week.ana, TUESDAY)


class TestAway:
    def test_their_stops_go_to_others(self, week: Town) -> None:
        plan = week.plan(days=2)
        name = where(plan)[due(week, "Rush")][1]
        who = User.objects.get(pk=name)
        made = away(week, plan, who, MONDAY, MONDAY)
        problem, after = problem_of(made.problem), plan_of(made.plan)
        assert violations(problem, after) == []
        assert (0, name) not in where(made).values()
        assert set(where(made)) == set(where(plan))
        assert not Absence.objects.exists()
        lost = {stop for stop, at in where(plan).items() if at == (0, name)}
        assert {row["stop"] for row in made.change["moved"]} == lost
        assert all(row["day"] for row in made.change["moved"])

    def test_a_week_and_what_was_booked(self, week: Town) -> None:
        booked = Visit.objects.get()
        made = away(week, week.plan(days=5), week.ana, MONDAY, MONDAY + dt.timedelta(days=4))
        assert {name for _day, name in where(made).values()} == {str(week.marek.pk)}
        left = {row.stop: row.reason for row in plan_of(made.plan).left_out}
        assert left == {f"visit:{booked.pk}": "technician_away"}
        assert {"stop": f"visit:{booked.pk}", "day": None, "technicians": []} in made.change[
            "moved"
        ]

    def test_tomorrow_somebody_else_goes_at_the_same_time(self, firm: Town) -> None:
        tomorrow = TODAY + dt.timedelta(days=1)
        loose = firm.pencil(firm.garden("Heron"), tomorrow, 9)
        firm.book(firm.pencil(firm.garden("Mill"), tomorrow, 13, firm.marek))
        plan = firm.plan(TODAY, 3)
        made = away(firm, plan, firm.ana, tomorrow, tomorrow)
        assert where(made)[f"visit:{loose.pk}"] == (1, str(firm.marek.pk))
        [moved] = plan_accept(plan=made, today=TODAY, by=firm.by, at=NOW)
        assert (moved.start, list(moved.technicians.all())) == (loose.start, [firm.marek])

    def test_written_down_when_it_is_accepted(self, week: Town) -> None:
        plan = week.plan(days=2)
        made = away(week, plan, week.ana, MONDAY, MONDAY)
        again = move(week, made, due(week, "Rush"), week.marek, TUESDAY)
        plan_accept(plan=again, today=TODAY, by=week.by, at=NOW)
        [row] = Absence.objects.all()
        assert (row.user, row.first, row.last, row.reason) == (week.ana, MONDAY, MONDAY, "ill")
        start = dt.datetime.combine(MONDAY, dt.time(), dt.UTC)
        that_day = Assignment.objects.filter(
            start__gte=start, start__lt=start + dt.timedelta(days=1)
        )
        assert week.ana not in {row.user for row in that_day}
        # the plan that it came from no longer fits
        with pytest.raises(PlanStale):
            plan_accept(plan=plan, today=TODAY, by=week.by, at=NOW)

    @pytest.mark.parametrize(
        ("first", "last", "pointer"),
        [(TUESDAY, MONDAY, "/last"), (MONDAY + dt.timedelta(30), MONDAY + dt.timedelta(31), "/technician")],
    )  # fmt: skip
    def test_bad_input(self, week: Town, first: dt.date, last: dt.date, pointer: str) -> None:
        with pytest.raises(Invalid) as caught:
            away(week, week.plan(days=2), week.ana, first, last)
        assert caught.value.errors[0]["pointer"] == pointer
