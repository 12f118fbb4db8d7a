"""Visit days: proposed for a place, replaced as a whole, promised visits never moved."""

import datetime as dt
from dataclasses import replace
from uuid import uuid4

import pytest
from django.utils import timezone
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from apps.accounts.models import Closure
from apps.calc import bundling
from apps.care.choices import WhyAsked, WhyNot, WhyThere
from apps.care.models import (
    CarePlan,
    CareTask,
    Completion,
    DayQuestion,
    NotPlaced,
    Standing,
    VisitDay,
    VisitDayTask,
)
from apps.care.services import first_weeks_make, proposing, tasks_recompute, visit_days_ask
from apps.catalogue.selectors import catalogue_current
from apps.clients.models import Place, VisitingHours
from apps.core import outbox
from apps.core.models import Job
from apps.flows import days_off, nightly, visit_booking
from apps.flows.visit_days import visit_days_make
from apps.rounds.models import WorkingHours
from apps.systems.models import System
from tests import factories
from tests.care.conftest import Yard, on
from tests.effort import cases

TODAY, NOW = factories.TODAY, factories.NOW  # a Thursday
pytestmark = pytest.mark.django_db


def content(place: Place) -> list[object]:
    """What is proposed for a place, without keys."""
    return [
        (day.on, day.earliest, day.latest, day.minutes, day.kept_for,
         sorted((row.task.code, row.due, row.why) for row in day.tasks.all()))
        for day in place.visit_days.order_by("on")
    ]  # fmt: skip


def test_tasks_whose_time_overlaps_share_a_day(yard: Yard) -> None:
    yard.task("flow_test", 10, slack=3)
    yard.task("leak_walk", 13, slack=3)
    yard.task("pump_service", 60, slack=2)
    yard.plan()
    first, second = VisitDay.objects.order_by("on")
    assert {row.task.code for row in first.tasks.all()} == {"flow_test", "leak_walk"}
    assert on(10) <= first.earliest <= first.on <= first.latest <= on(13)
    assert (first.earliest, first.latest) == (on(10), on(13))
    assert first.minutes == 20
    assert on(58) <= second.on <= on(62)


def test_systems_of_a_place_go_together(yard: Yard) -> None:
    other = System.objects.create(place=yard.place, name="Shed", kind="coupled")
    ended = System.objects.create(place=yard.place, name="Old", kind="coupled", active=False)
    yard.task("flow_test", 11, slack=4)
    yard.task("flow_test", 13, slack=4, system=other)
    yard.task("leak_walk", 30, system=ended)
    yard.plan()
    day = VisitDay.objects.get()
    assert {row.task.system for row in day.tasks.all()} == {yard.system, other}


def test_what_is_late_goes_first_and_what_is_done_at_each_visit_goes_along(yard: Yard) -> None:
    yard.task("flow_test", -20)
    yard.task("records_read", 0, mode="every_visit", minutes=5)
    yard.plan()
    day = VisitDay.objects.get()
    assert (day.on, day.minutes) == (on(1), 15)
    late, always = day.tasks.order_by("task__code")
    assert (late.why, late.due) == (WhyThere.OVERDUE, on(-20))
    assert (always.why, always.due) == ("", None)


def test_what_the_client_does_is_left_out_and_named(yard: Yard) -> None:
    task = yard.task("fish_feed", 1, every=1, who="client")
    yard.plan()
    assert yard.days == []
    left = NotPlaced.objects.get()
    assert (left.task, left.reason, left.nearest) == (task, WhyNot.CLIENT_DOES_IT, on(1))


def test_without_hours_a_place_is_visited_on_weekdays_with_hours_on_those(yard: Yard) -> None:
    yard.task("flow_test", 10, every=7, slack=3)
    yard.plan()
    assert {on(days).isoweekday() for days in yard.days} <= {1, 2, 3, 4, 5}
    VisitingHours.objects.create(place=yard.place, weekday=6, opens=dt.time(8), closes=dt.time(18))
    yard.plan()
    assert {on(days).isoweekday() for days in yard.days} == {6}


def test_a_closure_moves_the_visit_and_not_the_rule(yard: Yard) -> None:
    task = yard.task("flow_test", 12, every=4, unit="week", mode="fixed", slack=3)
    yard.plan()
    due = [row.due for row in VisitDayTask.objects.order_by("due")]
    days = yard.days
    assert due[0] == on(12)
    Closure.objects.create(first=on(days[0]), last=on(days[0]), name="Stocktaking")
    yard.plan()
    assert yard.days[0] != days[0]
    assert abs(yard.days[0] - 12) <= 3
    assert [row.due for row in VisitDayTask.objects.order_by("due")] == due
    task.refresh_from_db()
    assert task.next_due == on(12)


