"""Times offered through the API: looked for, offered once, taken back, picked by telephone."""

import datetime as dt
from typing import Any
from uuid import uuid4

import pytest

from apps.clients.models import Client
from apps.rounds.models import TimesOffered
from apps.visits.models import Visit
from tests import factories
from tests.api.conftest import Caller
from tests.rounds.world import MONDAY, Town

NOW = factories.NOW


@pytest.fixture
def visit(firm: Town) -> Visit:
    return firm.pencil(firm.garden("Heron", 5), MONDAY, 9)


@pytest.fixture
def office(firm: Town) -> Caller:
    return Caller(firm.office)


def path(visit: Visit, rest: str) -> str:
    return f"/visits/{visit.pk}/{rest}"


def moment(text: str) -> dt.datetime:
    return dt.datetime.fromisoformat(text)


def offered(office: Caller, visit: Visit, body: Any = None) -> dict[str, Any]:
    answer = office("POST", path(visit, "offer"), body or {})
    assert answer.status_code == 201, answer.json()
    return dict(answer.json())


def test_what_could_be_offered_is_what_is_offered(office: Caller, visit: Visit) -> None:
    found = office("GET", path(visit, "times")).json()
    assert found["refusal"] is None
    assert len(found["times"]) == 3
    assert NOW < moment(found["until"]) <= moment(found["latest"])
    made = offered(office, visit, {"times": [time["key"] for time in found["times"][:2]]})
    assert made["state"] == "open"
    for time, shown in zip(made["times"], found["times"], strict=False):
        same = ("start", "end", "told", "technicians", "cost", "km")
        assert {name: time[name] for name in same} == {name: shown[name] for name in same}
        assert time["state"] == "held"
    assert office("GET", path(visit, "offer")).json() == made
    again = office("GET", path(visit, "times")).json()
    assert (again["times"], again["refusal"]["code"]) == ([], "open")


def test_sent_twice_is_one_offer(office: Caller, visit: Visit) -> None:
    key, own = str(uuid4()), str(uuid4())
    first = office("POST", path(visit, "offer"), {"id": own}, Idempotency_Key=key)
    replay = office("POST", path(visit, "offer"), {"id": own}, Idempotency_Key=key)
    assert (first.status_code, replay.status_code) == (201, 201)
    assert replay["Idempotent-Replayed"] == "true"
    assert offered(office, visit, {"id": own})["id"] == own == first.json()["id"]
    assert TimesOffered.objects.count() == 1


@pytest.mark.parametrize(
    ("body", "pointer"),
    [
        ({"times": ["x", "y"]}, "/times"), ({"times": []}, "/times"), ({"times": "x"}, "/times"),
        ({"times": [1, 2]}, "/times"), ({"times": 5}, "/times"), ({"times": [["x"], {}]}, "/times"),
        ({"until": "soon"}, "/until"),
        ({"until": NOW.isoformat()}, "/until"), ({"until": "2026-07-30T09:00:00Z"}, "/until"),
        ({"id": "x"}, "/id"), ({"price": 1}, "/price"),
    ],
)  # fmt: skip
def test_refused_with_the_field(
    office: Caller, visit: Visit, body: dict[str, Any], pointer: str
) -> None:
    answer = office("POST", path(visit, "offer"), body)
    assert answer.status_code == 422
    assert answer.json()["errors"][0]["pointer"] == pointer
    assert not TimesOffered.objects.exists()


def test_why_not(office: Caller, visit: Visit) -> None:
    Client.objects.update(just_tell=True)
    answer = office("POST", path(visit, "offer"), {})
    assert (answer.status_code, answer.json()["type"]) == (409, "urn:backyard:no_offer")
    assert "only to be told" in answer.json()["detail"]
    assert office("GET", path(visit, "times")).json()["refusal"]["code"] == "just_tell"


def test_somebody_else_there_is_a_conflict_that_says_for_whom(
    office: Caller, visit: Visit, firm: Town
) -> None:
    time = offered(office, visit)["times"][0]
    other = firm.garden("Mill").system
    body = {
        "place": str(other.place_id), "systems": [str(other.pk)], "start": time["start"],
        "end": time["end"], "technicians": time["technicians"],
    }  # fmt: skip
    answer = office("POST", "/visits", body)
    assert (answer.status_code, answer.json()["type"]) == (409, "urn:backyard:time_held")
    assert "Heron's garden" in answer.json()["detail"]


def test_taken_back(office: Caller, visit: Visit) -> None:
    assert office("POST", path(visit, "offer/withdraw")).status_code == 404
    offered(office, visit)
    answer = office("POST", path(visit, "offer/withdraw"))
    assert (answer.status_code, answer.json()["state"]) == (200, "taken_back")
    assert {time["state"] for time in answer.json()["times"]} == {"free"}
    again = office("POST", path(visit, "offer/withdraw"))
    assert (again.status_code, again.json()["type"]) == (409, "urn:backyard:offer_ended")


def test_picked_by_telephone(office: Caller, visit: Visit) -> None:
    time = offered(office, visit)["times"][2]
    for body, pointer in (
        ({"time": str(uuid4())}, "/time"),
        ({"time": "x"}, "/time"),
        ({}, "/time"),
    ):
        refused = office("POST", path(visit, "offer/pick"), body)
        assert (refused.status_code, refused.json()["errors"][0]["pointer"]) == (422, pointer)
    answer = office("POST", path(visit, "offer/pick"), {"time": time["id"]})
    assert (answer.status_code, answer.json()["state"]) == (200, "picked")
    shown = office("GET", f"/visits/{visit.pk}").json()
    assert (shown["state"], shown["client_answer"]) == ("booked", "confirmed")
    assert moment(shown["start"]) == moment(time["start"])
