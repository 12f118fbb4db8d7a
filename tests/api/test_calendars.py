"""Calendar addresses of one's own through the API: made, replaced, ended; the secret is said once."""

from typing import Any
from urllib.parse import urlsplit
from uuid import uuid4

from django.test import Client as Browser

from apps.accounts.models import CalendarFeed, IdempotencyKey
from tests.api.conftest import World


def read(address: str) -> int:
    return int(Browser().get(urlsplit(address).path).status_code)


def make(world: World, body: dict[str, Any] | None = None) -> dict[str, Any]:
    made = world.ana("POST", "/calendars", body or {})
    assert made.status_code == 201, made.content
    assert made["Cache-Control"] == "no-store"
    return dict(made.json())


def test_made_read_and_ended(world: World) -> None:
    made = make(world)
    assert made["opens"].startswith("webcal://")
    assert read(made["address"]) == 200
    listed = world.ana("GET", "/calendars")
    assert [row["id"] for row in listed.json()["results"]] == [made["id"]]
    secret = made["address"].rsplit("/", 1)[1].removesuffix(".ics")
    assert secret not in listed.content.decode()
    assert world.ana("DELETE", f"/calendars/{made['id']}").status_code == 204
    assert read(made["address"]) == 404
    assert world.ana("GET", "/calendars").json()["results"] == []
    assert world.ana("DELETE", f"/calendars/{made['id']}").status_code == 404


def test_replaced_in_one_go(world: World) -> None:
    old = make(world)
    new = make(world, {"replaces": old["id"]})
    assert (read(old["address"]), read(new["address"])) == (404, 200)
    assert [row["id"] for row in world.ana("GET", "/calendars").json()["results"]] == [new["id"]]


def test_a_full_list_is_told_and_can_still_be_replaced(world: World) -> None:
    while (answer := world.ana("POST", "/calendars", {})).status_code == 201:
        last = answer.json()
    assert answer.status_code == 409
    assert "End one that nobody needs first" in answer.content.decode()
    assert make(world, {"replaces": last["id"]})["id"] != last["id"]


def test_nobody_elses(world: World) -> None:
    made = make(world)
    assert world.marek("GET", "/calendars").json()["results"] == []
    assert world.marek("DELETE", f"/calendars/{made['id']}").status_code == 404
    stolen = world.marek("POST", "/calendars", {"replaces": made["id"]})
    assert stolen.status_code == 404
    # one's own means one's own for the office too; it may end anybody's
    assert world.office("GET", "/calendars").json()["results"] == []
    assert world.office("POST", "/calendars", {"replaces": made["id"]}).status_code == 404
    assert read(made["address"]) == 200
    assert world.office("DELETE", f"/calendars/{made['id']}").status_code == 204
    assert read(made["address"]) == 404
    assert world.nobody("GET", "/calendars").status_code == 401


def test_what_cannot_be_replaced_leaves_all_as_it_was(world: World) -> None:
    made = make(world)
    for value in (str(uuid4()), "mine", 3, None):
        answer = world.ana("POST", "/calendars", {"replaces": value})
        assert answer.status_code in (404, 422), answer.content
    assert world.ana("POST", "/calendars", {"name": "x"}).status_code == 422
    assert CalendarFeed.objects.filter(revoked_at__isnull=True).count() == 1
    assert read(made["address"]) == 200


def test_no_secret_is_kept_beside_a_key(world: World) -> None:
    world.ana("POST", "/calendars", {}, Idempotency_Key=str(uuid4()))
    assert not IdempotencyKey.objects.exists()
