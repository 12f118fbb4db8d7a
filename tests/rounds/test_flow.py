"""From what is due and pencilled to a stored plan, and from an accepted plan to visits."""

import datetime as dt
import json
from collections.abc import Callable
from io import StringIO

import pytest
from django.core.management import CommandError, call_command
from django.db import IntegrityError, transaction

from apps.accounts.models import AuditEntry, User
from apps.calc.wording import text
from apps.core import outbox
from apps.core.exceptions import Invalid
from apps.flows import rounds, visit_booking
from apps.flows.nightly import nightly
from apps.flows.rounds import plan_accept, plan_drop, plan_start, stale
from apps.flows.rounds_changes import technician_away
from apps.flows.rounds_wording import failed_text, refusal
from apps.rounds.choices import PlanState
from apps.rounds.codec import plan_of, problem_of
from apps.rounds.exceptions import PlanNotReady, PlanStale
from apps.rounds.models import Crew, PlanningSettings, RoundPlan, WorkingHours
from apps.rounds.planning import planner
from apps.rounds.planning.checker import Violation, violations
from apps.rounds.selectors.shown import plan_shown
from apps.rounds.services import absence_add, plans_forget_old
from apps.systems.models import System
from apps.visits.models import Assignment, Visit
from tests import factories
from tests.rounds.world import EFFORT, MONDAY, TODAY, Town, calm, wants

NOW = factories.NOW


def accept(firm: Town, plan: RoundPlan) -> list[Visit]:
    return plan_accept(plan=plan, today=TODAY, by=firm.by, at=NOW)


def test_what_is_due_becomes_a_visit(firm: Town) -> None:
    built = firm.garden("Heron")
    wants(built, MONDAY)
    plan = firm.plan()
    assert (plan.state, plan.judge_passed, plan.judged_at) == ("ready", True, NOW)
    assert violations(problem_of(plan.problem), plan_of(plan.plan)) == []
    [visit] = accept(firm, plan)
    assert (visit.state, visit.place, visit.start.date()) == (
        "pencilled", built.system.place, MONDAY,
    )  # fmt: skip
    assert [sheet.system for sheet in visit.sheets.all()] == [built.system]
    assert visit.start.minute % 5 == 0
    plan.refresh_from_db()
    assert (plan.state, plan.ended_at) == (PlanState.ACCEPTED, NOW)
    assert AuditEntry.objects.filter(object_id=str(plan.pk), verb="accepted").count() == 1


def test_a_pencilled_visit_moves_and_a_booked_one_stands(firm: Town) -> None:
    near, far = firm.garden("Heron", 8), firm.garden("Sedge", 8.2)
    booked = firm.book(firm.pencil(near, MONDAY, 9.5))
    loose = firm.pencil(far, MONDAY + dt.timedelta(days=1), 14, firm.marek)
    before = (booked.start, booked.end, booked.rev, booked.appointment_sequence)
    [moved] = accept(firm, firm.plan(days=2))
    assert moved.pk == loose.pk
    assert (moved.start.date(), [user.username for user in moved.technicians.all()]) == (
        MONDAY, ["ana"],
    )  # fmt: skip
    assert moved.appointment_sequence == 0, "nobody was told, so nobody is told of the change"
    booked.refresh_from_db()
    assert (booked.start, booked.end, booked.rev, booked.appointment_sequence) == before


def test_the_outbox_makes_it_and_it_tells_how_far_it_is(firm: Town) -> None:
    wants(firm.garden("Heron"), MONDAY)
    plan = plan_start(first=MONDAY, days=1, effort=EFFORT, today=TODAY, by=firm.by, at=NOW)
    assert plan.state == PlanState.WORKING
    assert outbox.drain(NOW) == 2  # and the visit days of the garden that was added
    plan.refresh_from_db()
    assert (plan.state, plan.share) == (PlanState.READY, 1.0)
    assert plan.best == plan_of(plan.plan).value


def test_a_dropped_plan_is_not_made(firm: Town) -> None:
    plan = plan_start(first=MONDAY, days=1, effort=EFFORT, today=TODAY, by=firm.by, at=NOW)
    plan_drop(plan=plan, by=firm.by, at=NOW)
    outbox.drain(NOW)
    plan.refresh_from_db()
    assert (plan.state, plan.plan) == (PlanState.DROPPED, None)


