"""Calls for help through the API: who may, what is refused, what stays (RFC 9110, RFC 9457)."""

from typing import Any
from uuid import uuid4

import pytest

from apps.incidents.models import Incident, IncidentNote
from apps.visits.models import Visit
from tests.api.conftest import World

CLOSING = {"cause": "air", "outcome": "New diaphragm, all well.", "fish_lost": 2}


@pytest.fixture
def incident(world: World) -> dict[str, Any]:
    made = world.office(
        "POST", "/incidents",
        {"system": str(world.mine.system.pk), "kind": "gasping", "said": "Since dawn"},
    )  # fmt: skip
    assert made.status_code == 201, made.content
    return dict(made.json())


def follow(incident: dict[str, Any], visit: dict[str, Any]) -> None:
    Incident.objects.filter(pk=incident["id"]).update(visit=Visit.objects.get(pk=visit["id"]))


def test_from_opening_to_closing(world: World, incident: dict[str, Any]) -> None:
    assert incident["state"] == "open"
    assert incident["next"] == "people", "people come first, whatever was said"
    path = f"/incidents/{incident['id']}"
    assert world.office("POST", f"{path}/notes", {"text": "Pump hums"}).status_code == 201
    read = world.office("GET", path)
    assert [note["text"] for note in read.json()["notes"] if note["kind"] == "note"] == [
        "Pump hums"
    ]
    closed = world.office("POST", f"{path}/close", CLOSING, If_Match=read["ETag"])
    assert closed.status_code == 200, closed.content
    assert (closed.json()["state"], closed.json()["fish_lost"]) == ("closed", 2)
    listed = world.office("GET", "/incidents?state=closed").json()
    assert [row["id"] for row in listed["results"]] == [incident["id"]]
    assert world.office("GET", "/incidents?state=open").json()["count"] == 0


def test_two_closing_at_once(world: World, incident: dict[str, Any]) -> None:
    path = f"/incidents/{incident['id']}"
    tag = world.office("GET", path)["ETag"]
    assert world.office("POST", f"{path}/close", CLOSING, If_Match=tag).status_code == 200
    late = world.office("POST", f"{path}/close", CLOSING | {"cause": "heat"}, If_Match=tag)
    assert late.status_code == 412
    assert late["Content-Type"] == "application/problem+json"
    assert Incident.objects.get().cause == "air"
    fresh = world.office("GET", path)["ETag"]
    assert world.office("POST", f"{path}/close", CLOSING, If_Match=fresh).status_code == 409
    assert world.office("POST", f"{path}/close", CLOSING).status_code == 428


def test_a_key_makes_it_once(world: World) -> None:
    body = {"system": str(world.mine.system.pk), "kind": "power"}
    key = str(uuid4())
    first = world.office("POST", "/incidents", body, Idempotency_Key=key)
    again = world.office("POST", "/incidents", body, Idempotency_Key=key)
    assert first.json() == again.json()
    assert first["Location"].endswith(f"/incidents/{first.json()['id']}")
    assert Incident.objects.count() == 1


class TestWho:
    def test_the_technician_whom_it_brought_there(
        self, world: World, incident: dict[str, Any], visit: dict[str, Any]
    ) -> None:
        follow(incident, visit)
        path = f"/incidents/{incident['id']}"
        assert world.ana("GET", "/incidents").json()["count"] == 1
        assert world.ana("GET", path).status_code == 200
        assert world.ana("POST", f"{path}/notes", {"text": "Diaphragm torn"}).status_code == 201
        assert IncidentNote.objects.get(kind="note").by.startswith("technician:")

    def test_another_technician_sees_nothing(
        self, world: World, incident: dict[str, Any], visit: dict[str, Any]
    ) -> None:
        follow(incident, visit)
        path = f"/incidents/{incident['id']}"
        assert world.marek("GET", "/incidents").json()["count"] == 0
        assert world.marek("GET", path).status_code == 404
        assert world.marek("POST", f"{path}/notes", {"text": "x"}).status_code == 404
        assert not IncidentNote.objects.filter(kind="note").exists()

    def test_opening_and_closing_are_the_offices(
        self, world: World, incident: dict[str, Any], visit: dict[str, Any]
    ) -> None:
        follow(incident, visit)
        body = {"system": str(world.mine.system.pk), "kind": "power"}
        assert world.ana("POST", "/incidents", body).status_code == 403
        tag = world.ana("GET", f"/incidents/{incident['id']}")["ETag"]
        path = f"/incidents/{incident['id']}/close"
        assert world.ana("POST", path, CLOSING, If_Match=tag).status_code == 403
        assert world.nobody("GET", "/incidents").status_code == 401


class TestRefused:
    @pytest.mark.parametrize(
        ("change", "pointer"),
        [({"kind": "fire"}, "/kind"), ({"kind": 7}, "/kind"), ({"system": "x"}, "/system"),
         ({"system": str(uuid4())}, "/system"), ({"roof": 1}, "/roof"), ({"id": "x"}, "/id"),
         ({"said": "x" * 2001}, "/said"), ({"said": "a\x00b"}, "/said"),
         ({"caller": "x" * 121}, "/caller"), ({"said": ["x"]}, "/said")],
        ids=str,
    )  # fmt: skip
    def test_opening(self, world: World, change: dict[str, Any], pointer: str) -> None:
        body = {"system": str(world.mine.system.pk), "kind": "power"} | change
        answer = world.office("POST", "/incidents", body)
        assert answer.status_code == 422, answer.content
        assert pointer in [error["pointer"] for error in answer.json()["errors"]]
        assert not Incident.objects.exists()

    @pytest.mark.parametrize("text", ["", "   ", None, 7, "x" * 4001])
    def test_a_note(self, world: World, incident: dict[str, Any], text: Any) -> None:
        answer = world.office("POST", f"/incidents/{incident['id']}/notes", {"text": text})
        assert answer.status_code == 422
        assert answer.json()["errors"][0]["pointer"] == "/text"
        assert not IncidentNote.objects.filter(kind="note").exists()

    @pytest.mark.parametrize(
        ("change", "pointer"),
        [({"cause": "luck"}, "/cause"), ({"outcome": " "}, "/outcome"),
         ({"fish_lost": -1}, "/fish_lost"), ({"fish_lost": True}, "/fish_lost"),
         ({"fish_lost": "2"}, "/fish_lost"), ({"fish_lost": 10**7}, "/fish_lost"),
         ({"cause_words": "x" * 401}, "/cause_words"), ({"dose": 1}, "/dose")],
        ids=str,
    )  # fmt: skip
    def test_closing(
        self, world: World, incident: dict[str, Any], change: dict[str, Any], pointer: str
    ) -> None:
        path = f"/incidents/{incident['id']}"
        tag = world.office("GET", path)["ETag"]
        answer = world.office("POST", f"{path}/close", CLOSING | change, If_Match=tag)
        assert answer.status_code == 422
        assert answer.json()["errors"][0]["pointer"] == pointer
        assert Incident.objects.get().state == "open"

    @pytest.mark.parametrize("query", ["state=lost", "system=x", "roof=1"])
    def test_filters(self, world: World, query: str) -> None:
        assert world.office("GET", f"/incidents?{query}").status_code == 400


def test_the_list_asks_the_same_however_long(world: World, same_queries: Any) -> None:
    def grow() -> None:
        for _one in range(3):
            body = {"system": str(world.mine.system.pk), "kind": "dead"}
            assert world.office("POST", "/incidents", body).status_code == 201

    grow()
    assert same_queries(lambda: world.office("GET", "/incidents"), grow) <= 8