def test_a_closure_over_the_whole_window_is_told(yard: Yard) -> None:
    task = yard.task("flow_test", 12, slack=1)
    Closure.objects.create(first=on(11), last=on(13), name="Stocktaking")
    yard.plan()
    left = NotPlaced.objects.get()
    assert (left.task, left.reason) == (task, WhyNot.NO_ALLOWED_DAY)
    assert left.nearest in (on(8), on(14))


def test_a_booked_visit_keeps_its_day_and_takes_what_is_open(yard: Yard) -> None:
    yard.task("flow_test", 14, slack=5)
    visit = yard.book(12)
    yard.plan()
    day = VisitDay.objects.get()
    assert (day.on, day.kept_for) == (on(12), visit.pk)
    assert (day.earliest, day.latest) == (on(12), on(12))
    visit.refresh_from_db()
    assert timezone.localdate(visit.start) == on(12)


def test_a_booked_visit_where_nobody_may_come_any_more_is_a_question(yard: Yard) -> None:
    yard.task("flow_test", 14, slack=5)
    visit = yard.book(12)
    Closure.objects.create(first=on(12), last=on(12), name="Stocktaking")
    yard.plan()
    asked = DayQuestion.objects.get()
    assert (asked.visit_id, asked.on, asked.reason) == (visit.pk, on(12), WhyAsked.DAY_CLOSED)
    assert asked.instead in (on(11), on(13))
    assert yard.days == [12]


def test_a_booked_visit_on_which_nothing_is_due_is_a_question(yard: Yard) -> None:
    yard.task("flow_test", 40, slack=3)
    visit = yard.book(12)
    yard.plan()
    asked = DayQuestion.objects.get()
    assert (asked.visit_id, asked.reason) == (visit.pk, WhyAsked.NOTHING_DUE)
    assert asked.instead == VisitDay.objects.exclude(on=on(12)).get().on


def test_what_each_visit_does_counts_on_a_booked_one_with_nothing_due(yard: Yard) -> None:
    other = System.objects.create(place=yard.place, name="Shed", kind="coupled")
    yard.task("records_read", 0, mode="every_visit", minutes=5)
    yard.task("records_read", 0, mode="every_visit", minutes=7, system=other)
    visit = yard.book(12)
    yard.plan()
    day = VisitDay.objects.get()
    assert day.minutes == 5
    assert day.tasks.get().task.system == yard.system
    assert DayQuestion.objects.get().visit_id == visit.pk


@pytest.mark.parametrize(
    "state", [{"advice_urgency": "next_visit"}, {"worst_judgement": "out_of_band"}]
)
def test_a_booked_visit_that_answers_what_waits_is_no_question(
    yard: Yard, state: dict[str, str]
) -> None:
    Standing.objects.update_or_create(system=yard.system, defaults=state)
    yard.book(12)
    later = yard.book(13)
    yard.plan()
    # the first answers it; the one after it has nothing left to answer
    assert [row.visit_id for row in DayQuestion.objects.all()] == [later.pk]


def test_what_is_only_good_to_know_keeps_no_visit(yard: Yard) -> None:
    Standing.objects.update_or_create(
        system=yard.system,
        defaults={"advice_urgency": "good_to_know", "worst_judgement": "in_band"},
    )
    yard.book(12)
    yard.plan()
    assert DayQuestion.objects.get().reason == WhyAsked.NOTHING_DUE


def test_a_booked_visit_that_costs_another_one_is_a_question(yard: Yard) -> None:
    yard.task("flow_test", 14, slack=3)
    yard.task("leak_walk", 17, slack=3)
    visit = yard.book(12)
    yard.plan()
    assert len(yard.days) == 2
    asked = DayQuestion.objects.get()
    assert (asked.visit_id, asked.reason) == (visit.pk, WhyAsked.FEWER_VISITS)
    assert asked.instead is not None
    assert on(14) <= asked.instead <= on(15)


def test_a_booked_visit_on_a_good_day_is_no_question(yard: Yard) -> None:
    yard.task("flow_test", 14, slack=3)
    yard.task("leak_walk", 17, slack=3)
    yard.book(15)
    yard.plan()
    assert yard.days == [15]
    assert not DayQuestion.objects.exists()


def test_tasks_kept_apart_by_the_catalogue_get_days_of_their_own(yard: Yard) -> None:
    yard.task("static_media_backflush", 12, slack=4)
    yard.task("bed_half_clean", 12, slack=4)
    yard.plan()
    assert len(yard.days) == 2


