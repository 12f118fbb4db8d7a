"""Climate normals through the API: all twelve months or nothing, based on what was read."""

from dataclasses import asdict
from typing import Any

import pytest

from apps.clients.models import Climate
from tests.ahead.climates import MONTHS
from tests.api.conftest import World

pytestmark = pytest.mark.django_db
BODY: dict[str, Any] = {
    "source": "Weir Hill, 1991 to 2020", "months": [asdict(month) for month in MONTHS],
}  # fmt: skip


@pytest.mark.parametrize("own", [False, True])
def test_written_read_changed_and_taken_away(world: World, own: bool) -> None:
    path = f"/places/{world.mine.system.place_id}/climate" if own else "/climate"
    assert world.office("GET", path).status_code == 404
    made = world.office("PUT", path, BODY)
    assert made.status_code == 200
    assert made.json() == BODY | {"rev": 1}
    read = world.office("GET", path)
    assert read.json() == made.json()
    assert world.office("PUT", path, BODY).status_code == 428
    changed = BODY | {"months": [*BODY["months"][:11], BODY["months"][11] | {"rain_mm": 90}]}
    answer = world.office("PUT", path, changed, If_Match=read.headers["ETag"])
    assert (answer.status_code, answer.json()["rev"]) == (200, 2)
    assert answer.json()["months"][11]["rain_mm"] == 90
    assert world.office("PUT", path, BODY, If_Match=read.headers["ETag"]).status_code == 412
    assert world.office("DELETE", path).status_code == 204
    assert world.office("DELETE", path).status_code == 404


@pytest.mark.parametrize(
    ("change", "pointer"),
    [
        ({"months": BODY["months"][:11]}, "/months"),
        ({"months": "warm"}, "/months"),
        ({"months": [*BODY["months"][:11], 3]}, "/months/11"),
        ({"months": [*BODY["months"][:11], {"low_c": 1, "high_c": 2}]}, "/months/11/rain_mm"),
        ({"months": [BODY["months"][0] | {"mean_c": 2}, *BODY["months"][1:]]}, "/months/0/mean_c"),
        ({"months": [BODY["months"][0] | {"low_c": "2"}, *BODY["months"][1:]]}, "/months/0/low_c"),
        ({"months": [BODY["months"][0] | {"low_c": True}, *BODY["months"][1:]]}, "/months/0/low_c"),
        ({"months": [BODY["months"][0] | {"low_c": 9}, *BODY["months"][1:]]}, "/months/0/high_c"),
        ({"months": [BODY["months"][0] | {"et0_mm": -1}, *BODY["months"][1:]]}, "/months/0/et0_mm"),
        ({"source": "x" * 201}, "/source"),
        ({"years": 30}, "/years"),
    ],
)
def test_what_cannot_be_is_named_and_nothing_is_kept(
    world: World, change: dict[str, Any], pointer: str
) -> None:
    answer = world.office("PUT", "/climate", BODY | change)
    assert answer.status_code == 422
    assert pointer in [error["pointer"] for error in answer.json()["errors"]]
    assert not Climate.objects.exists()


def test_it_is_the_offices_alone(world: World) -> None:
    world.office("PUT", "/climate", BODY)
    for method in ("GET", "PUT", "DELETE"):
        assert world.ana(method, "/climate", BODY).status_code == 403
        assert world.nobody(method, "/climate", BODY).status_code == 401
    path = f"/places/{world.mine.system.place_id}/climate"
    assert world.ana("GET", path).status_code in (403, 404)
