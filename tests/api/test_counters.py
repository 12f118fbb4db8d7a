"""GET /systems/{id}/counters and the withdrawal of a reading, to whom they concern."""

import datetime as dt

from apps.care.models import CareTask, MeterReading
from apps.care.services import meter_add, task_save
from apps.core.scoping import Actor
from tests import factories
from tests.api.conftest import World


def read(built: factories.Built, ago: int, value: float, meter: str = "run_hours") -> MeterReading:
    return meter_add(
        system=built.system, meter=meter, value=value, by=Actor(role="office", at=factories.NOW),
        taken_on=factories.TODAY - dt.timedelta(days=ago), at=factories.NOW,
    )  # fmt: skip


def test_what_counters_have_shown(world: World) -> None:
    read(world.mine, 5, 100.0)
    read(world.mine, 3, 150.0)
    read(world.mine, 2, 4000.0, "litres")
    path = f"/systems/{world.mine.system.pk}/counters"
    rows = world.office("GET", path).json()["results"]
    assert [(row["meter"], row["value"]) for row in rows] == [
        ("litres", 4000.0), ("run_hours", 150.0), ("run_hours", 100.0),
    ]  # fmt: skip
    assert {row["withdrawn"] for row in rows} == {None}
    assert world.office("GET", f"{path}?meter=litres").json()["count"] == 1
    wrong = world.office("GET", f"{path}?meter=steps")
    assert wrong.status_code == 400
    assert "run_hours" in wrong.content.decode()
    assert world.ana("GET", path).status_code == 404


def test_a_wrong_one_is_withdrawn_once_by_the_office(world: World) -> None:
    rule = {"meter": "run_hours", "meter_limit": 240.0, "max_days": 365}
    task = task_save(
        task=CareTask(system=world.mine.system, code="pump_clean", mode="meter",
                      anchor=factories.TODAY - dt.timedelta(days=10), loop=None, **rule),
        at=factories.NOW,
    )  # fmt: skip
    read(world.mine, 10, 1000.0)
    read(world.mine, 5, 1100.0)
    task.refresh_from_db()
    due = task.next_due
    wrong = read(world.mine, 1, 1900.0)
    path = f"/counters/{wrong.pk}/withdrawal"
    assert world.ana("POST", path, {"reason": "x"}).status_code == 403
    assert world.office("POST", path, {}).status_code == 422
    assert world.office("POST", path, {"reason": ""}).status_code == 422
    answer = world.office("POST", path, {"reason": "read off the wrong pump"})
    assert answer.status_code == 201
    assert answer.json()["withdrawn"]["reason"] == "read off the wrong pump"
    task.refresh_from_db()
    assert task.next_due == due
    again = world.office("POST", path, {"reason": "once more"})
    assert (again.status_code, again.json()["type"]) == (409, "urn:backyard:withdrawn_already")
    listed = world.office("GET", f"/systems/{world.mine.system.pk}/counters").json()["results"]
    assert [bool(row["withdrawn"]) for row in listed] == [True, False, False]