def test_dropped_while_it_is_made(firm: Town, monkeypatch: pytest.MonkeyPatch) -> None:
    wants(firm.garden("Heron"), MONDAY)
    plan = plan_start(first=MONDAY, days=1, effort=EFFORT, today=TODAY, by=firm.by, at=NOW)
    made, asked = rounds.plan_rounds, []

    def dropped(problem, effort, tell, halted):
        plan_drop(plan=plan, by=firm.by, at=NOW)
        asked.append(halted())
        return made(problem, effort, tell, halted)

    monkeypatch.setattr(rounds, "plan_rounds", dropped)
    outbox.drain(NOW)
    plan.refresh_from_db()
    assert (asked, plan.state, plan.plan) == ([True], PlanState.DROPPED, None)


def test_a_planner_that_breaks_fails_the_plan(firm: Town, monkeypatch: pytest.MonkeyPatch) -> None:
    def broken(*_args: object) -> None:
        raise RuntimeError("out of order")

    monkeypatch.setattr(rounds, "plan_rounds", broken)
    plan = plan_start(first=MONDAY, days=1, effort=EFFORT, today=TODAY, by=firm.by, at=NOW)
    assert outbox.drain(NOW) == 0
    plan.refresh_from_db()
    assert (plan.state, plan.failed_code) == ("failed", "broke_off")
    outbox.drain(NOW + dt.timedelta(hours=1))
    assert RoundPlan.objects.get().state == "failed"


def test_what_the_judge_refuses_is_not_stored(firm: Town, monkeypatch: pytest.MonkeyPatch) -> None:
    found = Violation("lunch_missing", "", str(firm.ana.pk), 0)
    monkeypatch.setattr(planner, "violations", lambda *_: [found])
    plan = firm.plan()
    assert (plan.state, plan.plan, plan.judge_passed) == (PlanState.FAILED, None, False)
    assert [said["code"] for said in plan.judge_says] == ["lunch_missing"]
    assert failed_text(plan_shown(plan)).startswith("The plan was found wrong by its judge")


def test_why_it_failed_is_a_code_and_its_words_are_made_when_shown(firm: Town) -> None:
    error = ValueError(text("style {value} must be one of {known}", value="x", known="y"))
    plan = firm.plan()
    RoundPlan.objects.filter(pk=plan.pk).update(
        state="failed", failed_code="refused", failed_params=refusal(error)
    )
    plan.refresh_from_db()
    assert plan.failed_params == {
        "text": "style {value} must be one of {known}", "params": {"value": "x", "known": "y"},
    }  # fmt: skip
    assert failed_text(plan_shown(plan)) == "style x must be one of y"
    with pytest.raises(IntegrityError, match="plan_failed_code_known"), transaction.atomic():
        RoundPlan.objects.filter(pk=plan.pk).update(failed_code="bad luck")


def test_the_database_holds_a_plan_without_its_judges_pass(firm: Town) -> None:
    plan = firm.plan()
    rows = RoundPlan.objects.filter(pk=plan.pk)
    for change in ({"judge_passed": False}, {"judged_at": None}, {"plan": None}, {"basis": ""}):
        with pytest.raises(IntegrityError, match="plan_judged"), transaction.atomic():
            rows.update(**change)


def test_accepted_once(firm: Town) -> None:
    wants(firm.garden("Heron"), MONDAY)
    plan = firm.plan()
    accept(firm, plan)
    with pytest.raises(PlanNotReady, match="accepted on Thu 11 June 2026 already"):
        accept(firm, plan)
    assert Visit.objects.count() == 1


def test_two_people_plan_and_one_is_told(firm: Town) -> None:
    wants(firm.garden("Heron"), MONDAY)
    first, second = firm.plan(), firm.plan()
    accept(firm, first)
    assert stale(second, TODAY)
    with pytest.raises(PlanStale, match="plan anew"):
        accept(firm, second)
    assert Visit.objects.count() == 1


def test_older_than_its_visits(firm: Town) -> None:
    visit = firm.pencil(firm.garden("Heron"), MONDAY, 9)
    plan = firm.plan()
    assert not stale(plan, TODAY)
    visit_booking.move(
        visit=visit, start=visit.start + dt.timedelta(hours=1),
        end=visit.end + dt.timedelta(hours=1), technicians=[firm.marek], rev=visit.rev,
        by=firm.by, at=NOW,
    )  # fmt: skip
    with pytest.raises(PlanStale):
        accept(firm, plan)
    plan.refresh_from_db()
    assert plan.state == PlanState.READY


