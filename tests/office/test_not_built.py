"""A system that is made but not built: no care is due before the stage that it belongs to."""

import datetime as dt

import pytest

from apps.care.models import CareTask, Standing
from apps.care.services import ready_on
from apps.systems.models import System
from tests.factories import TODAY
from tests.office.conftest import Desk
from tests.office.test_design import address

pytestmark = pytest.mark.django_db
FILLED = TODAY + dt.timedelta(days=30)
DAY = dt.timedelta(days=1)


@pytest.fixture
def made(desk: Desk) -> System:
    """A system made of a design, with its parts and its plan."""
    assert desk.browser.post(address(desk), {"name": "Mill end"}).status_code == 302
    return System.objects.get(name="Mill end")


def due(system: System) -> dict[str, dt.date | None]:
    return dict(CareTask.objects.filter(system=system).values_list("code", "next_due"))


def start(desk: Desk, system: System) -> None:
    values = {"started": FILLED.isoformat(), "temp_c": "25"}
    assert desk.post("first_weeks_start", system.pk, **values).status_code == 302


def edit(desk: Desk, system: System, started_on: dt.date) -> None:
    system.refresh_from_db()
    values = {"name": system.name, "rev": system.rev, "active": "on", "meals_a_day": 2,
              "started_on": started_on.isoformat()}  # fmt: skip
    assert desk.post("system_edit", system.pk, **values).status_code == 302


def test_nothing_is_due_before_somebody_says_when_it_is_filled(desk: Desk, made: System) -> None:
    assert len(due(made)) > 20
    assert set(due(made).values()) == {None}
    assert Standing.objects.get(system=made).due_from is None
    said = desk.get("system", made.pk).content.decode()
    assert "Its care sleeps until it is built: plan its first weeks." in said
    assert "once it is built" in said
    assert "Mill end" not in desk.get("due").content.decode()


def test_each_task_begins_with_its_stage(desk: Desk, made: System) -> None:
    start(desk, made)
    made.refresh_from_db()
    ready, days = ready_on(FILLED, 25.0), due(made)
    assert made.started_on == FILLED
    # fish come a week after the filter may be ready, the papers two days later
    assert days["fish_first"] == ready + 7 * DAY
    assert days["papers_given"] == ready + 9 * DAY
    # both have to be tested before fish may come, and before anybody reaches into the water
    assert days["rcd_test"] == days["backup_air_test"] == FILLED + 2 * DAY
    daily = CareTask.objects.get(system=made, code="fish_look")
    assert daily.next_due == ready + (7 + daily.every_n) * DAY
    test = CareTask.objects.get(system=made, code="water_full_test")
    assert test.next_due == ready + (9 + test.every_n) * DAY
    assert min(day for day in days.values() if day) == FILLED


def test_planned_a_second_time_nothing_moves(desk: Desk, made: System) -> None:
    start(desk, made)
    before = due(made)
    start(desk, made)
    assert due(made) == before


def test_a_running_system_keeps_its_plan(desk: Desk) -> None:
    before = due(desk.built.system)
    start(desk, desk.built.system)
    after = due(desk.built.system)
    assert {code: after[code] for code in before} == before


def test_the_day_slips_and_the_plan_follows(desk: Desk, made: System) -> None:
    start(desk, made)
    before = due(made)
    edit(desk, made, FILLED + 9 * DAY)
    assert due(made) == {code: day and day + 9 * DAY for code, day in before.items()}


def test_what_runs_already_does_not_follow_its_day(desk: Desk) -> None:
    system = desk.built.system
    before = due(system)
    edit(desk, system, TODAY - 400 * DAY)
    edit(desk, system, TODAY - 100 * DAY)
    assert due(system) == before


def test_the_day_since_which_it_runs_alone_begins_its_care(desk: Desk, made: System) -> None:
    edit(desk, made, TODAY)
    days = due(made)
    assert days["rcd_test"] == TODAY
    others = [day for code, day in days.items() if day and code not in ("rcd_test", "backup_air_test")]  # fmt: skip
    assert others
    assert min(others) == TODAY + DAY


def test_a_plan_made_by_hand_waits_for_a_day_that_lies_ahead(desk: Desk, made: System) -> None:
    system = System.objects.create(place=made.place, name="Shed", kind="coupled", started_on=FILLED)
    Standing.objects.create(system=system)
    assert desk.post("plan_make", system.pk).status_code == 302
    assert {day for day in due(system).values() if day} == {FILLED}


def test_before_the_first_ammonia_no_days_are_counted(desk: Desk, made: System) -> None:
    start(desk, made)
    said = desk.get("first_weeks", made.pk).content.decode()
    # on the third day after it is filled, as its task says
    assert "The first ammonia is planned for Tue 14 July." in said
    assert "since the first ammonia" not in said
    CareTask.objects.filter(system=made, code="filter_start").update(last_done=TODAY - 4 * DAY)
    assert "Day 4 since the first ammonia." in desk.get("first_weeks", made.pk).content.decode()


def test_a_window_that_is_not_even_says_both_its_sides(desk: Desk, made: System) -> None:
    start(desk, made)
    tasks = {row["task"].code: row for row in desk.get("plan", made.pk).context["tasks"]}
    assert tasks["lid_and_net"]["give_or_take"] == "± 2"
    assert tasks["filter_start"]["give_or_take"] == "−0 +2"
    assert "<bdi>−0 +2</bdi> days" in desk.get("plan", made.pk).content.decode()
