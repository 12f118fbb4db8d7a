"""The first weeks of a new system: its plan, the curve, the gate, the first fish."""

import datetime as dt

import pytest

from apps.care.models import CareTask
from apps.care.services import ready_on, task_save
from tests.ahead.conftest import read
from tests.factories import NOW, TODAY
from tests.office.conftest import Desk

pytestmark = pytest.mark.django_db
FISH = {
    "species": "nile_tilapia", "final_kg": "12", "weight_g": "20", "way": "bag", "water_c": "24",
    "water_ph": "7.2",
}  # fmt: skip
STARTED = TODAY - dt.timedelta(days=20)


def start(desk: Desk, **more: str) -> None:
    answer = desk.post(
        "first_weeks_start", desk.built.system.pk,
        **{"started": STARTED.isoformat(), "temp_c": "25"} | more,
    )  # fmt: skip
    assert answer.status_code == 302


def page(desk: Desk, **query: str) -> str:
    answer = desk.get("first_weeks", desk.built.system.pk, **query)
    assert answer.status_code == 200
    return str(answer.content.decode())


def task(code: str) -> CareTask:
    return CareTask.objects.get(code=code)


def test_nothing_planned_says_what_the_page_is_for(desk: Desk) -> None:
    assert "The first weeks are not planned" in page(desk)


def test_each_task_gets_its_day_and_a_second_time_adds_nothing(desk: Desk) -> None:
    start(desk)
    ready = ready_on(STARTED, 25.0)
    assert ready == STARTED + dt.timedelta(days=31)
    assert task("leak_test_standing").next_due == STARTED
    assert task("cycle_test_second").next_due == ready + dt.timedelta(days=3)
    assert task("fish_first").mode == "once"
    tests = task("filter_test")
    assert (tests.mode, tests.who) == ("calendar", "client")
    # every other day from the fifth until 30 % after it should be ready: days 5 to 40
    assert tests.rrule == "FREQ=DAILY;INTERVAL=2;COUNT=18"
    count = CareTask.objects.count()
    start(desk)
    assert CareTask.objects.count() == count


def test_colder_water_takes_longer(desk: Desk) -> None:
    start(desk, temp_c="16")
    assert task("cycle_test_first").next_due == STARTED + dt.timedelta(days=51)


def test_only_what_the_system_has(desk: Desk) -> None:
    start(desk)
    codes = set(CareTask.objects.values_list("code", flat=True))
    # no settler to drain and no gravel to test, but a pump to stop, fish to come and seed to sow
    assert {"fish_first", "skill_sow", "skill_feed", "pump_stop_test"} <= codes
    assert not {"skill_settler", "media_vinegar_test"} & codes


def test_a_day_and_a_temperature_that_cannot_be(desk: Desk) -> None:
    answer = desk.post("first_weeks_start", desk.built.system.pk, started="", temp_c="60")
    assert answer.status_code == 422
    assert "A number from 10 to 32 is needed." in answer.content.decode()
    assert not CareTask.objects.filter(code="filter_start").exists()


def test_readings_are_held_against_the_curve(desk: Desk) -> None:
    start(desk)
    read(desk.built, "no2", 4.0, 1)
    read(desk.built, "tan", 9.0, 1)
    said = page(desk)
    # dosed on the third day, so yesterday was day 16
    assert "Nitrite as N was 4.00\u00a0mg/L on day 16: as expected." in said
    assert "Total ammonia as N was 9.00\u00a0mg/L on day 16: higher than expected." in said
    assert "Day 17 since the first ammonia." in said


def test_the_gate_names_what_stands_in_the_way(desk: Desk) -> None:
    start(desk)
    read(desk.built, "ph", 6.2, 1)
    read(desk.built, "do", 7.0, 9)
    said = page(desk)
    assert "It is 6.20." in said
    assert "Read too long ago: 7.0\u00a0mg/L, 9 days back." in said
    assert "10 points of the gate stand in the way of fish." in said


def test_the_gate_opens(desk: Desk) -> None:
    start(desk)
    good = {"chlorine": 0.0, "ph": 7.1, "alk": 90, "tan": 0.2, "no2": 0.1, "do": 7.0, "temp": 26.0}
    for code, value in good.items():
        read(desk.built, code, value, 1)
    read(desk.built, "no3", 5, 10)
    read(desk.built, "no3", 30, 1)
    codes = ["cycle_test_first", "cycle_test_second", "lid_and_net", "skill_feed", "skill_top_up",
             "skill_gasping"]  # fmt: skip
    for code in ("backup_air_test", "rcd_test", "skill_backup_air"):
        CareTask.objects.get_or_create(
            system=desk.built.system, code=code, defaults={"anchor": TODAY}
        )
        codes.append(code)
    CareTask.objects.filter(code__in=codes).update(last_done=TODAY)
    said = page(desk, **FISH)
    assert "All of the gate holds: the first fish may come." in said
    CareTask.objects.filter(code="rcd_test").update(last_done=None)
    assert "One point of the gate stands in the way of fish." in page(desk, **FISH)


def test_the_first_fish_in_stages_and_how_they_cross(desk: Desk) -> None:
    start(desk)
    read(desk.built, "temp", 27.0, 1)
    read(desk.built, "ph", 7.1, 1)
    said = page(desk, **FISH)
    # 12 kg of 600 g are 20 fish: a fifth first
    assert '<td class="number">4</td><td class="number">4</td>' in said
    assert "Float the closed bags for 40 minutes" in said
    assert "measure both before the fish come" not in said
    assert "Mix the system&#x27;s water in over 90 minutes" in page(desk, **FISH | {"way": "open"})


def test_no_fish_before_the_day_of_their_task(desk: Desk) -> None:
    start(desk)
    task = CareTask.objects.get(code="fish_first")
    task.next_open = task.next_due = task.next_late = TODAY + dt.timedelta(days=38)
    task.save()
    said = desk.get("first_weeks", desk.built.system.pk, **FISH).context["fish"]["stages"]
    assert said[0]["day"] == TODAY + dt.timedelta(days=38)
    task.next_open = task.next_due = task.next_late = None
    task.save()
    said = desk.get("first_weeks", desk.built.system.pk, **FISH).context["fish"]["stages"]
    assert said[0]["day"] == TODAY


def test_fish_less_than_one(desk: Desk) -> None:
    start(desk)
    answer = desk.get("first_weeks", desk.built.system.pk, **FISH | {"final_kg": "0.2"})
    assert answer.status_code == 422
    assert "less than one grown fish, 600 g." in answer.content.decode()


def test_what_was_done_once_sleeps(desk: Desk) -> None:
    start(desk)
    row = task("leak_test_standing")
    row.last_done = TODAY
    task_save(task=row, at=NOW)
    assert task("leak_test_standing").next_due is None
    assert '<b><a class="plain"' in page(desk)
    assert "done</span>" in page(desk)


def test_stocking_points_to_the_gate(desk: Desk) -> None:
    assert "first weeks" not in desk.get("fish_stock", desk.built.system.pk).content.decode()
    start(desk)
    said = desk.get("fish_stock", desk.built.system.pk).content.decode()
    assert "What stands in the way of the first fish" in said


def test_few_questions_for_many_readings(desk: Desk, django_assert_max_num_queries: object) -> None:
    start(desk)
    for ago in range(1, 15):
        read(desk.built, "no2", 1.0, ago)
    with django_assert_max_num_queries(20):  # type: ignore[operator]
        page(desk)
