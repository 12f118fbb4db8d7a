"""A map to set a pin on: the firm's places about a middle, in which the pin stands."""

from __future__ import annotations

from collections.abc import Sequence

from django.utils.safestring import SafeString

from apps.core.drawing.ink import Ink
from apps.core.drawing.map_parts import RADIUS, Box, Spot, grid, spot_label, spot_mark
from apps.core.drawing.projection import Projection
from apps.core.drawing.tiles import Tiles, tile_layer

SIDE = 280.0
HALF = SIDE / 2


def area_projection(latitude: float, longitude: float, km: float) -> Projection:
    """Return what places spots on a map `km` wide about a middle [°]."""
    return Projection(latitude, longitude, SIDE / km, HALF, HALF)


def area_map(
    *,
    projection: Projection,
    spots: Sequence[Spot],
    title: str,
    north: str,
    tiles: Tiles | None = None,
) -> SafeString:
    """Draw the spots that lie on the map, with their names where there is room, and the pin."""
    ink = Ink()
    placed = [(spot, projection.point(spot.latitude, spot.longitude)) for spot in spots]
    seen = [(spot, (x, y)) for spot, (x, y) in placed if 0 <= x <= SIDE and 0 <= y <= SIDE]
    drawn, taken = grid(ink, projection.px_per_km, north, SIDE, SIDE)
    taken.append(Box(HALF - 12, HALF - 12, HALF + 12, HALF + 12))
    taken += [Box(x - RADIUS, y - RADIUS, x + RADIUS, y + RADIUS) for _spot, (x, y) in seen]
    body = tile_layer(tiles, projection, SIDE, SIDE) + drawn
    body += "".join(spot_mark(ink, spot, *point) for spot, point in seen)
    for spot, point in seen:
        label, boxes = spot_label(SIDE, ink, spot, point, taken, [])
        body += label
        taken += boxes
    return SafeString(ink.svg(SIDE, SIDE, body + _pin(ink), title=title, kind="area-map"))


def _pin(ink: Ink) -> str:
    """A surveyor's mark: a ring about the middle, with a cross that leaves the point itself free."""
    out = ink.circle("ground", HALF, HALF, 3) + ink.circle("today", HALF, HALF, 2)
    for x, y in ((1, 0), (-1, 0), (0, 1), (0, -1)):
        ends = HALF + 6 * x, HALF + 6 * y, HALF + 15 * x, HALF + 15 * y
        out += ink.line("run", *ends)
    return out + ink.circle("line", HALF, HALF, 10)
