"""What small maps share: spots with their names where there is room, a scale, north."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from apps.core.drawing.ink import Ink
from apps.core.drawing.measure import text_width
from apps.core.numbers import format_plain, with_unit

STEPS_KM = (0.01, 0.02, 0.05, 0.1, 0.2, 0.5, 1, 2, 5, 10, 20, 50, 100, 200, 500)
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
class Box:
    """A stretch of the picture [px] that something stands on."""

    left: float
    top: float
    right: float
    bottom: float

    def meets(self, other: Box) -> bool:
        """Whether two boxes lie over each other."""
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


def grid(
    ink: Ink, px_per_km: float, north: str, width: float, height: float
) -> tuple[str, list[Box]]:
    """Return the grid with its scale and north, and where these two stand."""
    step = next((km for km in STEPS_KM if km * px_per_km >= 50), STEPS_KM[-1])
    px = step * px_per_km
    out = "".join(
        ink.line("hair", n * px, 0, n * px, height) for n in range(1, int(width / px) + 1)
    )
    out += "".join(
        ink.line("hair", 0, n * px, width, n * px) for n in range(1, int(height / px) + 1)
    )
    right = width - 14
    out += ink.line("base", right - px, 22, right, 22)
    out += ink.line("base", right - px, 18, right - px, 26) + ink.line("base", right, 18, right, 26)
    out += ink.text("text2", right - px / 2, 14, _length(step), size=12, anchor="middle")
    out += ink.path("solid", "M14 26L19 10L24 26L19 22Z")
    out += ink.text("text2", 30, 24, north, size=12)
    wide = 30 + text_width(north, 12)
    return out, [Box(right - px, 0, width, 28), Box(0, 0, wide, 30)]


def _length(km: float) -> str:
    far = (km, "km") if km >= 0.1 else (km * 1000, "m")
    return with_unit(format_plain(far[0]), far[1])


def spot_mark(ink: Ink, spot: Spot, x: float, y: float) -> str:
    """Return a spot's circle with its mark, or a square where it has none."""
    if not spot.mark:
        return ink.rect("solid", x - 6, y - 6, 12, 12)
    body = ink.circle("today" if spot.done else "last", x, y, RADIUS)
    role = "text-ground" if spot.done else "text"
    return body + ink.text(role, x, y + 4.5, spot.mark, size=12.5, anchor="middle", weight=600)


def spot_label(
    width: float,
    ink: Ink,
    spot: Spot,
    point: tuple[float, float],
    taken: Sequence[Box],
    ways: Sequence[tuple[tuple[float, float], tuple[float, float]]],
) -> tuple[str, list[Box]]:
    """Above, right, below or left: the first that crosses nothing, else the first over a way.

    Where all would stand on something the number alone stands for the place.
    """
    x, y = point
    # some browsers round each letter to whole pixels, which makes a name wider
    wide = 1.1 * text_width(spot.name, 13, weight=600)
    choices = [
        (x, y - 15, "middle"), (x + 15, y + 4.5, "start"), (x, y + 24, "middle"),
        (x - 15, y + 4.5, "end"),
    ]  # fmt: skip
    boxes = [(_label_box(cx, cy, anchor, wide), cx, cy, anchor) for cx, cy, anchor in choices]
    inside = [row for row in boxes if row[0].left >= 2 and row[0].right <= width - 2]
    free = [row for row in inside if not any(row[0].meets(box) for box in taken)]
    clear = [row for row in free if not any(row[0].crossed_by(*way) for way in ways)]
    for box, cx, cy, anchor in (clear or free)[:1]:
        return ink.text("text", cx, cy, spot.name, size=13, anchor=anchor, weight=600), [box]
    return "", []


def _label_box(x: float, y: float, anchor: str, wide: float) -> Box:
    left = {"start": x, "middle": x - wide / 2, "end": x - wide}[anchor]
    return Box(left, y - 11, left + wide, y + 4)
