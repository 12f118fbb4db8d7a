"""Booking and moving by the API at a doubtful time: asked about once, taken when the doubt is named."""

import datetime as dt
from typing import Any

import pytest

from apps.accounts.models import Closure
from apps.rounds.models import Absence, WorkingHours
from apps.visits.models import Visit
from tests import factories
from tests.api.conftest import World

FRIDAY = factories.TODAY + dt.timedelta(days=1)
DOUBTS = pytest.mark.parametrize("doubt", ["day_off", "away", "no_work", "other_hours"])


def let(world: World, doubt: str) -> str:
    """Let something speak against 9:00 on Friday; return its code."""
    ana = world.users["ana"]
    if doubt == "day_off":
        Closure.objects.create(first=FRIDAY, last=FRIDAY, name="Works outing")
        return doubt
    if doubt == "away":
        Absence.objects.create(user=ana, first=FRIDAY, last=FRIDAY, part="morning")
    else:
        WorkingHours.objects.create(
            user=ana, weekday=5 if doubt == "other_hours" else 4, starts=dt.time(9, 30),
            ends=dt.time(17),
        )  # fmt: skip
    return f"{doubt}:{ana.pk}"


def body(world: World, **more: Any) -> dict[str, Any]:
    return {
        "place": str(world.mine.system.place_id), "systems": [str(world.mine.system.pk)],
        "start": f"{FRIDAY}T09:00:00Z", "end": f"{FRIDAY}T10:00:00Z", "technicians": ["ana"],
    } | more  # fmt: skip


@DOUBTS
def test_booking_asks_and_names_the_way_out(world: World, doubt: str) -> None:
    code = let(world, doubt)
    answer = world.office("POST", "/visits", body(world))
    said = answer.json()
    assert answer.status_code == 409
    assert answer.headers["Content-Type"] == "application/problem+json"
    assert said["type"] == "urn:backyard:time_doubted"
    assert [row["code"] for row in said["doubts"]] == [code]
    assert said["doubts"][0]["message"] in said["detail"]
    assert "or send the codes of these doubts as all_the_same" in said["detail"]
    assert not Visit.objects.exists()
    taken = world.office("POST", "/visits", body(world, all_the_same=[code]))
    assert taken.status_code == 201


@DOUBTS
def test_so_does_moving(world: World, doubt: str) -> None:
    made = world.office("POST", "/visits", body(
        world, start=f"{FRIDAY + dt.timedelta(days=3)}T09:00:00Z",
        end=f"{FRIDAY + dt.timedelta(days=3)}T10:00:00Z",
    ))  # fmt: skip
    code = let(world, doubt)
    path, tag = f"/visits/{made.json()['id']}", made.headers["ETag"]
    times = {"start": f"{FRIDAY}T09:00:00Z", "end": f"{FRIDAY}T10:00:00Z"}
    answer = world.office("PATCH", path, times, If_Match=tag)
    assert (answer.status_code, answer.json()["type"]) == (409, "urn:backyard:time_doubted")
    moved = world.office("PATCH", path, times | {"all_the_same": [code]}, If_Match=tag)
    assert moved.status_code == 200
    assert moved.json()["start"].startswith(f"{FRIDAY}T09:00")


def test_another_doubt_is_asked_about_anew(world: World) -> None:
    first = let(world, "day_off")
    let(world, "away")
    answer = world.office("POST", "/visits", body(world, all_the_same=[first]))
    assert answer.status_code == 409
    assert "is noted as away then" in answer.json()["detail"]
    assert "holiday" not in answer.json()["detail"]
    both = [row["code"] for row in answer.json()["doubts"]]
    assert world.office("POST", "/visits", body(world, all_the_same=both)).status_code == 201


@pytest.mark.parametrize("wrong", [True, "day_off", [1], ["x"] * 21])
def test_what_is_no_list_of_codes_is_refused_at_its_field(world: World, wrong: object) -> None:
    answer = world.office("POST", "/visits", body(world, all_the_same=wrong))
    assert answer.status_code == 422
    assert [row["pointer"] for row in answer.json()["errors"]] == ["/all_the_same"]


def test_a_day_gone_by_is_told_before_any_doubt(world: World) -> None:
    past = factories.TODAY - dt.timedelta(days=5)
    Closure.objects.create(first=past, last=past, name="Works outing")
    sent = body(world, start=f"{past}T09:00:00Z", end=f"{past}T10:00:00Z")
    answer = world.office("POST", "/visits", sent)
    assert answer.status_code == 422
    assert "has gone by" in answer.json()["errors"][0]["message"]
