"""What a harvest is worth, by the API: read, changed in part, refused beside its place."""

from typing import Any

import pytest

from apps.batches.models import HarvestPrice, Planting
from tests.api.conftest import World
from tests.api.test_prices import pointers

pytestmark = pytest.mark.django_db
LETTUCE = {"kind": "crops", "code": "lettuce_head"}


@pytest.fixture
def grown(world: World) -> World:
    planting = Planting.objects.first()
    assert planting is not None
    Planting.objects.update(crop_code="lettuce_head")
    return world


def priced(answer: Any) -> dict[tuple[str, str], float | None]:
    """Return what an answer says, by code and what the price is for."""
    return {(row["code"], row["per"]): row["amount"] for row in answer.json()["prices"]}


def test_it_names_what_grows_by_the_kilogram_and_by_number(grown: World) -> None:
    answer = grown.office("GET", "/harvest-prices")
    assert answer.status_code == 200
    found = priced(answer)
    assert found[("lettuce_head", "kg")] is None
    assert found[("lettuce_head", "piece")] is None


def test_some_are_set_and_taken_away(grown: World) -> None:
    rows = [LETTUCE | {"per": "piece", "amount": 1.79}, LETTUCE | {"per": "kg", "amount": 6}]
    assert grown.office("PATCH", "/harvest-prices", {"prices": rows}).status_code == 200
    rows = [LETTUCE | {"per": "kg", "amount": None}]
    found = priced(grown.office("PATCH", "/harvest-prices", {"prices": rows}))
    assert (found[("lettuce_head", "piece")], found[("lettuce_head", "kg")]) == (1.79, None)
    assert list(HarvestPrice.objects.values_list("per", "amount")) == [("piece", 17_900)]


@pytest.mark.parametrize(
    ("rows", "where"),
    [
        ([], "/prices"),
        ({}, "/prices"),
        ([3], "/prices/0"),
        ([LETTUCE | {"per": "kg"}], "/prices/0/amount"),
        ([LETTUCE | {"per": "sack", "amount": 1}], "/prices/0"),
        ([LETTUCE | {"code": "gold", "per": "kg", "amount": 1}], "/prices/0"),
        ([LETTUCE | {"per": "kg", "amount": "6"}], "/prices/0/amount"),
        ([LETTUCE | {"per": "kg", "amount": -1}], "/prices/0/amount"),
        ([LETTUCE | {"per": "kg", "amount": 1}] * 2, "/prices/1"),
    ],
)
def test_a_price_that_cannot_be_is_refused(grown: World, rows: Any, where: str) -> None:
    answer = grown.office("PATCH", "/harvest-prices", {"prices": rows})
    assert pointers(answer) == [where]
    assert not HarvestPrice.objects.exists()
