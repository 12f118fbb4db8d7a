"""The day that a phone works from: its own visits, nothing that it does not need, told anew only
when something changed."""

import datetime as dt
import gzip
import json
from typing import Any
from uuid import uuid4

import pytest

from apps.clients.models import Client, Contact
from apps.core import clock
from apps.visits.models import PhoneRemark, Visit
from tests import factories
from tests.api.conftest import GOOD, World
from tests.phone.server.sending import Json, Phone


def book(world: World, built: factories.Built, who: str, hours: float) -> Json:
    """Book a visit so many hours from nine o'clock."""
    start = factories.NOW + dt.timedelta(hours=hours)
    made = world.office(
        "POST", "/visits",
        {"place": str(built.system.place_id), "systems": [str(built.system.pk)],
         "start": start.isoformat(), "end": (start + dt.timedelta(minutes=50)).isoformat(),
         "technicians": [str(world.users[who].pk)],
         # some of these days are of a weekend, on which nobody works
         "all_the_same": [f"no_work:{world.users[who].pk}"]},
    ).json()  # fmt: skip
    booked = world.office("POST", f"/visits/{made['id']}/transition", {"to": "booked"})
    return dict(booked.json())


def day(world: World, **headers: str) -> Any:
    """Ask for Ana's day."""
    return world.ana("GET", "/field/day", **headers)


def test_own_visits_of_today_and_tomorrow_and_no_others(world: World, visit: Json) -> None:
    tomorrow = book(world, world.other, "ana", 24)
    book(world, world.other, "ana", 48)
    book(world, world.other, "marek", 3)
    found = day(world)
    assert [row["id"] for row in found.json()["visits"]] == [visit["id"], tomorrow["id"]]


def test_a_visit_that_is_still_under_way_stays_whenever_it_began(
    world: World, visit: Json, monkeypatch: pytest.MonkeyPatch
) -> None:
    world.ana("POST", f"/visits/{visit['id']}/transition", {"to": "under_way"})
    later = factories.NOW + dt.timedelta(days=2)
    monkeypatch.setattr(clock, "now", lambda: later)
    assert [row["id"] for row in day(world).json()["visits"]] == [visit["id"]]


def test_the_office_makes_no_round(world: World, visit: Json) -> None:
    assert world.office("GET", "/field/day").status_code == 403


def test_no_address_for_letters_no_price_no_secret(world: World, visit: Json) -> None:
    Client.objects.update(notes="private-note")
    text = day(world).content.decode()
    for contact in Contact.objects.all():
        assert contact.email not in text
    assert "@" not in json.dumps(json.loads(text)["visits"])
    for word in ("private-note", "price", "cost", "password", "csrf"):
        assert word not in text, word


def test_what_is_known_is_told_once_until_something_changes(
    world: World, visit: Json, monkeypatch: pytest.MonkeyPatch
) -> None:
    first = day(world)
    mark = first["ETag"]
    assert first.status_code == 200
    again = day(world, If_None_Match=mark)
    assert (again.status_code, again.content, again["ETag"]) == (304, b"", mark)
    # time goes by: readings grow older, nothing else changes
    later = factories.NOW + dt.timedelta(minutes=40)
    monkeypatch.setattr(clock, "now", lambda: later)
    assert day(world, If_None_Match=mark).status_code == 304
    assert day(world, If_None_Match=f"W/{mark}").status_code == 304
    phone = Phone(world.ana)
    line = visit["sheets"][0]["lines"][0]["id"]
    phone.send(phone.op(visit, f"lines/{line}/note", "new"))
    changed = day(world, If_None_Match=mark)
    assert changed.status_code == 200
    assert changed.json()["visits"][0]["sheets"][0]["values"][f"lines/{line}/note"] == {
        "v": "new", "r": 1,
    }  # fmt: skip


def test_a_mark_outlives_readings_that_grow_older(
    world: World, visit: Json, sheet_of: Any, monkeypatch: pytest.MonkeyPatch
) -> None:
    world.ana(
        "POST", f"/visits/{visit['id']}/submission", sheet_of(visit, world.mine, **GOOD),
        Idempotency_Key=str(uuid4()),
    )  # fmt: skip
    book(world, world.mine, "ana", 3)
    mark = day(world)["ETag"]
    later = factories.NOW + dt.timedelta(minutes=40)
    monkeypatch.setattr(clock, "now", lambda: later)
    body = day(world).json()
    loop = body["visits"][1]["sheets"][0]["situation"]["loops"][0]
    assert loop["readings"]["ph"]["age_h"] == pytest.approx(1.0)
    assert day(world, If_None_Match=mark).status_code == 304


def test_it_is_packed_on_its_way(world: World, visit: Json) -> None:
    packed = day(world, Accept_Encoding="gzip")
    assert packed["Content-Encoding"] == "gzip"
    plain = day(world).json()
    found = json.loads(gzip.decompress(packed.content))
    assert found["visits"] == plain["visits"]
    assert packed["ETag"].removeprefix("W/") == day(world)["ETag"]


def test_the_drawing_comes_after_all_that_is_worked_with(world: World, visit: Json) -> None:
    sheet = day(world).json()["visits"][0]["sheets"][0]
    assert list(sheet)[-1] == "sketch"
    assert sheet["sketch"].startswith("<svg")


def test_where_phone_and_server_differ_is_told(world: World, visit: Json) -> None:
    PhoneRemark.objects.create(
        kind="differs", device="x", visit=Visit.objects.get(), made_at=factories.NOW,
        says=[{"sheet": "s", "rule": "acute_ammonia", "loop": "", "phone": {"dose": 3.0},
               "server": {"dose": 2.0}}],
    )  # fmt: skip
    assert day(world).json()["visits"][0]["differs"] == [
        "acute ammonia: the phone had 3, the server 2"
    ]


def test_queries_stay_the_same_with_more_visits(
    world: World, visit: Json, same_queries: Any
) -> None:
    def more() -> None:
        for number in range(3):
            built = factories.system(
                factories.place(factories.client(f"More{number}")), f"More {number}"
            )
            book(world, built, "ana", 2 + number)

    assert same_queries(lambda: day(world), more) <= 30
