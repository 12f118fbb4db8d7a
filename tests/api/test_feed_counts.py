"""/systems/{id}/feed-counts: what was counted, a count more, to whom it concerns."""

from typing import Any
from uuid import uuid4

from apps.care.models import FeedCount
from tests.ahead.conftest import read
from tests.api.conftest import World

AT = "2026-06-11T10:00:00+02:00"


def test_counts_are_noted_and_listed(world: World) -> None:
    read(world.mine, "feed", 40.0, 1)
    path = f"/systems/{world.mine.system.pk}/feed-counts"
    made = world.office("POST", path, {"amount_g": 400, "counted_at": AT})
    assert made.status_code == 201
    assert made.json()["lasts"] == {
        "until": "2026-06-21", "soonest": "2026-06-19", "latest": "2026-06-23"
    }  # fmt: skip
    earlier = {"amount_g": 3000, "counted_at": "2026-06-01T10:00:00Z"}
    assert world.office("POST", path, earlier).json()["lasts"] is None
    rows = world.office("GET", path).json()["results"]
    assert [(row["amount_g"], bool(row["lasts"])) for row in rows] == [
        (400.0, True),
        (3000.0, False),
    ]
    assert {row["counted_by"] for row in rows} == {"office"}


def test_sent_twice_under_one_key_it_counts_once(world: World) -> None:
    path, key = f"/systems/{world.mine.system.pk}/feed-counts", str(uuid4())
    for _each in range(2):
        answer = world.office(
            "POST", path, {"amount_g": 400, "counted_at": AT}, Idempotency_Key=key
        )
        assert answer.status_code == 201
    assert FeedCount.objects.count() == 1


def test_a_technician_counts_where_they_are_sent(world: World, visit: dict[str, Any]) -> None:
    path = f"/systems/{world.mine.system.pk}/feed-counts"
    made = world.ana("POST", path, {"amount_g": 900, "counted_at": AT})
    assert (made.status_code, made.json()["counted_by"]) == (201, "technician")
    assert world.ana("GET", path).json()["count"] == 1
    assert world.marek("GET", path).status_code == 404
    assert world.marek("POST", path, {"amount_g": 900, "counted_at": AT}).status_code == 404


def test_what_cannot_be_names_its_field(world: World) -> None:
    read(world.mine, "feed", 40.0, 1)
    path = f"/systems/{world.mine.system.pk}/feed-counts"
    for body, field in (
        ({"counted_at": AT}, "amount_g"),
        ({"amount_g": "400", "counted_at": AT}, "amount_g"),
        ({"amount_g": -1, "counted_at": AT}, "amount_g"),
        ({"amount_g": 2, "counted_at": AT}, "amount_g"),
        ({"amount_g": 400, "counted_at": "today"}, "counted_at"),
        ({"amount_g": 400, "counted_at": "2026-07-11T10:00:00Z"}, "counted_at"),
        ({"amount_g": 400, "counted_at": AT, "checked_twice": "yes"}, "checked_twice"),
        ({"amount_g": 400, "counted_at": AT, "kg": 1}, "kg"),
    ):
        answer = world.office("POST", path, body)
        assert answer.status_code == 422, body
        assert [row["pointer"] for row in answer.json()["errors"]] == [f"/{field}"]
    assert not FeedCount.objects.exists()
    sure = {"amount_g": 2, "counted_at": AT, "checked_twice": True}
    assert world.office("POST", path, sure).status_code == 201
