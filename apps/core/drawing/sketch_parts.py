"""The vessels and fittings of a flow sketch, drawn as a surveyor would: walls, water, what is in it.

What is scattered (stones, wheels) is scattered by the component's id, so that a picture never
changes between two prints.
"""

from __future__ import annotations

import hashlib
from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from apps.core.drawing.ink import Ink, number
from apps.core.drawing.sketch_model import (
    CHANNEL,
    GRAVEL_BED,
    MOVING_BED,
    RAFT,
    SETTLER,
    STATIC_MEDIA,
    TANK,
)

TRAYS = frozenset({GRAVEL_BED, RAFT, CHANNEL})


@dataclass(frozen=True, slots=True)
class Box:
    """Where a vessel stands: left side, width, rim, water level and base [px, y downwards]."""

    x: float
    width: float
    top: float
    water: float
    base: float

    @property
    def right(self) -> float:
        return self.x + self.width

    @property
    def centre(self) -> float:
        return self.x + self.width / 2


def scatter(seed: str) -> Iterator[float]:
    """An endless row of numbers from 0 to 1 that depends on the seed alone."""
    count = 0
    while True:
        for byte in hashlib.sha256(f"{seed}/{count}".encode()).digest():
            yield byte / 255
        count += 1


def _between(chance: Iterator[float], low: float, high: float) -> float:
    return low + (high - low) * next(chance)


def ripple(ink: Ink, left: float, right: float, y: float) -> str:
    """The surface of the water, as small waves."""
    count = max(2, round((right - left) / 12))
    step = (right - left) / count
    data = f"M{number(left)} {number(y)}"
    for wave in range(count):
        rise = -2.4 if wave % 2 == 0 else 2.4
        data += f"q{step / 2:.2f} {rise} {step:.2f} 0"
    return ink.path("base", data)


def arrow(ink: Ink, x: float, y: float, towards: str) -> str:
    """An arrow head 9 x 9 with its tip at the point; towards: r, l, u or d."""
    shape = {"r": "l-9 -4.5v9z", "l": "l9 -4.5v9z", "u": "l-4.5 9h9z", "d": "l-4.5 -9h9z"}
    return ink.path("solid", f"M{number(x)} {number(y)}{shape[towards]}")


def pump_mark(ink: Ink, x: float, y: float, *, faulty: bool = False) -> str:
    """A pump: a circle with a triangle that points up."""
    triangle = f"M{number(x - 5.5)} {number(y + 5)}H{number(x + 5.5)}L{number(x)} {number(y - 7)}Z"
    role = "hollow-still" if faulty else "hollow"
    return ink.circle(role, x, y, 10) + ink.path("thin" if faulty else "solid", triangle)


def one_way_mark(ink: Ink, x: float, y: float) -> str:
    """Water goes one way here: a triangle against a bar."""
    triangle = f"M{number(x - 9)} {number(y - 8)}V{number(y + 8)}L{number(x + 7)} {number(y)}Z"
    return ink.path("hollow", triangle) + ink.line("tick", x + 8.5, y - 9, x + 8.5, y + 9)


def valve_mark(ink: Ink, x: float, y: float) -> str:
    """A valve: two triangles that meet."""
    data = (
        f"M{number(x - 8)} {number(y - 6)}V{number(y + 6)}L{number(x + 8)} {number(y - 6)}"
        f"V{number(y + 6)}Z"
    )
    return ink.path("hollow", data)


def timer_mark(ink: Ink, x: float, y: float) -> str:
    """A timer: a clock face."""
    return ink.circle("hollow", x, y, 7) + ink.path(
        "thin", f"M{number(x)} {number(y - 4.5)}V{number(y)}H{number(x + 3.5)}"
    )


def fish(ink: Ink, x: float, y: float, size: float = 1.0, *, left: bool = False) -> str:
    """A fish, 18 px long at size 1."""
    f = -size if left else size
    s = size

    def at(dx: float, dy: float) -> str:
        return f"{number(x + dx * f)} {number(y + dy * s)}"

    data = (
        f"M{at(-9, 0)}C{at(-3, -6)} {at(5, -4)} {at(9, 3.4)}"
        f"M{at(-9, 0)}C{at(-3, 6)} {at(5, 4)} {at(9, -3.4)}"
    )
    return ink.path("sprig", data)


