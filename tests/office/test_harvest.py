"""What the harvest is worth: a price a kilogram and one a piece, each in its own box."""

from apps.batches.models import HarvestPrice
from tests.office.conftest import Desk


def test_a_price_a_kilogram_and_one_by_number(desk: Desk) -> None:
    page = desk.get("harvest_prices").content.decode()
    assert "Lettuce, loose leaf, by number" in page
    boxes = {"crops-lettuce_loose_leaf": "6", "crops-lettuce_loose_leaf-piece": "1.79"}
    assert desk.post("harvest_prices", **boxes).status_code == 302
    held = HarvestPrice.objects.order_by("per").values_list("code", "per", "amount")
    assert list(held) == [
        ("lettuce_loose_leaf", "kg", 60_000), ("lettuce_loose_leaf", "piece", 17_900),
    ]  # fmt: skip
    # an empty box takes its price away, and only that
    assert (
        desk.post("harvest_prices", **(boxes | {"crops-lettuce_loose_leaf": ""})).status_code == 302
    )
    assert list(HarvestPrice.objects.values_list("per", flat=True)) == ["piece"]


def test_a_price_that_cannot_be_is_refused(desk: Desk) -> None:
    answer = desk.post("harvest_prices", **{"crops-lettuce_loose_leaf-piece": "-1"})
    assert answer.status_code == 422
    assert not HarvestPrice.objects.exists()
