"""Map tiles: under a sketch only where a server is named, and where they belong."""

import re

import mercantile
import pytest
from hypothesis import given
from hypothesis import strategies as st

from apps.core.drawing.area_map import SIDE, area_map, area_projection
from apps.core.drawing.projection import Projection
from apps.core.drawing.tiles import DEEPEST, corner_of, tile_layer, tile_of, tiles_of, zoom_of
from tests.effort import cases

ADDRESS = "https://maps.example/{z}/{x}/{y}.png"
SERVER = tiles_of(f"{ADDRESS} the town's survey")
IMAGE = re.compile(
    r'<image href="https://maps.example/(\d+)/(\d+)/(\d+).png" x="([\d.-]+)" y="([\d.-]+)" '
    r'width="([\d.-]+)" height="([\d.-]+)"'
)
LATITUDES = st.floats(-84, 84)
LONGITUDES = st.floats(-180, 179.999)


@pytest.mark.outside(
    source="mercantile 1.2.1 (spherical Mercator tiles, EPSG:3857)", kind="computed", tolerance=1e-9
)
@pytest.mark.parametrize(
    ("lat", "lon", "zoom"),
    [(50.8503, 4.3517, 15), (-33.9, 151.2, 12), (64.15, -21.94, 18), (0, 0, 1)],
)
def test_tiles_lie_where_others_lay_them(outside, lat: float, lon: float, zoom: int) -> None:  # type: ignore[no-untyped-def]
    column, row = (int(part) for part in tile_of(lat, lon, zoom))
    assert (column, row) == mercantile.tile(lon, lat, zoom)[:2]
    corner = mercantile.ul(column, row, zoom)
    outside(corner_of(column, row, zoom)[0], corner.lat)
    outside(corner_of(column, row, zoom)[1], corner.lng)


@cases(60)
@given(LATITUDES, LONGITUDES, st.floats(0.2, 120))
def test_tiles_cover_the_map_and_no_more(lat: float, lon: float, km: float) -> None:
    projection = area_projection(lat, lon, km)
    layer = tile_layer(SERVER, projection, SIDE, SIDE)
    drawn = [tuple(map(float, found)) for found in IMAGE.findall(layer)]
    assert 1 <= len(drawn) <= 49
    assert all(0 <= column < 2**zoom for zoom, column, *_rest in drawn)
    # the projections differ by less than a pixel or two over a map's width
    assert min(row[3] for row in drawn) <= 2
    assert max(row[3] + row[5] for row in drawn) >= SIDE - 2
    if abs(lat) < 80:
        assert min(row[4] for row in drawn) <= 2
        assert max(row[4] + row[6] for row in drawn) >= SIDE - 2


@cases(60)
@given(LATITUDES, LONGITUDES, st.floats(1, SIDE - 1), st.floats(1, SIDE - 1))
def test_a_point_of_the_map_is_a_place_and_back(lat: float, lon: float, x: float, y: float) -> None:
    projection = area_projection(lat, lon, 3)
    assert projection.point(*projection.place(x, y)) == pytest.approx((x, y), abs=0.01)


def test_a_tile_is_drawn_no_wider_than_it_is_sent() -> None:
    for km in (0.3, 3, 30, 300):
        zoom = zoom_of(area_projection(50, 4, km))
        side = 40_075.017 * Projection(50, 4, 1, 0, 0).narrow / 2**zoom * SIDE / km
        assert 128 < side <= 256 or zoom == DEEPEST


def test_without_a_server_nothing_is_fetched() -> None:
    assert tiles_of("") is None
    drawn = area_map(projection=area_projection(50, 4, 3), spots=[], title="x", north="north")
    assert "<image" not in drawn
    assert "http" not in drawn.replace("http://www.w3.org/2000/svg", "")


@pytest.mark.parametrize(
    ("said", "told"),
    [("https://maps.example/{z}/{x}.png the survey", "{y}"), ("maps.example/{z}/{x}/{y} the survey", "web address"),
     (ADDRESS, "whom to name"), ("https://{s}.maps.example/{z}/{x}/{y} the survey", "web address"),
     ("https://user:pw@maps.example/{z}/{x}/{y} the survey", "web address"),
     ("https://maps.example;script-src/{z}/{x}/{y} the survey", "web address"),
     ("javascript:{z}{x}{y} the survey", "web address")],
)  # fmt: skip
def test_half_a_server_is_refused(said: str, told: str) -> None:
    with pytest.raises(ValueError, match=re.escape(told)):
        tiles_of(said)


def test_pictures_may_come_from_that_server_alone() -> None:
    assert SERVER is not None
    assert SERVER.origin == "https://maps.example"
    near = tiles_of("http://Maps.Example:8080/{z}/{x}/{y} the survey")
    assert near is not None
    assert near.origin == "http://maps.example:8080"
