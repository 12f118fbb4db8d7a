"""A place's pin: looked for without keeping anything, kept by one press."""

import re
from typing import Any

import pytest
from django.urls import reverse

from apps.accounts.models import AuditEntry
from apps.clients.models import Place
from apps.core.drawing.tiles import tiles_of
from apps.office.selectors.pin import WIDTHS_KM, Look, look_of
from apps.rounds.planning.coordinates import Position
from apps.rounds.selectors import settings_current
from tests import factories
from tests.office.conftest import Desk

HERE = Look(Position(50.85, 4.35), 2)
METRES = 111_200
"""A degree along the meridian."""


class TestLooking:
    def test_a_press_moves_the_pin_there(self) -> None:
        """A quarter of a 3 km map to the right of the middle, an eighth up."""
        for name, share in (("pin", 1), ("wide", 2)):
            press = {f"{name}.x": str(210 * share), f"{name}.y": str(105 * share)}
            look = look_of(press, HERE)
            assert (look.at.lat - 50.85) * METRES == pytest.approx(375, abs=1)
            assert (look.at.lon - 4.35) * METRES * 0.6314 == pytest.approx(750, abs=2)

    def test_an_arrow_moves_by_an_eighth_of_the_map(self) -> None:
        north, back = look_of({"move": "north"}, HERE), look_of({"move": "west"}, HERE)
        assert (north.at.lat - 50.85) * METRES == pytest.approx(375, abs=1)
        assert north.at.lon == 4.35
        assert look_of({"move": "east"}, back).at == HERE.at

    def test_closer_and_further_end_somewhere(self) -> None:
        closest = look_of({"move": "closer"}, Look(HERE.at, 0))
        assert closest == Look(HERE.at, 0)
        last = len(WIDTHS_KM) - 1
        assert look_of({"move": "further"}, Look(HERE.at, last)).width == last
        assert look_of({"move": "further"}, HERE).width == 3

    @pytest.mark.parametrize(
        "query",
        [{"at": "east"}, {"at": "nan, 4"}, {"at": "91, 4"}, {"at": "1,2,3"}, {"width": "99"}, {"width": "-1"},
         {"move": "up"}, {"pin.x": "5"}, {"pin.x": "9999", "pin.y": "3"}, {"pin.x": "0", "pin.y": "0"},
         {"pin.x": "x", "pin.y": "3"}],
    )  # fmt: skip
    def test_what_a_query_cannot_mean_is_left_out(self, query: dict[str, str]) -> None:
        assert look_of(query, HERE) == HERE

    def test_over_the_date_line_and_at_the_pole(self) -> None:
        east = look_of({"move": "east"}, Look(Position(-17.7, 179.99), 4))
        assert -180 <= east.at.lon < -179
        assert look_of({"move": "north"}, Look(Position(84.99, 4.0), 5)).at.lat == 85