def test_the_stages_of_a_new_system_follow_each_other(yard: Yard) -> None:
    """A test of 24 hours fills its day, and no fish come into water that was dosed for one."""
    catalogue = catalogue_current()
    first_weeks_make(
        system=yard.system, catalogue=catalogue, components=[], has_fish=True, has_plants=True,
        started=on(1), temp_c=24.0, by=factories.actor(yard.office), at=NOW,
    )  # fmt: skip
    yard.plan()
    by_code = {row.task.code: row.visit_day.on for row in VisitDayTask.objects.all()}
    assert by_code["leak_test_standing"] < by_code["filter_start"] < by_code["cycle_test_first"]
    first, second = by_code["cycle_test_first"], by_code["cycle_test_second"]
    fish, look = by_code["fish_first"], by_code["fish_first_look"]
    assert first < second < fish
    assert (fish - first).days >= 2
    assert (look - fish).days >= 3


def test_a_test_that_runs_for_a_day_is_over_before_the_next_one(yard: Yard) -> None:
    """Even where one visit would do, as the days of all three overlap."""
    for code, due in (("leak_test_standing", 10), ("leak_test_running", 12), ("filter_start", 13)):
        yard.task(code, due, slack=2, mode="once")
    yard.plan()
    days = [row.visit_day.on for row in VisitDayTask.objects.order_by("visit_day__on")]
    assert len(set(days)) == 3


def test_no_more_visits_than_are_agreed_and_what_is_late_says_so(yard: Yard) -> None:
    CarePlan.objects.create(system=yard.system, visits_a_year=4)
    yard.task("flow_test", 7, slack=1)
    yard.task("leak_walk", 35, slack=1)
    plan = yard.plan()
    assert plan.at_most == 1
    assert len(yard.days) == 1
    whys = {row.task.code: row.why for row in VisitDayTask.objects.all()}
    assert whys.get("flow_test") == WhyThere.OVER_THE_LIMIT or NotPlaced.objects.filter(
        reason=WhyNot.OVER_THE_LIMIT
    )


@pytest.mark.parametrize(("refuse", "way"), [(1, "cheapest"), (2, "fewest")])
def test_a_plainer_way_is_taken_where_the_look_ahead_refuses(
    yard: Yard, monkeypatch: pytest.MonkeyPatch, refuse: int, way: str
) -> None:
    def no(*_args: object, **_more: object) -> bundling.Plan:
        raise bundling.PlanError("tasks", 1, "too many")

    ways = [(name, no if at < refuse else how) for at, (name, how) in enumerate(proposing.WAYS)]
    monkeypatch.setattr(proposing, "WAYS", ways)
    yard.task("flow_test", 14, slack=3)
    assert yard.plan().way == way
    assert len(yard.days) == 1


def test_where_no_way_takes_the_tasks_the_former_plan_stays_whole(
    yard: Yard, monkeypatch: pytest.MonkeyPatch
) -> None:
    yard.task("flow_test", 14, slack=3)
    yard.plan()
    before = content(yard.place)
    monkeypatch.setattr(proposing, "WAYS", [])
    with pytest.raises(bundling.PlanError):
        yard.plan()
    assert content(yard.place) == before


# --- what moved
def test_what_moved_and_why_stays_until_something_moves_again(yard: Yard) -> None:
    task = yard.task("flow_test", 14, slack=3)
    assert yard.plan().changes == []
    day = yard.days[0]
    Closure.objects.create(first=on(day), last=on(day), name="Stocktaking")
    row = yard.plan()
    assert [(item["task"], item["why"]) for item in row.changes] == [(str(task.pk), "day_closed")]
    assert row.changes[0]["old"] == on(day).isoformat()
    assert row.changes[0]["new"] == on(yard.days[0]).isoformat()
    again = yard.plan(NOW + dt.timedelta(hours=1))
    assert (again.changes, again.changed_at) == (row.changes, NOW)


def test_a_day_that_passes_unvisited_is_no_change(yard: Yard) -> None:
    yard.task("flow_test", -3)
    yard.plan()
    assert yard.days == [1]
    row = yard.plan(NOW + dt.timedelta(days=1))
    assert yard.days == [4]  # Monday
    assert row.changes == []


def test_a_new_task_is_told_once(yard: Yard) -> None:
    yard.task("flow_test", 14, every=14, slack=3)
    yard.plan()
    task = yard.task("leak_walk", 14, every=14, slack=3)
    row = yard.plan()
    assert [(item["task"], item["why"], item["old"]) for item in row.changes] == [
        (str(task.pk), "new_task", None)
    ]


