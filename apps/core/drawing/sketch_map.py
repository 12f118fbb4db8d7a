"""A sketch of a round: places at their true bearing and distance, over tiles where there are some."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from django.utils.safestring import SafeString

from apps.core.drawing.ink import Ink, Palette
from apps.core.drawing.map_parts import RADIUS, Box, Spot, grid, spot_label, spot_mark
from apps.core.drawing.measure import text_width
from apps.core.drawing.projection import Projection
from apps.core.drawing.tiles import Tiles, tile_layer

WIDTH, HEIGHT = 330.0, 230.0
MARGIN = 44.0


@dataclass(frozen=True)
class Leg:
    """A way from one spot to another by their numbers; `driven` legs are solid."""

    source: int
    target: int
    label: str
    driven: bool = False


def sketch_map(
    *,
    spots: Sequence[Spot],
    legs: Sequence[Leg],
    title: str,
    north: str,
    palette: Palette | None = None,
    tiles: Tiles | None = None,
) -> SafeString:
    """Places joined in the order of the round, with a scale and north. Raises ValueError without a spot."""
    if not spots:
        raise ValueError("a sketch needs a place")
    ink = Ink(palette)
    projection = _projection(spots)
    points = [projection.point(spot.latitude, spot.longitude) for spot in spots]
    drawn, taken = grid(ink, projection.px_per_km, north, WIDTH, HEIGHT)
    body = tile_layer(tiles, projection, WIDTH, HEIGHT) + drawn
    body += "".join(
        ink.line("line" if leg.driven else "dash", *points[leg.source], *points[leg.target])
        for leg in legs
    )
    taken += [Box(x - RADIUS, y - RADIUS, x + RADIUS, y + RADIUS) for x, y in points]
    said: set[frozenset[int]] = set()
    for leg in legs:
        both = frozenset({leg.source, leg.target})
        if not leg.label or both in said:
            continue
        said.add(both)
        label, boxes = _leg_label(ink, leg, points, taken)
        body += label
        taken += boxes
    body += "".join(spot_mark(ink, spot, *point) for spot, point in zip(spots, points, strict=True))
    ways = [(points[leg.source], points[leg.target]) for leg in legs]
    for spot, point in zip(spots, points, strict=True):
        label, boxes = spot_label(WIDTH, ink, spot, point, taken, ways)
        body += label
        taken += boxes
    return SafeString(ink.svg(WIDTH, HEIGHT, body, title=title, kind="sketch-map"))


def _projection(spots: Sequence[Spot]) -> Projection:
    """Return what places the spots: as large as there is room for, in the middle."""
    middle = sum(spot.latitude for spot in spots) / len(spots)
    plain = Projection(middle, spots[0].longitude, 1, 0, 0)
    km = [plain.point(spot.latitude, spot.longitude) for spot in spots]
    left, right = min(x for x, _y in km), max(x for x, _y in km)
    top, bottom = min(y for _x, y in km), max(y for _x, y in km)
    scale = min(
        (WIDTH - 2 * MARGIN) / max(right - left, 0.2),
        (HEIGHT - 2 * MARGIN) / max(bottom - top, 0.2),
    )
    return replace(
        plain, px_per_km=scale,
        x=WIDTH / 2 - scale * (left + right) / 2, y=HEIGHT / 2 - scale * (top + bottom) / 2,
    )  # fmt: skip


def _leg_label(
    ink: Ink, leg: Leg, points: Sequence[tuple[float, float]], taken: Sequence[Box]
) -> tuple[str, list[Box]]:
    """The minutes on a leg over a gap of ground, where on the way there is room; else none."""
    (ax, ay), (bx, by) = points[leg.source], points[leg.target]
    wide = text_width(leg.label, 12) + 6
    for share in (0.5, 0.4, 0.6, 0.3, 0.7):
        x, y = ax + (bx - ax) * share, ay + (by - ay) * share
        box = Box(x - wide / 2, y - 9, x + wide / 2, y + 7)
        if not any(box.meets(other) for other in taken):
            gap = ink.rect("ground", box.left, box.top, wide, 16)
            return gap + ink.text("text2", x, y + 3, leg.label, size=12, anchor="middle"), [box]
    return "", []