class TestPage:
    @pytest.fixture(autouse=True)
    def _placed(self, desk: Desk) -> None:
        Place.objects.filter(pk=desk.place.pk).update(latitude=50.85, longitude=4.35)

    def test_looking_keeps_nothing(self, desk: Desk) -> None:
        before = Place.objects.values().get(pk=desk.place.pk)
        audited = AuditEntry.objects.count()
        page = desk.get("place_pin", desk.place.pk, move="north")
        assert page.status_code == 200
        assert Place.objects.values().get(pk=desk.place.pk) == before
        assert AuditEntry.objects.count() == audited

    def test_the_pin_is_kept(self, desk: Desk) -> None:
        place = Place.objects.get(pk=desk.place.pk)
        done = desk.post("place_pin", place.pk, rev=place.rev, where="50.851234, 4.356789")
        assert done.url == reverse("office:place", args=[place.pk])
        row = Place.objects.get(pk=place.pk)
        assert (row.latitude, row.longitude) == (50.851234, 4.356789)
        assert row.rev == place.rev + 1
        shown = desk.get("place_pin", place.pk).content.decode()
        assert "50.851234, 4.356789" in shown

    def test_who_was_quicker_is_shown_and_nothing_is_lost(self, desk: Desk) -> None:
        place = Place.objects.get(pk=desk.place.pk)
        desk.post("place_pin", place.pk, rev=place.rev, where="50.851234, 4.356789")
        late = desk.post("place_pin", place.pk, rev=place.rev, where="50.900000, 4.400000")
        assert late.status_code == 422
        page = late.content.decode()
        assert "Somebody else changed this meanwhile" in page
        assert "50.85123" in page
        assert late.context["look"].where == "50.900000, 4.400000"
        desk.post("place_pin", place.pk, rev=place.rev + 1, where=late.context["look"].where)
        assert Place.objects.get(pk=place.pk).latitude == 50.9

    @pytest.mark.parametrize("where", ["", "east", "0.000000, 0.000000", "91.000000, 4.000000"])
    def test_no_place_on_earth_is_refused(self, desk: Desk, where: str) -> None:
        before = Place.objects.get(pk=desk.place.pk)
        answer = desk.post("place_pin", before.pk, rev=before.rev, where=where)
        assert answer.status_code == 422
        assert "where" in answer.context["form"].errors
        assert Place.objects.get(pk=before.pk).rev == before.rev

    def test_another_place_is_named_with_its_way(self, desk: Desk) -> None:
        other = factories.place(factories.client("Brandt"))
        Place.objects.filter(pk=other.pk).update(latitude=50.859, longitude=4.35)
        page = desk.get("place_pin", desk.place.pk, width="3")
        assert page.context["near"] == "1.0\u00a0km south of Brandt"
        assert "Brandt" in page.context["map"]
        far = desk.get("place_pin", desk.place.pk, width="0")
        assert "Brandt" not in far.context["map"]

    def test_a_pin_far_from_all_others_is_asked_about(self, desk: Desk) -> None:
        alone = desk.get("place_pin", desk.place.pk)
        assert alone.context["near"] == ""
        other = factories.place(factories.client("Brandt"))
        Place.objects.filter(pk=other.pk).update(latitude=50.859, longitude=4.35)
        swapped = desk.get("place_pin", desk.place.pk, at="4.35,50.85")
        assert "the right way round?" in swapped.content.decode()

    def test_it_opens_in_the_town_or_at_the_base_or_asks_for_a_first(self, desk: Desk) -> None:
        Place.objects.update(latitude=None, longitude=None)
        row = settings_current()
        row.base_latitude = row.base_longitude = None
        row.save()
        asked = desk.get("place_pin", desk.place.pk)
        assert asked.url == reverse("office:place_edit", args=[desk.place.pk])
        assert desk.post("place_pin", desk.place.pk, rev=1, where="east").status_code == 422
        row.base_latitude, row.base_longitude = 50.1, 4.1
        row.save()
        assert desk.get("place_pin", desk.place.pk).context["look"].where == "50.100000, 4.100000"
        other = factories.place(factories.client("Brandt"))
        Place.objects.filter(pk=other.pk).update(latitude=50.2, longitude=4.2, town=desk.place.town)
        assert desk.get("place_pin", desk.place.pk).context["look"].where == "50.200000, 4.200000"

    def test_tiles_only_where_a_server_is_named(self, desk: Desk, settings: Any) -> None:
        plain = desk.get("place_pin", desk.place.pk).content.decode()
        assert "<image" not in plain
        assert "No street map is set up" in plain
        settings.MAP_TILES = tiles_of("https://maps.example/{z}/{x}/{y}.png the town's survey")
        page = desk.get("place_pin", desk.place.pk).content.decode()
        assert len(re.findall(r"<image href=.https://maps.example/", page)) >= 4
        assert "Map: the town&#x27;s survey" in page

    def test_many_places_take_as_many_queries(self, desk: Desk, same_queries: Any) -> None:
        def more() -> None:
            for n in range(3):
                made = factories.place(factories.client(f"Neighbour {Place.objects.count()}"))
                Place.objects.filter(pk=made.pk).update(latitude=50.85 + n / 1000, longitude=4.35)

        more()
        same_queries(lambda: desk.get("place_pin", desk.place.pk), more)