def nothing(firm: Town) -> None:
    """Leave all as it is."""


def a_visit_outside(firm: Town) -> None:
    """Weeks later, of another client."""
    firm.pencil(firm.garden("Mill"), MONDAY + dt.timedelta(days=20), 9)


@pytest.mark.parametrize(
    ("change", "old"),
    [
        (nothing, False), (a_visit_outside, False),
        (lambda f: f.pencil(f.garden("Mill"), MONDAY, 15), True),
        (lambda f: f.pencil(f.gardens["Heron"], MONDAY + dt.timedelta(days=20), 9), True),
        (lambda f: Visit.objects.update(client_answer="confirmed"), True),
        (lambda f: Visit.objects.update(state="called_off"), True),
        (lambda f: Assignment.objects.update(user=f.marek), True),
        (lambda f: absence_add(user=f.ana, first=MONDAY, last=MONDAY, by=f.by, at=NOW), True),
        (lambda f: absence_add(user=f.ana, first=TODAY, last=TODAY, by=f.by, at=NOW), False),
        (lambda f: WorkingHours.objects.create(user=f.ana, weekday=1, starts="9:00", ends="15:00"), True),
        (lambda f: Crew.objects.create(user=f.ana, skills=["electric"]), True),
        (lambda f: User.objects.filter(pk=f.marek.pk).update(is_active=False), True),
        (lambda f: calm(f.gardens["Heron"]), True),
        (lambda f: System.objects.filter(pk=f.gardens["Heron"].system.pk).update(active=False), True),
    ],
)  # fmt: skip
def test_what_makes_a_plan_old(firm: Town, change: Callable[[Town], object], old: bool) -> None:
    wants(firm.garden("Heron"), MONDAY)
    firm.pencil(firm.garden("Sedge"), MONDAY, 9)
    plan = firm.plan()
    change(firm)
    assert stale(plan, TODAY) is old


def test_a_visit_of_a_frozen_day_may_begin_meanwhile(firm: Town) -> None:
    """The plan of a week from today on stays good while today's visits are done."""
    visit = firm.book(firm.pencil(firm.garden("Mill"), TODAY, 15))
    wants(firm.garden("Heron"), MONDAY)
    plan = firm.plan(TODAY, 7)
    visit_booking.step(visit=visit, to="under_way", by=firm.by, at=NOW)
    [made] = accept(firm, plan)
    assert made.start.date() >= MONDAY


def test_its_first_day_has_gone_by(firm: Town) -> None:
    plan = firm.plan()
    with pytest.raises(PlanStale):
        plan_accept(plan=plan, today=MONDAY + dt.timedelta(days=1), by=firm.by, at=NOW)


def test_nothing_begins_in_the_past(firm: Town) -> None:
    """It is nine: what is planned for today comes later, and is no plan any more at noon."""
    PlanningSettings.objects.update(frozen_days=0)
    wants(firm.garden("Heron"), TODAY)
    plan = firm.plan(TODAY, 1)
    [made] = plan.plan["rounds"]
    assert made["calls"][0][3] >= 9 * 3600
    evening = NOW + dt.timedelta(hours=8)
    with pytest.raises(PlanStale, match="in the past"):
        plan_accept(plan=plan, today=TODAY, by=firm.by, at=evening)
    assert not Visit.objects.exists()
    assert len(accept(firm, plan)) == 1


def test_visits_change_places(firm: Town) -> None:
    """What two visits hold is let go together, so that each may take the other's time."""
    near, far = firm.garden("Heron", 3), firm.garden("Sedge", 9)
    one, two = firm.pencil(near, MONDAY, 9), firm.pencil(far, MONDAY, 10.25)
    plan = firm.plan()
    made = plan_of(plan.plan)
    starts = {call.stop: call.start for call in made.rounds[0].calls}
    assert len(starts) == 2
    accept(firm, plan)
    held = Assignment.objects.filter(holds=True).order_by("start")
    assert held.count() == 2
    assert held[0].end <= held[1].start
    assert {one.pk, two.pk} == {row.visit_id for row in held}