# --- the record and the order of reports
def done(task: CareTask, day: dt.date) -> Completion:
    return Completion.objects.create(pk=uuid4(), task=task, done_on=day, made_at=NOW)


def test_late_reports_give_the_same_plan(yard: Yard) -> None:
    records = [("flow_test", -2), ("leak_walk", -9), ("flow_test", -20), ("leak_walk", -1)]
    seen = []
    for order in (records, records[::-1]):
        place = factories.place(factories.client(f"House{len(seen)}"))
        other = replace(
            yard, place=place,
            system=System.objects.create(place=place, name="Patio", kind="coupled"),
        )  # fmt: skip
        tasks = {
            "flow_test": other.task("flow_test", -5, every=21, slack=3),
            "leak_walk": other.task("leak_walk", 2, every=14, slack=2),
        }
        for code, day in order:
            done(tasks[code], on(day))
            tasks_recompute(task_ids=[tasks[code].pk], at=NOW)
            other.plan()
        seen.append(content(place))
    assert seen[0] == seen[1] != []


# --- when
def run_jobs() -> int:
    return outbox.drain(NOW)


def waiting() -> int:
    return Job.objects.filter(kind="care.visit_days", state=Job.State.NEW).count()


def test_asked_often_it_is_planned_once(yard: Yard) -> None:
    yard.task("flow_test", 14)
    yard.task("leak_walk", 14)
    visit_days_ask([yard.place.pk], NOW)
    assert waiting() == 1
    run_jobs()
    assert waiting() == 0
    assert VisitDay.objects.count() == 1
    visit_days_ask([yard.place.pk], NOW)
    assert waiting() == 1


def test_what_asks_while_a_plan_is_made_gets_a_plan_of_its_own(yard: Yard) -> None:
    yard.task("flow_test", 14)
    job = Job.objects.get(kind="care.visit_days")
    claimed = outbox.claim(job.pk, NOW)
    assert claimed is not None
    yard.plan()
    visit_days_ask([yard.place.pk], NOW)
    assert waiting() == 1


def test_a_job_that_was_given_up_is_tried_anew_when_asked(yard: Yard) -> None:
    yard.task("flow_test", 14)
    Job.objects.update(state=Job.State.DEAD, attempts=8)
    visit_days_ask([yard.place.pk], NOW)
    run_jobs()
    assert VisitDay.objects.count() == 1


def test_booking_moving_and_hours_ask(yard: Yard) -> None:
    yard.task("flow_test", 14, slack=5)
    run_jobs()
    visit = yard.book(12)
    assert waiting() == 1
    run_jobs()
    assert yard.days == [12]
    actor = factories.actor(yard.office)
    start = visit.start + dt.timedelta(days=3)
    visit.refresh_from_db()
    visit_booking.move(
        visit=visit, start=start, end=start + dt.timedelta(hours=1), technicians=[yard.ana],
        rev=visit.rev, by=actor, at=NOW,
    )  # fmt: skip
    run_jobs()
    assert yard.days == [15]


def test_days_off_plan_every_place_anew(yard: Yard) -> None:
    yard.task("flow_test", 14, slack=5)
    run_jobs()
    day = on(yard.days[0])
    days_off.closure_add(
        first=day, last=day, name="Stocktaking", works=False, by=factories.actor(yard.office),
        at=NOW,
    )  # fmt: skip
    run_jobs()
    assert day not in [on(days) for days in yard.days]


def several(yard: Yard, count: int) -> list[Place]:
    places = [yard.place]
    yard.task("flow_test", 14, slack=5)
    for number in range(count - 1):
        place = factories.place(factories.client(f"House{number}"))
        system = System.objects.create(place=place, name="Patio", kind="coupled")
        yard.task("flow_test", 14, slack=5, system=system)
        places.append(place)
    Job.objects.all().delete()
    return places


def test_the_night_plans_every_place(yard: Yard) -> None:
    places = several(yard, 3)
    nightly.nightly(TODAY, NOW)
    nightly.nightly(TODAY, NOW)
    assert Job.objects.filter(kind="care.visit_days_all").count() == 1
    run_jobs()
    assert {day.place_id for day in VisitDay.objects.all()} == {place.pk for place in places}


