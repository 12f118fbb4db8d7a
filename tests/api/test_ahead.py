"""GET /systems/{id}/ahead: the newest forecast in figures and words, to whom it concerns."""

import pytest

from apps.flows import visit_booking
from tests import factories
from tests.ahead.outlooks import keep
from tests.api.conftest import World

pytestmark = pytest.mark.django_db


def test_the_forecast_of_a_system(world: World) -> None:
    path = f"/systems/{world.mine.system.pk}/ahead"
    assert world.office("GET", path).json() == {
        "system": str(world.mine.system.pk), "next_visit": None, "loops": [],
    }  # fmt: skip
    keep(world.mine)
    answer = world.office("GET", path).json()
    assert answer["next_visit"] == "2026-06-27"
    (loop,) = answer["loops"]
    nitrite = next(row for row in loop["crossings"] if row["measurand"] == "no2")
    assert (nitrite["soonest"], nitrite["middle"], nitrite["latest"]) == (
        "2026-07-01", "2026-07-06", "2026-07-17",
    )  # fmt: skip
    assert nitrite["text"].startswith("Nitrite as N may pass 0.5")
    fans = {fan["measurand"]: fan for fan in loop["fans"]}
    assert (fans["no2"]["unit"], fans["no2"]["moves_dates"]) == ("mg/L", True)
    assert (fans["alk"]["hit_rate"], fans["alk"]["moves_dates"]) == (None, False)
    # what is not in sight is left out
    assert not [row for row in loop["crossings"] if row["measurand"] == "alk"]


def test_a_technician_reads_it_around_a_visit_alone(world: World) -> None:
    keep(world.mine)
    path = f"/systems/{world.mine.system.pk}/ahead"
    assert world.ana("GET", path).status_code == 404
    visit_booking.pencil(
        place=world.mine.system.place, systems=[world.mine.system],
        start=factories.NOW.replace(hour=15), end=factories.NOW.replace(hour=16),
        technicians=[world.users["ana"]], by=factories.actor(world.users["office"]),
        at=factories.NOW,
    )  # fmt: skip
    assert len(world.ana("GET", path).json()["loops"]) == 1
    assert world.marek("GET", path).status_code == 404