@pytest.mark.parametrize(
    ("days", "first", "field"), [(0, MONDAY, "/days"), (32, MONDAY, "/days"), (1, TODAY - dt.timedelta(1), "/first")]
)  # fmt: skip
def test_days_that_cannot_be_planned(firm: Town, days: int, first: dt.date, field: str) -> None:
    with pytest.raises(Invalid) as caught:
        firm.plan(first, days)
    assert caught.value.errors[0]["pointer"] == field
    assert not RoundPlan.objects.exists()


class TestCommand:
    def run(self, *args: str) -> str:
        out = StringIO()
        call_command("plan_rounds", "--from", "2026-06-15", "--days", "1", *args, stdout=out)
        return out.getvalue()

    def test_a_list_to_read(self, firm: Town) -> None:
        wants(firm.garden("Heron"), MONDAY)
        firm.garden("Sedge", latitude=None, longitude=None)
        wants(firm.gardens["Sedge"], MONDAY)
        said = self.run("--iterations", "20")
        assert "Mon 15 June, Ana: 0" in said or "Mon 15 June, Marek: 0" in said
        assert "Heron's garden: Heron's system (due, without a visit)" in said
        assert "left out: Sedge's garden: Sedge's garden is not on the map yet" in said
        assert "1 round, " in said

    def test_json(self, firm: Town) -> None:
        wants(firm.garden("Heron"), MONDAY)
        body = json.loads(self.run("--iterations", "20", "--json"))
        assert (body["state"], body["stale"], body["left_out"]) == ("ready", False, 0)
        [day] = body["technician_days"]
        assert (day["day"], len(day["calls"])) == ("2026-06-15", 1)
        assert day["calls"][0]["place_name"] == "Heron's garden"

    def test_accepted(self, firm: Town) -> None:
        wants(firm.garden("Heron"), MONDAY)
        assert "accepted: 1 visit made or moved" in self.run("--iterations", "20", "--accept")
        assert Visit.objects.count() == 1

    def test_bad_input(self, firm: Town) -> None:
        with pytest.raises(CommandError, match="write a date such as"):
            call_command("plan_rounds", "--from", "Monday")
        with pytest.raises(CommandError, match="iterations 0 must be at least 1"):
            self.run("--iterations", "0")
        with pytest.raises(CommandError, match="Thu 11 June 2026 on"):
            call_command("plan_rounds", "--from", "2026-06-01", "--iterations", "1")
        with pytest.raises(CommandError, match="plan from 1 to 31 days; 0 are given"):
            call_command("plan_rounds", "--days", "0")


class TestForgetting:
    """Drafts whose days went by long ago go in the night; what was decided stays."""

    LATER = MONDAY + dt.timedelta(days=16)

    def test_drafts_go_with_what_was_changed_by_hand(self, firm: Town) -> None:
        wants(firm.garden("Heron"), MONDAY)
        for state in ("ready", "failed", "working"):
            plan = firm.plan(days=2)
            RoundPlan.objects.filter(pk=plan.pk).update(state=state)
            if state == "ready":
                changed = technician_away(
                    plan=plan, technician=firm.marek, first=MONDAY, last=MONDAY, today=TODAY,
                    by=firm.by, at=NOW,
                )  # fmt: skip
                assert changed.revises == plan
        # its last day is 15 days ago now, the day before it is only 14
        assert plans_forget_old(self.LATER - dt.timedelta(days=1)) == 0
        nightly(self.LATER, NOW)
        assert not RoundPlan.objects.exists()

    def test_what_was_decided_stays_with_what_it_was_made_from(self, firm: Town) -> None:
        wants(firm.garden("Heron"), MONDAY)
        first = firm.plan()
        away = technician_away(
            plan=first, technician=firm.marek, first=MONDAY, last=MONDAY, today=TODAY, by=firm.by,
            at=NOW,
        )  # fmt: skip
        dropped = firm.plan()
        plan_drop(plan=dropped, by=firm.by, at=NOW)
        accept(firm, away)
        assert plans_forget_old(self.LATER) == 0
        assert set(RoundPlan.objects.values_list("pk", flat=True)) == {
            first.pk, away.pk, dropped.pk,
        }  # fmt: skip
