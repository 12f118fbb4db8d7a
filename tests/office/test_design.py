"""A design of the office for a place: sized, drawn, and made a system with one press."""

from typing import Any

import pytest

from apps.care.models import CareTask
from apps.systems.models import Component, Flow, System
from tests.office.conftest import Desk

WISH = {
    "by": "beds", "amount": "4", "crop_group": "leafy", "crop": "lettuce_loose_leaf",
    "bed_kind": "raft", "species": "nile_tilapia", "winter_c": "18", "summer_c": "30",
    "lift_m": "1,4", "pipe_m": "6",
}  # fmt: skip


def address(desk: Desk) -> str:
    """Return the page with the wish in its address."""
    query = "&".join(f"{name}={value}" for name, value in WISH.items())
    return f"/places/{desk.place.pk}/design/?{query}"


def test_the_sizes_with_their_rules_and_doubts(desk: Desk) -> None:
    answer = desk.get("design", desk.place.pk, **WISH).context["answer"]
    rows = {row["name"]: row for _title, rows in answer["groups"] for row in rows}
    assert rows["Feed when full"]["chosen"].replace("\u00a0", " ") == "180 g/day"
    assert rows["Fish tank"]["rule"] == "Fish density"
    assert rows["Heads a week"]["range"]
    assert any("battery air" in text for text in answer["doubts"])
    assert "<svg" in answer["wide"]


def test_nothing_is_stored_by_looking(desk: Desk) -> None:
    before = System.objects.count()
    desk.get("design", desk.place.pk, **WISH)
    assert System.objects.count() == before


def test_one_press_makes_the_system_with_parts_flows_and_plan(desk: Desk) -> None:
    answer = desk.browser.post(address(desk), {"name": "Mill end"})
    row = System.objects.get(name="Mill end")
    assert answer.status_code == 302
    assert answer.url == f"/systems/{row.pk}/"
    parts = list(Component.objects.filter(loop__system=row).order_by("place_in_flow"))
    assert [part.kind for part in parts] == [
        "tank", "settler", "moving_bed", "raft", "sump", "pump", "air_pump", "backup_air",
    ]  # fmt: skip
    assert parts[0].litres == 800
    assert parts[3].area_m2 == 4
    assert Flow.objects.filter(source__loop__system=row).count() == 5
    assert CareTask.objects.filter(system=row).exists()
    assert desk.get("system", row.pk).status_code == 200


def test_a_system_without_a_name_is_not_made(desk: Desk) -> None:
    before = System.objects.count()
    answer = desk.browser.post(address(desk), {"name": " "})
    assert answer.status_code == 422
    assert answer.context["naming"].errors["name"]
    assert System.objects.count() == before


@pytest.mark.parametrize(
    ("change", "field"),
    [({"summer_c": "10"}, "summer_c"), ({"amount": "900"}, "amount"), ({"amount": "x"}, "amount"),
     ({"species": "shark"}, "species"), ({"lift_m": "99"}, "lift_m")],
)  # fmt: skip
def test_what_cannot_be_is_refused_beside_its_field(
    desk: Desk, change: dict[str, Any], field: str
) -> None:
    answer = desk.get("design", desk.place.pk, **(WISH | change))
    assert answer.status_code == 422
    assert answer.context["form"].errors[field]
    assert answer.context["answer"] is None
