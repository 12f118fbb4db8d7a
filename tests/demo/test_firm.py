"""The demo firm as loaded: its due list, its round, its stories, and that it adds up."""

import itertools
import json
from datetime import timedelta

import pytest
from django.db.models import Count, Sum

from apps.accounts.models import User
from apps.accounts.services import token_held
from apps.advice.models import Advice
from apps.advice.services import sheet_assess, sheet_signs, standing_refresh
from apps.batches.models import HarvestHold
from apps.care.models import CareTask, Standing
from apps.care.selectors import due_rows, ranked
from apps.care.services import tasks_recompute
from apps.catalogue.selectors import catalogue_current
from apps.clients.models import Client, Contact, Place
from apps.core.models import Job
from apps.core.scoping import system as system_actor
from apps.flows.rounds import plan_now
from apps.office.selectors.phones import phones_of
from apps.reports.models import Letter, Report, ReportVersion
from apps.rounds.models import Crew, PlanningSettings, WorkingHours
from apps.rounds.planning.effort import Effort
from apps.systems.models import Component, System
from apps.visits.choices import Answer, State
from apps.visits.models import (
    Assignment,
    Finding,
    Operation,
    Photo,
    Reading,
    Sheet,
    Value,
    Visit,
)
from apps.visits.selectors import readings_counting
from apps.visits.services.answers import check
from apps.visits.services.booking import times_check
from apps.visits.services.judging import readings_judge
from apps.visits.services.lines import visit_minutes
from apps.visits.services.projection import ground_of
from apps.visits.services.typed import typed_sheets
from demo import loading
from demo.firm.diary import WRITTEN_UP

pytestmark = pytest.mark.django_db


@pytest.fixture
def due(firm):
    """The due list of the day."""
    return due_rows(ranked(system_actor("test", firm.at), firm.today), firm.today)


def test_holds_a_year_of_rows(firm):
    assert firm.rows > 50_000


def test_forty_systems_of_all_kinds(firm):
    kinds = dict(System.objects.values_list("kind").annotate(Count("pk")))
    assert sum(kinds.values()) == 40
    assert set(kinds) == {"coupled", "decoupled", "fish_only", "plants_only"}
    assert Place.objects.count() == 36
    assert System.objects.filter(place__client__kind="school").count() == 3
    assert System.objects.filter(place__client__kind="cafe").exists()
    assert Contact.objects.filter(units="us").exists()
    assert not Contact.objects.exclude(email="").exclude(email__endswith=".example").exists()
    assert Place.objects.filter(dog=True).exists()
    assert Place.objects.exclude(gate_code="").exists()
    assert Component.objects.filter(replaces__isnull=False).count() >= 8


def test_every_reason_stands_in_the_due_list(due):
    assert 7 <= len(due) <= 12
    assert {row.system.ranked_as for row in due} == {1, 2, 3, 4, 5, 6}


def test_the_first_can_take_the_demo_visit_at_any_hour(due):
    first = System.objects.get(pk=due[0].system.pk)
    assert first.kind in ("coupled", "decoupled")
    assert not first.place.hours.exists()
    assert not Visit.objects.filter(place=first.place, state__in=["pencilled", "booked"]).exists()


def test_both_technicians_have_a_round_and_free_hours(firm):
    for user, rows in itertools.groupby(
        Assignment.objects.filter(start__date=firm.today, holds=True).order_by("user", "start"),
        key=lambda row: row.user_id,
    ):
        held = list(rows)
        assert len(held) >= 2, user
        assert sum((row.end - row.start).total_seconds() for row in held) < 8 * 3600
        assert held[0].start.hour >= 8
    assert Assignment.objects.filter(start__date=firm.today).values("user").distinct().count() == 2


def test_nobody_is_in_two_places(firm):
    rows = Assignment.objects.exclude(visit__state=State.CALLED_OFF).order_by("user_id", "start")
    for one, other in itertools.pairwise(rows):
        assert one.user_id != other.user_id or one.end <= other.start


def test_visits_to_come_have_the_time_that_their_checklists_take(firm):
    """All but a few: where one has not, its page says by how much."""
    ahead = Visit.objects.filter(state__in=(State.BOOKED, State.PENCILLED), start__gt=firm.at)
    work = ahead.annotate(work=Sum("sheets__lines__minutes_planned"))
    short = [
        row for row in work if row.end - row.start < timedelta(minutes=visit_minutes(row.work or 0))
    ]
    assert ahead.count() > 20
    assert len(short) <= ahead.count() / 4


