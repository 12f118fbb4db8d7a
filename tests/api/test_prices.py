"""The firm's price list through the API: the same limits as its page, and the office alone."""

from typing import Any

import pytest

from apps.accounts.models import AuditEntry
from apps.calc.design.takeoff import PRICED
from apps.office.api.bodies import fault
from apps.proposals.models import Price
from tests.api.conftest import World


def pointers(answer: Any) -> list[str]:
    assert answer.status_code == 422, answer.content
    return [item["pointer"] for item in answer.json()["errors"]]


def test_every_item_stands_in_the_list(world: World) -> None:
    body = world.office("GET", "/prices").json()
    assert body["currency"]
    assert [row["code"] for row in body["prices"]] == list(PRICED)
    assert {row["amount"] for row in body["prices"]} == {None}
    units = {row["code"]: row["unit"] for row in body["prices"]}
    assert units["pipe"] == "m"


def test_some_are_changed_and_the_rest_stays(world: World) -> None:
    world.office("PATCH", "/prices", {"prices": {"tank": 0.45, "raft": 62.5, "pump": 0}})
    answer = world.office("PATCH", "/prices", {"prices": {"raft": None, "tank": 0.4567}})
    assert answer.status_code == 200, answer.content
    found = {row["code"]: row["amount"] for row in answer.json()["prices"] if row["amount"] is not None}  # fmt: skip
    assert found == {"tank": 0.4567, "pump": 0}
    assert dict(Price.objects.values_list("code", "amount")) == {"tank": 4567, "pump": 0}
    assert AuditEntry.objects.filter(kind="price", object_id="raft").count() == 2


@pytest.mark.parametrize(
    ("body", "where"),
    [
        ({}, ["/prices"]),
        ({"prices": {}}, ["/prices"]),
        ({"prices": []}, ["/prices"]),
        ({"prices": {"tank": -1}}, ["/prices/tank"]),
        ({"prices": {"tank": "0.45"}}, ["/prices/tank"]),
        ({"prices": {"tank": 0.00001, "raft": 60}}, ["/prices/tank"]),
        ({"prices": {"tank": 1_000_000}}, ["/prices/tank"]),
        ({"prices": {"gold": 1}}, ["/prices/gold"]),
        ({"prices": {"tank": 1}, "currency": "EUR"}, ["/currency"]),
    ],
)
def test_what_cannot_be_is_refused_and_nothing_kept(
    world: World, body: dict[str, Any], where: list[str]
) -> None:
    assert pointers(world.office("PATCH", "/prices", body)) == where
    assert not Price.objects.exists()


def test_a_refusal_names_what_was_sent(world: World) -> None:
    answer = world.office("PATCH", "/prices", {"prices": {"tank": "0.45 EUR"}})
    assert [row["value"] for row in answer.json()["errors"]] == ["0.45 EUR"]
    # what JSON cannot say is left out of the answer
    assert fault("/prices/tank", "a number is needed", float("1e999")).errors[0]["value"] is None


def test_the_office_alone(world: World) -> None:
    for method in ("GET", "PATCH"):
        body = {"prices": {"tank": 1}}
        assert world.ana(method, "/prices", body).status_code == 403
        assert world.nobody(method, "/prices", body).status_code == 401
    assert not Price.objects.exists()