def test_killed_between_two_places_nothing_is_lost(
    yard: Yard, monkeypatch: pytest.MonkeyPatch
) -> None:
    several(yard, 3)
    for place in Place.objects.all():
        visit_days_make(place_id=place.pk, at=NOW)
    before = {place.pk: content(place) for place in Place.objects.all()}
    CareTask.objects.update(next_open=on(30), next_due=on(30), next_late=on(30))
    nightly.night_ask(TODAY, NOW)
    Job.objects.filter(kind="care.visit_days_all").update(run_at=NOW)
    outbox.carry_out(Job.objects.get(kind="care.visit_days_all").pk, NOW)
    first, second, third = Job.objects.filter(kind="care.visit_days").order_by("key")
    assert outbox.carry_out(first.pk, NOW)

    def killed(*_args: object, **_more: object) -> None:
        raise SystemExit

    with monkeypatch.context() as broken:
        # after the old rows went and before the new ones are whole
        broken.setattr(DayQuestion.objects, "bulk_create", killed)
        with pytest.raises(SystemExit):
            outbox.carry_out(second.pk, NOW)
    after = {place.pk: content(place) for place in Place.objects.all()}
    assert sum(after[pk] == before[pk] for pk in before) == 2
    later = NOW + dt.timedelta(minutes=10)
    assert outbox.drain(later) == 2
    assert all(content(place) != before[place.pk] for place in Place.objects.all())
    assert Job.objects.get(pk=third.pk).state == Job.State.DONE


# --- nothing is dropped
rules = st.fixed_dictionaries(
    {
        "due": st.integers(-30, 100), "every": st.integers(3, 120), "slack": st.integers(0, 9),
        "who": st.sampled_from(["technician", "technician", "client", "electrician"]),
        "mode": st.sampled_from(["after_done", "fixed", "once"]),
    }
)  # fmt: skip
CODES = ("flow_test", "leak_walk", "static_media_backflush", "bed_half_clean", "settler_wash")


@settings(
    cases(12), suppress_health_check=[HealthCheck.function_scoped_fixture, HealthCheck.too_slow]
)
@given(
    jobs=st.lists(rules, min_size=1, max_size=5),
    booked=st.sets(st.integers(1, 80), max_size=3),
    closed=st.sets(st.integers(1, 90), max_size=8),
    agreed=st.none() | st.integers(0, 20),
)
def test_nothing_is_dropped_and_no_promise_moves(
    yard: Yard,
    jobs: list[dict[str, object]],
    booked: set[int],
    closed: set[int],
    agreed: int | None,
) -> None:
    yard = fresh(yard)
    for code, job in zip(CODES, jobs, strict=False):
        yard.task(code, **job)
    visits = {yard.book(days).pk: on(days) for days in booked}
    Closure.objects.all().delete()
    for days in closed:
        Closure.objects.create(first=on(days), last=on(days), name="closed")
    CarePlan.objects.create(system=yard.system, visits_a_year=agreed)
    yard.plan()
    days = list(yard.place.visit_days.all())
    rows = list(VisitDayTask.objects.filter(visit_day__in=days).select_related("visit_day"))
    left = {row.task_id for row in yard.place.not_placed.all()}
    wanted = set(yard.system.care_tasks.filter(next_due__isnull=False).values_list("pk", flat=True))
    assert {row.task_id for row in rows} | left == wanted
    assert {day.kept_for: day.on for day in days if day.kept_for} == visits
    off = {on(day) for day in closed}
    assert all(day.kept_for or (day.on not in off and day.on.isoweekday() <= 5) for day in days)
    assert all(abs((row.visit_day.on - row.due).days) <= 9 for row in rows if not row.why)


def fresh(yard: Yard) -> Yard:
    """A place and a technician that nothing is known of."""
    number = Place.objects.count()
    place = factories.place(factories.client(f"House{number}"))
    system = System.objects.create(place=place, name="Patio", kind="coupled")
    return replace(yard, place=place, system=system, ana=factories.user(f"ana{number}"))


def test_days_draw_to_the_day_on_which_somebody_is_in_the_area(yard: Yard) -> None:
    yard.task("flow_test", 8, slack=4)
    yard.plan()
    assert yard.days == [8]
    yard.place.area = "Hillside"
    yard.place.save()
    hours = {"user": yard.ana, "starts": dt.time(8), "ends": dt.time(16)}
    WorkingHours.objects.create(weekday=2, area="Harbour", **hours)
    wednesday = WorkingHours.objects.create(weekday=3, area="hillside", **hours)
    yard.plan()
    assert yard.days == [6]
    # never for the price of another visit, nor outside a window
    yard.task("leak_walk", 8, slack=0)
    yard.plan()
    assert yard.days == [8]
    wednesday.user = yard.office
    wednesday.save()
    CareTask.objects.get(code="leak_walk").delete()
    yard.plan()
    assert yard.days == [8]
