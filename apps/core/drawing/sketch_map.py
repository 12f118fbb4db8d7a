"""A sketch of a round without any map's tiles: places at their true bearing and distance."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from django.utils.safestring import SafeString

from apps.core.drawing.ink import Ink, Palette
from apps.core.drawing.measure import text_width

WIDTH, HEIGHT = 330.0, 230.0
MARGIN = 44.0
KM_PER_DEGREE = 111.2
"""Along a meridian, of a sphere of 6,371 km: a sketch needs no better."""
STEPS_KM = (0.1, 0.2, 0.5, 1, 2, 5, 10, 20, 50, 100, 200, 500)
RADIUS = 9.0


@dataclass(frozen=True)
class Spot:
    """A place [°, WGS 84]; `mark` stands in its circle, none is where the day begins or ends."""

    name: str
    latitude: float
    longitude: float
    mark: str = ""
    done: bool = False


@dataclass(frozen=True)
class Leg:
    """A way from one spot to another by their numbers; `driven` legs are solid."""

    source: int
    target: int
    label: str
    driven: bool = False


@dataclass(frozen=True)
class _Box:
    left: float
    top: float
    right: float
    bottom: float

    def meets(self, other: _Box) -> bool:
        apart = self.right <= other.left or other.right <= self.left
        return not (apart or self.bottom <= other.top or other.bottom <= self.top)

    def crossed_by(self, a: tuple[float, float], b: tuple[float, float]) -> bool:
        """Whether a line from a to b comes into the box, looked at every 4 px."""
        steps = max(int(math.dist(a, b) / 4), 1)
        points = (
            (a[0] + (b[0] - a[0]) * n / steps, a[1] + (b[1] - a[1]) * n / steps)
            for n in range(steps + 1)
        )
        return any(self.left < x < self.right and self.top < y < self.bottom for x, y in points)


def sketch_map(
    *,
    spots: Sequence[Spot],
    legs: Sequence[Leg],
    title: str,
    north: str,
    palette: Palette | None = None,
) -> SafeString:
    """Places joined in the order of the round, with a scale and north. Raises ValueError without a spot."""
    if not spots:
        raise ValueError("a sketch needs a place")
    ink = Ink(palette)
    px_per_km, points = _placed(spots)
    body, taken = _grid(ink, px_per_km, north)
    body += "".join(
        ink.line("line" if leg.driven else "dash", *points[leg.source], *points[leg.target])
        for leg in legs
    )
    taken += [_Box(x - RADIUS, y - RADIUS, x + RADIUS, y + RADIUS) for x, y in points]
    said: set[frozenset[int]] = set()
    for leg in legs:
        both = frozenset({leg.source, leg.target})
        if not leg.label or both in said:
            continue
        said.add(both)
        label, boxes = _leg_label(ink, leg, points, taken)
        body += label
        taken += boxes
    body += "".join(_spot(ink, spot, *point) for spot, point in zip(spots, points, strict=True))
    ways = [(points[leg.source], points[leg.target]) for leg in legs]
    for spot, point in zip(spots, points, strict=True):
        label, boxes = _spot_label(ink, spot, point, taken, ways)
        body += label
        taken += boxes
    return SafeString(ink.svg(WIDTH, HEIGHT, body, title=title, kind="sketch-map"))


def _placed(spots: Sequence[Spot]) -> tuple[float, list[tuple[float, float]]]:
    """Return the scale [px/km] and the points: equirectangular about the middle."""
    middle = sum(spot.latitude for spot in spots) / len(spots)
    narrow = math.cos(math.radians(middle))
    # the shorter way round, where a round crosses the date line
    zero = spots[0].longitude
    east = [((spot.longitude - zero + 180) % 360 - 180) * narrow * KM_PER_DEGREE for spot in spots]
    up = [(spot.latitude - middle) * KM_PER_DEGREE for spot in spots]
    wide, high = max(east) - min(east), max(up) - min(up)
    scale = min((WIDTH - 2 * MARGIN) / max(wide, 0.2), (HEIGHT - 2 * MARGIN) / max(high, 0.2))
    left = WIDTH / 2 - scale * (max(east) + min(east)) / 2
    base = HEIGHT / 2 + scale * (max(up) + min(up)) / 2
    return scale, [(left + scale * x, base - scale * y) for x, y in zip(east, up, strict=True)]


def _grid(ink: Ink, px_per_km: float, north: str) -> tuple[str, list[_Box]]:
    """Return the grid with its scale and north, and where these two stand."""
    step = next((km for km in STEPS_KM if km * px_per_km >= 50), STEPS_KM[-1])
    px = step * px_per_km
    out = "".join(
        ink.line("hair", n * px, 0, n * px, HEIGHT) for n in range(1, int(WIDTH / px) + 1)
    )
    out += "".join(
        ink.line("hair", 0, n * px, WIDTH, n * px) for n in range(1, int(HEIGHT / px) + 1)
    )
    right = WIDTH - 14
    out += ink.line("base", right - px, 22, right, 22)
    out += ink.line("base", right - px, 18, right - px, 26) + ink.line("base", right, 18, right, 26)
    out += ink.text("text2", right - px / 2, 14, f"{step:g} km", size=12, anchor="middle")
    out += ink.path("solid", "M14 26L19 10L24 26L19 22Z")
    out += ink.text("text2", 30, 24, north, size=12)
    wide = 30 + text_width(north, 12)
    return out, [_Box(right - px, 0, WIDTH, 28), _Box(0, 0, wide, 30)]


def _spot(ink: Ink, spot: Spot, x: float, y: float) -> str:
    if not spot.mark:
        return ink.rect("solid", x - 6, y - 6, 12, 12)
    body = ink.circle("today" if spot.done else "last", x, y, RADIUS)
    role = "text-ground" if spot.done else "text"
    return body + ink.text(role, x, y + 4.5, spot.mark, size=12.5, anchor="middle", weight=600)


def _leg_label(
    ink: Ink, leg: Leg, points: Sequence[tuple[float, float]], taken: Sequence[_Box]
) -> tuple[str, list[_Box]]:
    """The minutes on a leg over a gap of ground, where on the way there is room; else none."""
    (ax, ay), (bx, by) = points[leg.source], points[leg.target]
    wide = text_width(leg.label, 12) + 6
    for share in (0.5, 0.4, 0.6, 0.3, 0.7):
        x, y = ax + (bx - ax) * share, ay + (by - ay) * share
        box = _Box(x - wide / 2, y - 9, x + wide / 2, y + 7)
        if not any(box.meets(other) for other in taken):
            gap = ink.rect("ground", box.left, box.top, wide, 16)
            return gap + ink.text("text2", x, y + 3, leg.label, size=12, anchor="middle"), [box]
    return "", []


def _spot_label(
    ink: Ink,
    spot: Spot,
    point: tuple[float, float],
    taken: Sequence[_Box],
    ways: Sequence[tuple[tuple[float, float], tuple[float, float]]],
) -> tuple[str, list[_Box]]:
    """Above, right, below or left: the first that crosses nothing, else the first over a way.

    Where all would stand on something the number alone stands for the place.
    """
    x, y = point
    wide = text_width(spot.name, 13, weight=600)
    choices = [
        (x, y - 15, "middle"), (x + 15, y + 4.5, "start"), (x, y + 24, "middle"),
        (x - 15, y + 4.5, "end"),
    ]  # fmt: skip
    boxes = [(_label_box(cx, cy, anchor, wide), cx, cy, anchor) for cx, cy, anchor in choices]
    inside = [row for row in boxes if row[0].left >= 2 and row[0].right <= WIDTH - 2]
    free = [row for row in inside if not any(row[0].meets(box) for box in taken)]
    clear = [row for row in free if not any(row[0].crossed_by(*way) for way in ways)]
    for box, cx, cy, anchor in (clear or free)[:1]:
        return ink.text("text", cx, cy, spot.name, size=13, anchor=anchor, weight=600), [box]
    return "", []


def _label_box(x: float, y: float, anchor: str, wide: float) -> _Box:
    left = {"start": x, "middle": x - wide / 2, "end": x - wide}[anchor]
    return _Box(left, y - 11, left + wide, y + 4)
