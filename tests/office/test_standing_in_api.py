"""Somebody is away, by the API: written down, looked at, handed over line by line, taken back."""

import json
from typing import Any

import pytest
from django.test import Client
from django.urls import reverse

from apps.rounds.models import Absence
from apps.visits.models import Visit
from tests.office.test_rounds import desk, firm  # noqa: F401
from tests.office.test_standing_in import hands, visits  # noqa: F401
from tests.rounds.world import MONDAY, Town

pytestmark = pytest.mark.django_db


def call(desk: Client, method: str, name: str, pk: object = None, body: Any = None) -> Any:  # noqa: F811
    where = reverse(f"api:{name}", args=[pk] if pk else [])
    return desk.generic(method, where, *([json.dumps(body), "application/json"] if body else []))


def away(desk: Client, **more: Any) -> Any:  # noqa: F811
    body = {"technician": "marek", "first": MONDAY.isoformat(), "last": MONDAY.isoformat()}
    return call(desk, "POST", "absences", body=body | more)


def test_an_absence_is_written_down_listed_and_taken_back(firm: Town, desk: Client) -> None:  # noqa: F811
    made = away(desk, part="morning", reason="dentist")
    assert made.status_code == 201, made.content
    row = made.json()
    assert (row["part"], row["reason"], row["technician"]["id"]) == (
        "morning", "dentist", str(firm.marek.pk),
    )  # fmt: skip
    assert call(desk, "GET", "absences").json()["results"] == [row]
    assert call(desk, "DELETE", "absence", row["id"]).status_code == 204
    assert call(desk, "DELETE", "absence", row["id"]).status_code == 404
    assert call(desk, "GET", "absences").json()["count"] == 0


@pytest.mark.parametrize(
    ("more", "field"),
    [
        ({"technician": "nobody"}, "technician"),
        ({"first": "2026-06-31"}, "first"),
        ({"last": "2026-06-01"}, "last"),
        ({"part": "night"}, "part"),
        ({"reason": "x" * 201}, "reason"),
        ({"colour": "red"}, "colour"),
    ],
)
def test_what_is_no_absence_is_refused_by_name(
    firm: Town,  # noqa: F811
    desk: Client,  # noqa: F811
    more: dict[str, Any],
    field: str,
) -> None:
    answer = away(desk, **more)
    assert answer.status_code == 422
    assert any(field in row["pointer"] for row in answer.json()["errors"]), answer.json()
    assert not Absence.objects.exists()


def test_lines_are_looked_at_and_handed_over(
    firm: Town,  # noqa: F811
    desk: Client,  # noqa: F811
    visits: list[Visit],  # noqa: F811
) -> None:
    pk = away(desk).json()["id"]
    seen = call(desk, "GET", "absence_instead", pk).json()
    assert [row["technician_name"] for row in seen["lines"]] == ["Ana", "Ana"]
    assert all(
        row["cost"] > 0 and row["km"] >= 0 and row["client_is_told"] for row in seen["lines"]
    )
    assert [hands(visit) for visit in visits] == [["marek"], ["marek"]]

    picks = [{name: row[name] for name in ("visit", "rev", "technician")} for row in seen["lines"]]
    firm.pencil(firm.garden("Quick"), MONDAY, 11.5, firm.ana)
    done = call(desk, "POST", "absence_instead", pk, {"lines": picks}).json()
    assert done["visits"] == [str(visits[1].pk)]
    assert [row["visit"] for row in done["refused"]] == [str(visits[0].pk)]
    assert "Ana cannot be there" in done["refused"][0]["why"]
    assert [hands(visit) for visit in visits] == [["marek"], ["ana"]]
    left = call(desk, "GET", "absence_instead", pk).json()
    assert [row["id"] for row in left["nobody"]] == [str(visits[0].pk)]


def test_the_same_key_hands_over_once(firm: Town, desk: Client, visits: list[Visit]) -> None:  # noqa: F811
    pk = away(desk).json()["id"]
    line = call(desk, "GET", "absence_instead", pk).json()["lines"][0]
    body = {"lines": [{name: line[name] for name in ("visit", "rev", "technician")}]}
    where = reverse("api:absence_instead", args=[pk])
    twice = [
        desk.post(where, body, content_type="application/json", headers={"Idempotency-Key": "a-key-123"})
        for _ in range(2)
    ]  # fmt: skip
    assert twice[0].json() == twice[1].json()
    assert twice[1].headers["Idempotent-Replayed"] == "true"


@pytest.mark.parametrize(
    ("lines", "pointer"),
    [
        ([], "/lines"),
        ("all", "/lines"),
        (["x"], "/lines/0/lines"),
        ([{"visit": "x", "rev": 1, "technician": "y"}], "/lines/0/visit"),
        ([{"visit": "%(visit)s", "rev": -1, "technician": "%(ana)s"}], "/lines/0/rev"),
        ([{"visit": "%(visit)s", "rev": 1}], "/lines/0/technician"),
        ([{"visit": "%(visit)s", "rev": 1, "technician": "%(ana)s"}] * 2, "/lines/1/visit"),
    ],
)
def test_a_line_that_is_none_is_named(
    firm: Town,  # noqa: F811
    desk: Client,  # noqa: F811
    visits: list[Visit],  # noqa: F811
    lines: Any,
    pointer: str,
) -> None:
    pk = away(desk).json()["id"]
    names = {"visit": str(visits[0].pk), "ana": str(firm.ana.pk)}
    if isinstance(lines, list):
        lines = [
            {k: v % names if isinstance(v, str) else v for k, v in row.items()}
            if isinstance(row, dict) else row
            for row in lines
        ]  # fmt: skip
    answer = call(desk, "POST", "absence_instead", pk, {"lines": lines})
    assert answer.status_code == 422
    assert pointer in [row["pointer"] for row in answer.json()["errors"]], answer.json()
    assert [hands(visit) for visit in visits] == [["marek"], ["marek"]]
