"""Plans of rounds through the API: the office's alone."""

import json
from typing import Any
from uuid import uuid4

import pytest
from django.test import Client as Browser

from apps.accounts.models import User
from apps.accounts.services import token_issue
from apps.core import outbox
from apps.rounds.models import RoundPlan
from apps.visits.models import Visit
from tests import factories
from tests.rounds.world import MONDAY, Town, wants

PLANS = "/api/v1/rounds/plans"
BODY = {"first": "2026-06-15", "days": 2, "iterations": 20}


class Caller:
    """Somebody with a token."""

    def __init__(self, user: User) -> None:
        token = token_issue(user=user, name="t", at=factories.NOW)
        self.browser = Browser(headers={"Authorization": f"Bearer {token}"})

    def post(self, path: str, body: Any = None, **headers: str) -> Any:
        return self.browser.post(
            path, json.dumps(body or {}), content_type="application/json", headers=headers
        )

    def get(self, path: str) -> Any:
        return self.browser.get(path)


@pytest.fixture
def office(firm: Town) -> Caller:
    for name, north in (("Heron", 3), ("Sedge", 6)):
        wants(firm.garden(name, north), MONDAY)
    return Caller(firm.office)


def made(office: Caller) -> dict[str, Any]:
    """Ask for a plan, let the worker make it, read it."""
    answer = office.post(PLANS, BODY)
    assert (answer.status_code, answer.json()["state"]) == (201, "working")
    outbox.drain(factories.NOW)
    return office.get(answer["Location"]).json()


def test_from_asking_to_visits(office: Caller) -> None:
    plan = made(office)
    assert (plan["state"], plan["stale"], plan["left_out"]) == ("ready", False, 0)
    names = [call["place_name"] for day in plan["technician_days"] for call in day["calls"]]
    assert sorted(names) == ["Heron's garden", "Sedge's garden"]
    answer = office.post(f"{PLANS}/{plan['id']}/accept").json()
    assert answer["plan"]["state"] == "accepted"
    assert set(answer["visits"]) == {str(pk) for pk in Visit.objects.values_list("pk", flat=True)}
    again = office.post(f"{PLANS}/{plan['id']}/accept")
    assert (again.status_code, again.json()["type"]) == (409, "urn:backyard:plan_not_ready")


def test_a_list_by_state(office: Caller) -> None:
    plan = made(office)
    office.post(PLANS, BODY)
    assert office.get(PLANS).json()["count"] == 2
    [row] = office.get(f"{PLANS}?state=ready").json()["results"]
    assert (row["id"], row["rounds"]) == (plan["id"], len(plan["technician_days"]))
    assert office.get(f"{PLANS}?state=lost").status_code == 400


def test_older_than_its_visits(office: Caller, firm: Town) -> None:
    plan = made(office)
    firm.pencil(firm.garden("Mill"), MONDAY, 9)
    assert office.get(f"{PLANS}/{plan['id']}").json()["stale"] is True
    answer = office.post(f"{PLANS}/{plan['id']}/accept")
    assert (answer.status_code, answer.json()["type"]) == (412, "urn:backyard:plan_stale")


def test_moved_and_refused(office: Caller, firm: Town) -> None:
    booked = firm.book(firm.pencil(firm.garden("Mill"), MONDAY, 9))
    plan = made(office)
    stop = f"due:{firm.gardens['Heron'].system.place_id}"
    body = {"stop": stop, "technicians": ["marek"], "day": "2026-06-16", "time": "10:05"}
    answer = office.post(f"{PLANS}/{plan['id']}/move", body)
    assert answer.status_code == 201
    assert (answer.json()["revises"], answer.json()["change"]["kind"]) == (plan["id"], "moved")
    refused = office.post(f"{PLANS}/{plan['id']}/move", body | {"stop": f"visit:{booked.pk}"})
    assert refused.status_code == 409
    assert refused.json()["violations"][0]["code"] == "promise_broken"


def test_away(office: Caller) -> None:
    plan = made(office)
    body = {"technician": "ana", "first": "2026-06-15", "last": "2026-06-15", "reason": "ill"}
    answer = office.post(f"{PLANS}/{plan['id']}/absence", body)
    assert answer.status_code == 201
    assert answer.json()["change"]["kind"] == "away"
    assert not any(
        (day["technician"]["name"], day["day"]) == ("Ana", "2026-06-15")
        for day in answer.json()["technician_days"]
    )


def test_dropped(office: Caller) -> None:
    plan = made(office)
    assert office.post(f"{PLANS}/{plan['id']}/drop").json()["state"] == "dropped"
    assert office.post(f"{PLANS}/{plan['id']}/drop").status_code == 409


def test_the_same_key_the_same_plan(office: Caller) -> None:
    key = str(uuid4())
    first, second = (office.post(PLANS, BODY, **{"Idempotency-Key": key}) for _turn in range(2))
    assert first.json()["id"] == second.json()["id"]
    assert RoundPlan.objects.count() == 1


@pytest.mark.parametrize(
    ("change", "pointer"),
    [
        ({"first": "Monday"}, "/first"), ({"first": "2026-02-30"}, "/first"),
        ({"first": "2026-06-10"}, "/first"), ({"days": 0}, "/days"), ({"days": "2"}, "/days"),
        ({"days": 40}, "/days"), ({"days": True}, "/days"), ({"iterations": 10**6}, "/iterations"),
        ({"seconds": 5}, "/seconds"), ({"seed": -1}, "/seed"), ({"speed": 9}, "/speed"),
    ],
)  # fmt: skip
def test_bad_input_names_its_field(office: Caller, change: dict[str, Any], pointer: str) -> None:
    answer = office.post(PLANS, BODY | change)
    assert answer.status_code == 422
    error = answer.json()["errors"][0]
    assert (error["pointer"], error["message"].split(":")[0]) == (pointer, pointer[1:])
    assert not RoundPlan.objects.exists()


@pytest.mark.parametrize("seconds", [0, 21, "5", True])
def test_seconds(office: Caller, seconds: Any) -> None:
    body = {"first": "2026-06-15", "days": 2, "seconds": seconds}
    assert office.post(PLANS, body).json()["errors"][0]["pointer"] == "/seconds"


@pytest.mark.parametrize(
    ("change", "pointer"),
    [({"time": "09:03"}, "/time"), ({"time": "9"}, "/time"), ({"position": -1}, "/position"),
     ({"technicians": []}, "/technicians"), ({"technicians": ["nobody"]}, "/technicians/0"),
     ({"day": "2026-07-01"}, "/day"), ({"stop": "x"}, "/stop")],
)  # fmt: skip
def test_bad_moves(office: Caller, firm: Town, change: dict[str, Any], pointer: str) -> None:
    plan = made(office)
    stop = f"due:{firm.gardens['Heron'].system.place_id}"
    body = {"stop": stop, "technicians": ["marek"], "day": "2026-06-16"} | change
    answer = office.post(f"{PLANS}/{plan['id']}/move", body)
    assert (answer.status_code, answer.json()["errors"][0]["pointer"]) == (422, pointer)


def test_not_for_technicians(office: Caller, firm: Town) -> None:
    plan = made(office)
    ana = Caller(firm.ana)
    for path in (PLANS, f"{PLANS}/{plan['id']}"):
        assert ana.get(path).status_code == 403
    for path in (
        PLANS,
        *(f"{PLANS}/{plan['id']}/{act}" for act in ("accept", "drop", "move", "absence")),
    ):
        assert ana.post(path, BODY).status_code == 403