def test_two_weeks_can_be_planned(firm):
    plan = plan_now(
        first=firm.today, days=12, effort=Effort(iterations=60), today=firm.today,
        by=system_actor("test", firm.at), at=firm.at,
    )  # fmt: skip
    assert (plan.state, plan.judge_passed) == ("ready", True)
    kinds = {row[0] for row in plan.work.values()}
    assert kinds == {"fixed", "movable", "due"}
    assert len({made["day"] for made in plan.plan["rounds"]}) >= 4
    # a booked visit is never left out for one that is not
    assert not [row for row in plan.plan["left_out"] if plan.work[row[0]][0] == "fixed"]


def test_visits_keep_the_places_hours(firm):
    for visit in Visit.objects.exclude(state=State.CALLED_OFF).filter(place__hours__isnull=False):
        times_check(visit.place, visit.start, visit.end)


def test_about_two_dozen_visits_a_system(firm):
    counts = (
        Sheet.objects.filter(visit__finished_at__isnull=False)
        .values_list("system")
        .annotate(Count("pk"))
    )
    numbers = sorted(number for _pk, number in counts)
    assert numbers[len(numbers) // 2] >= 24


def test_clients_have_answered_in_every_way(firm):
    ahead = Visit.objects.filter(state__in=[State.BOOKED, State.PENCILLED])
    assert set(ahead.values_list("client_answer", flat=True)) == set(Answer.values)
    assert Letter.objects.filter(state="failed").count() == 1
    assert Visit.objects.filter(state=State.CALLED_OFF).count() >= 5


def test_the_last_reports_wait_for_the_worker_and_none_is_drawn(firm):
    """One each of those who read Spanish, Arabic and US units among them."""
    jobs = Job.objects.filter(kind="reports.render", state="new")
    visits = Visit.objects.filter(pk__in=[job.args["visit_id"] for job in jobs])
    assert len(visits) == len(WRITTEN_UP) == 7
    readers = Contact.objects.filter(client__places__visits__in=visits)
    assert set(readers.values_list("language", flat=True)) == {"en", "es", "ar"}
    assert readers.filter(units="us").exists()
    assert not ReportVersion.objects.exists()
    reported = Sheet.objects.filter(visit__state=State.REPORTED).count()
    assert Report.objects.count() == reported
    numbers = list(Report.objects.order_by("visit__start").values_list("number", flat=True))
    assert len(set(numbers)) == len(numbers)


def test_the_stories_can_be_seen(firm):
    assert HarvestHold.objects.filter(until__gt=firm.today).exists()
    assert Reading.objects.filter(word="measure_again").exists()
    assert Reading.objects.filter(corrects__isnull=False).count() == 2
    low = Reading.objects.filter(measurand="do", word="out_of_band").values("loop__system")
    assert low.exists()
    acid = Reading.objects.filter(measurand="ph", value__lt=6.2)
    assert {r.loop.system.name for r in acid} >= {"Tanner's Row", "Courtyard system"}
    assert Finding.objects.filter(sign="new_leaves_yellow_between_veins").exists()
    assert Photo.objects.count() >= 10


def test_dates_and_standing_are_what_a_recompute_gives(firm):
    names = (
        "last_done", "last_occurrence", "raised_on", "next_open", "next_due", "next_late", "basis",
    )  # fmt: skip
    before = {task.pk: [getattr(task, name) for name in names] for task in CareTask.objects.all()}
    standing = {s.pk: _plain(s) for s in Standing.objects.all()}
    tasks_recompute(task_ids=list(before), at=firm.at)
    standing_refresh(list(standing), firm.at)
    after = {task.pk: [getattr(task, name) for name in names] for task in CareTask.objects.all()}
    assert after == before
    assert {s.pk: _plain(s) for s in Standing.objects.all()} == standing


def _plain(row):
    return {f.attname: getattr(row, f.attname) for f in row._meta.concrete_fields}


def test_readings_are_judged_as_at_the_visit(firm):
    catalogue = catalogue_current()
    sheets = Sheet.objects.filter(visit__finished_at__isnull=False).order_by("pk")
    for sheet in sheets.select_related("visit__place", "system__place")[::23]:
        rows = list(Reading.objects.filter(sheet=sheet, corrects__isnull=True))
        kept = {row.pk: (row.word, row.band) for row in rows}
        if Reading.objects.filter(sheet=sheet, corrects__isnull=False).exists():
            continue
        readings_judge(rows, ground_of(sheet, catalogue, sheet.visit.finished_at))
        assert {row.pk: (row.word, row.band) for row in rows} == kept


def test_advice_is_what_the_rules_say_from_the_stored_rows(firm):
    catalogue = catalogue_current()
    for system in System.objects.order_by("pk"):
        sheet = (
            Sheet.objects.filter(system=system, visit__finished_at__isnull=False)
            .select_related("visit__place", "system__place")
            .order_by("-visit__start")
            .first()
        )
        rows = list(readings_counting().filter(sheet=sheet).order_by("taken_at", "id"))
        found, _parts = sheet_assess(
            sheet, readings=rows, signs=sheet_signs(sheet), now=sheet.visit.finished_at,
            catalogue=catalogue,
        )  # fmt: skip
        kept = Advice.objects.filter(sheet=sheet)
        assert {(a.rule, a.urgency, a.dose) for a in found.advice} == {
            (a.rule, a.urgency, a.dose) for a in kept
        }
        assert not kept.filter(closed_at__isnull=False).exists()
        assert (
            not Advice.objects.filter(system=system, closed_at=None).exclude(sheet=sheet).exists()
        )


@pytest.mark.parametrize(
    "model",
    [
        Client, Contact, Place, System, Component, CareTask, Visit, Reading, Finding, Letter, Crew,
        WorkingHours, PlanningSettings,
    ],
)  # fmt: skip
def test_rows_pass_their_own_checks(firm, model):
    for row in model.objects.order_by("pk")[:8]:
        row.full_clean(validate_unique=False)


def test_logins_last_and_are_made_anew_when_lost(firm, tmp_path):
    said: list[str] = []
    first = loading.load_if_empty(tmp_path, said.append)
    assert not said  # there is a firm: nothing is loaded
    path = tmp_path / "logins.json"
    assert path.stat().st_mode & 0o777 == 0o600
    assert json.loads(path.read_text()) == first
    assert loading.load_if_empty(tmp_path, said.append) == first
    assert [row["role"] for row in first["users"]] == ["office", "technician", "technician"]
    for row in first["users"]:
        user = User.objects.get(pk=row["id"])
        assert user.check_password(row["password"])
        token = token_held(row["token"])
        assert token is not None
        assert token.user == user
    path.unlink()
    second = loading.load_if_empty(tmp_path, said.append)
    assert second["users"][0]["password"] != first["users"][0]["password"]
    assert User.objects.get(username="ana").check_password(second["users"][1]["password"])


def test_the_office_sees_phones_with_their_last_visits_and_one_gap(firm):
    """What a phone counted is here row by row; only the lost answers are missing."""
    office = system_actor("test", firm.at)
    shown = phones_of(office)
    assert shown[0].phone.user.username == "marek"
    assert {row.phone.user.username for row in shown[1:]} == {"ana", "marek"}
    assert [len(row.loud) for row in shown] == [1, 0, 0]
    assert "4 answers that it counted never arrived here." in shown[0].loud
    assert all(row.phone.last_at <= firm.at for row in shown)
    assert not any(row.waits for row in shown)
    for row in shown:
        own = Operation.objects.filter(device=str(row.phone.pk))
        assert own.count() > 100
        visits = Visit.objects.filter(operations__in=own).distinct()
        assert {visit.state for visit in visits} <= {State.WRITTEN_UP, State.REPORTED}
        assert max(visits.values_list("finished_at", flat=True)) <= row.phone.last_at


def test_what_came_by_phone_is_what_the_sheets_say(firm):
    values = Value.objects.select_related("sheet")
    for value in values.iterator():
        assert check(value.path, value.value) == (value.path, value.value)
    by_sheet = typed_sheets(values)
    for sheet in Sheet.objects.filter(pk__in=by_sheet):
        typed = by_sheet[sheet.pk]
        lines = {row.pk: row.outcome for row in sheet.lines.exclude(outcome="")}
        assert {pk: row["outcome"] for pk, row in typed.lines.items()} == lines
        found = {row.pk: row.value for row in sheet.readings.filter(corrects__isnull=True)}
        assert set(typed.readings) == set(found)
        assert set(typed.findings) == set(sheet.findings.values_list("pk", flat=True))
