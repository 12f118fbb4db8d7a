"""A street map under a sketch, where the firm has named a server of map tiles; else there is none.

Tiles are squares of the web's Mercator projection: at zoom z the world is 2^z of them a side.
"""

from __future__ import annotations

import math
import re
from dataclasses import dataclass
from urllib.parse import urlsplit

from apps.core.drawing.ink import escape, number
from apps.core.drawing.projection import Projection

ROUND_KM = 40_075.017
"""The equator of WGS 84."""
DEEPEST = 19
_HOST = re.compile(r"[a-z0-9.-]+")
SIDE = 256.0
"""The most px that a tile is drawn wide: what servers send."""


@dataclass(frozen=True)
class Tiles:
    """A server of tiles: its address with {z}, {x} and {y}, and whom to name for the map."""

    address: str
    credit: str

    @property
    def origin(self) -> str:
        """What a content security policy has to allow pictures from."""
        parts = urlsplit(self.address)
        port = f":{parts.port}" if parts.port else ""
        return f"{parts.scheme}://{parts.hostname}{port}"


def tiles_of(said: str) -> Tiles | None:
    """Return the tiles that a setting names, none where it is empty.

    Raises ValueError for an address without {z}, {x} and {y}, one that is no web address, or
    where nobody is named: whoever makes a map wants to be.

    >>> tiles_of("https://maps.example/{z}/{x}/{y}.png the town's survey").credit
    "the town's survey"
    """
    if not said.strip():
        return None
    address, _space, credit = said.strip().partition(" ")
    parts = urlsplit(address)
    whole = all(mark in parts.path + parts.query for mark in ("{z}", "{x}", "{y}"))
    # the host goes into a content policy as it stands, without who signs in there
    named = _HOST.fullmatch(parts.hostname or "") and "@" not in parts.netloc
    if parts.scheme not in ("http", "https") or not named or not whole:
        raise ValueError(
            f"map tiles {address!r}: write a web address with {{z}}, {{x}} and {{y}} in it"
        )
    if not credit.strip():
        raise ValueError(f"map tiles {address!r}: write a space and whom to name for the map")
    return Tiles(address, credit.strip())


def zoom_of(projection: Projection) -> int:
    """Return the first zoom at which a tile is drawn no wider than it is sent."""
    wanted = ROUND_KM * projection.narrow * projection.px_per_km / SIDE
    return min(max(math.ceil(math.log2(max(wanted, 1))), 0), DEEPEST)


def tile_of(latitude: float, longitude: float, zoom: int) -> tuple[float, float]:
    """Return the column and row of a place, with how far into the tile it lies."""
    count = 2**zoom
    up = math.asinh(math.tan(math.radians(latitude))) / math.pi
    return (longitude + 180) / 360 * count, (1 - up) / 2 * count


def corner_of(column: float, row: float, zoom: int) -> tuple[float, float]:
    """Return the latitude and longitude [°] of a tile's north-west corner."""
    count = 2**zoom
    up = math.pi * (1 - 2 * row / count)
    return math.degrees(math.atan(math.sinh(up))), column / count * 360 - 180


def tile_layer(tiles: Tiles | None, projection: Projection, width: float, height: float) -> str:
    """Return the tiles that lie under a picture, as its lowest layer; nothing without a server."""
    if tiles is None:
        return ""
    zoom = zoom_of(projection)
    count = 2**zoom
    middle = tile_of(projection.latitude, projection.longitude, zoom)
    side = ROUND_KM * projection.narrow / count * projection.px_per_km
    columns = _span(middle[0], projection.x, width, side)
    rows = [row for row in _span(middle[1], projection.y, height, side) if 0 <= row < count]
    images = "".join(
        _image(tiles, projection, column, row, zoom) for row in rows for column in columns
    )
    return f'<g class="k-tiles">{images}</g>'


def _span(middle: float, at: float, length: float, side: float) -> range:
    """Return the tiles along one way: those that reach into 0 to `length` [px]."""
    return range(math.floor(middle - at / side), math.floor(middle + (length - at) / side) + 1)


def _image(tiles: Tiles, projection: Projection, column: int, row: int, zoom: int) -> str:
    count = 2**zoom
    left, top = projection.point(*corner_of(column, row, zoom))
    right, bottom = projection.point(*corner_of(column + 1, row + 1, zoom))
    href = tiles.address
    for mark, value in (("{z}", zoom), ("{x}", column % count), ("{y}", row)):
        href = href.replace(mark, str(value))
    return (
        f'<image href="{escape(href)}" x="{number(left)}" y="{number(top)}" '
        f'width="{number(right - left)}" height="{number(bottom - top)}" preserveAspectRatio="none"/>'
    )