def sprig(ink: Ink, x: float, y: float, size: float = 1.0) -> str:
    """A plant of two leaves, 16 px high at size 1, standing on the point."""

    def at(dx: float, dy: float) -> str:
        return f"{number(x + dx * size)} {number(y + dy * size)}"

    data = (
        f"M{at(0, 0)}L{at(0, -13)}M{at(0, -3)}C{at(-8, -4)} {at(-9, -11)} {at(-8, -13)}"
        f"C{at(-3, -12)} {at(0, -8)} {at(0, -3)}M{at(0, -6)}C{at(7, -8)} {at(8, -14)} {at(7, -16)}"
        f"C{at(2, -15)} {at(0, -10)} {at(0, -6)}"
    )
    return ink.path("sprig", data)


def vessel(
    ink: Ink,
    kind: str,
    seed: str,
    box: Box,
    *,
    faulty: bool = False,
    air: bool = False,
    keep_clear: Iterable[float] = (),
) -> str:
    """One vessel with its water and contents; a faulty one stands in dashed walls.

    `keep_clear` are the x at which pipes come in from above: no plant stands there.
    """
    wall = "wall-still" if faulty else "wall"
    if kind == SETTLER:
        return _cone(ink, wall, box)
    if kind in TRAYS:
        return _tray(ink, wall, kind, seed, box, tuple(keep_clear))
    out = ink.rect("water", box.x, box.water, box.width, box.base - box.water)
    out += ripple(ink, box.x, box.right, box.water)
    out += ink.path(wall, _open_top(box, 8 if kind == TANK else 5))
    if kind == TANK:
        out += _shoal(ink, box) + (_bubbles(ink, box) if air else "")
    elif kind == STATIC_MEDIA:
        out += _still_media(ink, seed, box)
    elif kind == MOVING_BED:
        out += _wheels(ink, seed, box)
    elif air:
        out += _bubbles(ink, box)
    return out


def _open_top(box: Box, corner: float) -> str:
    x, right, base = box.x, box.right, box.base
    return (
        f"M{number(x)} {number(box.top)}V{number(base - corner)}Q{number(x)} {number(base)} "
        f"{number(x + corner)} {number(base)}H{number(right - corner)}Q{number(right)} "
        f"{number(base)} {number(right)} {number(base - corner)}V{number(box.top)}"
    )


def _cone(ink: Ink, wall: str, box: Box) -> str:
    shoulder = box.top + (box.base - box.top) * 0.55
    middle = box.centre
    sides = f"V{number(shoulder)}L{number(middle + 6)} {number(box.base)}H{number(middle - 6)}"
    water = (
        f"M{number(box.x)} {number(box.water)}H{number(box.right)}{sides}"
        f"L{number(box.x)} {number(shoulder)}Z"
    )
    walls = (
        f"M{number(box.x)} {number(box.top)}V{number(shoulder)}L{number(middle - 6)} "
        f"{number(box.base)}H{number(middle + 6)}L{number(box.right)} {number(shoulder)}"
        f"V{number(box.top)}"
    )
    out = (
        ink.path("water", water) + ripple(ink, box.x, box.right, box.water) + ink.path(wall, walls)
    )
    for dx, dy in ((-7, 12), (1, 8), (6, 16), (-3, 20), (2, 26)):
        out += ink.circle("solid", middle + dx, box.base - dy, 1.2)
    return out + ink.path("thin2", f"M{number(middle)} {number(box.base)}v8")


def _shoal(ink: Ink, box: Box) -> str:
    deep = box.base - box.water
    if deep < 40:
        return fish(ink, box.centre, box.water + deep / 2, 1.0)
    out = fish(ink, box.x + box.width * 0.3, box.water + deep * 0.42, 1.25)
    if box.width > 70:
        out += fish(ink, box.x + box.width * 0.6, box.water + deep * 0.64, 1.2, left=True)
    return out + fish(ink, box.x + box.width * 0.42, box.water + deep * 0.85, 1.0)


def _bubbles(ink: Ink, box: Box) -> str:
    x, base = box.right - 22, box.base - 12
    out = ink.path("thin2", f"M{number(x)} {number(base)}v-14m5 14v-18m-10 18v-8")
    for dx, dy, radius in ((0, 24, 2.2), (-5, 36, 2.6), (3, 48, 2.0), (-2, 60, 2.4), (2, 72, 2.0)):
        if base - dy > box.water + 6:
            out += ink.circle("thin", x + dx, base - dy, radius)
    return out


