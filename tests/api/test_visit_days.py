"""GET /visit-days: in order, within the days that are asked for, to whom they concern."""

from apps.care.models import VisitDay
from apps.flows import visit_booking
from apps.flows.visit_days import visit_days_make
from tests import factories
from tests.api.conftest import World


def test_days_in_order_with_their_tasks(world: World) -> None:
    for built in (world.mine, world.other):
        visit_days_make(place_id=built.system.place_id, at=factories.NOW)
    answer = world.office("GET", "/visit-days?from=2026-06-11&to=2026-09-09").json()
    assert answer["count"] == VisitDay.objects.count()
    days = [row["on"] for row in answer["results"]]
    assert days == sorted(days)
    first = answer["results"][0]
    assert first["earliest"] <= first["on"] <= first["latest"]
    assert {"id", "code", "system", "due", "why"} == set(first["tasks"][0])
    one = world.office("GET", f"/visit-days?place={world.mine.system.place_id}").json()
    assert {row["place"] for row in one["results"]} == {str(world.mine.system.place_id)}
    assert all(row["on"] <= "2026-07-09" for row in one["results"])


def test_a_technician_sees_the_places_of_own_visits(world: World) -> None:
    for built in (world.mine, world.other):
        visit_days_make(place_id=built.system.place_id, at=factories.NOW)
    seen = {row["place"] for row in world.ana("GET", "/visit-days").json()["results"]}
    visit_booking.pencil(
        place=world.mine.system.place, systems=[world.mine.system],
        start=factories.NOW.replace(hour=15), end=factories.NOW.replace(hour=16),
        technicians=[world.users["ana"]], by=factories.actor(world.users["office"]),
        at=factories.NOW,
    )  # fmt: skip
    after = {row["place"] for row in world.ana("GET", "/visit-days").json()["results"]}
    assert str(world.mine.system.place_id) in after
    assert str(world.other.system.place_id) not in seen | after


def test_days_in_the_wrong_order_are_refused(world: World) -> None:
    answer = world.office("GET", "/visit-days?from=2026-06-11&to=2026-06-10")
    assert answer.status_code == 400
    assert "from=2026-06-11" in answer.content.decode()
    assert world.office("GET", "/visit-days?from=soon").status_code == 400