def _still_media(ink: Ink, seed: str, box: Box) -> str:
    chance, out, row = scatter(seed), "", 0
    y = box.water + 16
    while y < box.base - 5:
        x = box.x + 9 + (5 if row % 2 else 0)
        while x < box.right - 5:
            out += ink.circle(
                "thin", x + _between(chance, -1.6, 1.6), y + _between(chance, -1.3, 1.3), 3.1
            )
            x += 12
        y, row = y + 11, row + 1
    return out


def _wheels(ink: Ink, seed: str, box: Box) -> str:
    chance, out = scatter(seed), ""
    count = round((box.width - 20) * (box.base - box.water - 34) / 250)
    for _ in range(max(count, 3)):
        x = _between(chance, box.x + 8, box.right - 8)
        y = _between(chance, box.water + 10, box.base - 22)
        out += ink.circle("thin", x, y, 3.2) + ink.line("thin", x - 3, y, x + 3, y)
    out += ink.line("wall", box.x + 14, box.base - 6, box.right - 14, box.base - 6)
    x = box.x + 20
    while x < box.right - 18:
        out += ink.circle("thin", x, box.base - 12, 1.6)
        x += 15
    return out


def _tray(
    ink: Ink, wall: str, kind: str, seed: str, box: Box, keep_clear: tuple[float, ...]
) -> str:
    out = ink.rect("ground", box.x, box.top, box.width, box.base - box.top)
    out += ink.rect("water", box.x, box.water, box.width, box.base - box.water)
    if kind == GRAVEL_BED:
        out += _stones(ink, seed, box)
        ground = box.water - 10
    else:
        out += ripple(ink, box.x, box.right, box.water)
        ground = box.water
        if kind == RAFT:
            out += ink.rect("hollow", box.x + 4, box.water - 1, box.width - 8, 8)
    out += ink.path(wall, _open_top(box, 1 if kind == GRAVEL_BED else 4))
    return out + _plants(ink, box, ground, 1.05 if kind == GRAVEL_BED else 0.9, keep_clear)


def _stones(ink: Ink, seed: str, box: Box) -> str:
    chance, out, row = scatter(seed), "", 0
    y = box.water - 4
    while y < box.base - 3:
        x = box.x + 6 + (4 if row % 2 else 0)
        while x < box.right - 4:
            radius = (1.3, 1.8, 2.3)[min(int(next(chance) * 3), 2)]
            jump_x, jump_y = _between(chance, -2.4, 2.4), _between(chance, -2, 2)
            out += ink.circle("thin", x + jump_x, y + jump_y, radius)
            x += 10
        y, row = y + 8, row + 1
    return out


def _plants(ink: Ink, box: Box, ground: float, size: float, keep_clear: tuple[float, ...]) -> str:
    out, room = "", box.width - 24
    count = max(2, int(room // 23))
    for place in range(count):
        x = box.x + 14 + (room - 4) * place / (count - 1)
        if all(abs(x - clear) > 14 for clear in keep_clear):
            out += sprig(ink, x, ground, size)
    return out


def legs(ink: Ink, box: Box, ground: float, *, tray: bool) -> str:
    """The stand between a vessel and the ground, where there is room for one."""
    if ground - box.base < 4:
        return ""
    inset = 8 if tray else 0
    return ink.path(
        "wall",
        f"M{number(box.x + inset)} {number(box.base)}V{number(ground)}"
        f"M{number(box.right - inset)} {number(box.base)}V{number(ground)}",
    )


def fitting(ink: Ink, kind: str, box: Box, place: int) -> str:
    """A fitting in or on its vessel: heater, probe, siphon, shade; others are drawn on the pipes."""
    x = box.right - 12 - 12 * place
    if kind == "heater":
        top = box.water - 8
        return ink.path("wall", f"M{number(x)} {number(top)}v30m0 0l-3 3l6 4l-6 4l6 4")
    if kind == "probe":
        top = box.water - 12
        return ink.path("thin", f"M{number(x)} {number(top)}v26") + ink.circle(
            "solid", x, top + 28, 2.4
        )
    if kind == "siphon":
        x, top = box.right - 16, box.water - 8
        return ink.rect("hollow", x - 6, top, 12, box.base - top - 3) + ink.line(
            "thin", x, top + 6, x, box.base + 8
        )
    if kind == "shade":
        y, left = box.top - 9, box.x + box.width * 0.45
        return ink.path(
            "wall",
            f"M{number(left)} {number(y)}L{number(box.right + 4)} {number(y - 5)}"
            f"M{number(box.right)} {number(y - 4)}V{number(box.top)}",
        )
    return ""
