"""A technician's day on a ruler: the stops, the driving between them, when somebody may come."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass

from django.utils.safestring import SafeString

from apps.core.drawing.ink import Ink, Palette
from apps.core.drawing.measure import text_width

Where = Callable[[float], float]
HOUR_PX = 76
LEFT = 12
ROW = 36
"""Height of a row of names above the blocks; there is a second where names would run together."""
BLOCK_TOP, BLOCK_HEIGHT = 44, 18
AXIS_Y = BLOCK_TOP + BLOCK_HEIGHT + 6
EARLIEST, LATEST = 8, 17
"""Hours that each ruler shows at least, so that days stand under each other."""


@dataclass(frozen=True)
class Block:
    """A stop: times in hours of the day; `done` is the share that is past; `open_hours` spans."""

    name: str
    word: str
    start: float
    end: float
    done: float = 0
    open_hours: tuple[tuple[float, float], ...] = ()


@dataclass(frozen=True)
class Rest:
    """Lunch: hours of the day."""

    start: float
    end: float


def round_ruler(
    *,
    blocks: Sequence[Block],
    leave: float,
    back: float,
    title: str,
    rest: Rest | None = None,
    now: float | None = None,
    now_word: str = "",
    palette: Palette | None = None,
) -> SafeString:
    """A day from `leave` to `back` [hours of the day], filled where past, outlined where to come.

    Raises ValueError where a block ends before it begins.
    """
    if any(block.end < block.start for block in blocks):
        raise ValueError("a block ends before it begins")
    ink = Ink(palette)
    times = [leave, back, *(edge for block in blocks for edge in (block.start, block.end))]
    first = min(EARLIEST, math.floor(min(times)))
    last = max(LATEST, math.ceil(max(times)))

    def x(hour: float) -> float:
        return LEFT + (hour - first) * HOUR_PX

    body = "".join(_hours(ink, x, block, n, first, last) for n, block in enumerate(blocks))
    body += _driving(ink, x, blocks, leave, back)
    if rest is not None:
        body += ink.rect(
            "hollow-still", x(rest.start), BLOCK_TOP + 4, x(rest.end) - x(rest.start), 10
        )
    body += "".join(_block(ink, x, block) for block in blocks)
    names, rows = _names(ink, x, blocks)
    body += names + _axis(ink, x, first, last)
    height = AXIS_Y + 32.0
    if now is not None and first <= now <= last:
        body += ink.line("pen", x(now), BLOCK_TOP - 6, x(now), AXIS_Y + 20)
        body += ink.text(
            "text-pen", x(now), AXIS_Y + 34, now_word, size=13, anchor="middle", weight=600
        )
        height += 8
    top = (rows - 1) * ROW
    body = f'<g transform="translate(0 {top})">{body}</g>'
    return SafeString(ink.svg(x(last) + 60, height + top, body, title=title, kind="ruler"))


def _block(ink: Ink, x: Where, block: Block) -> str:
    left, right = x(block.start), x(block.end)
    past = (right - left) * min(max(block.done, 0), 1)
    body = ink.rect("last", left, BLOCK_TOP, right - left, BLOCK_HEIGHT)
    return body + (ink.rect("solid", left, BLOCK_TOP, past, BLOCK_HEIGHT) if past else "")


def _driving(ink: Ink, x: Where, blocks: Sequence[Block], leave: float, back: float) -> str:
    y = BLOCK_TOP + BLOCK_HEIGHT / 2
    edges = [leave, *(edge for block in blocks for edge in (block.start, block.end)), back]
    gaps = zip(edges[::2], edges[1::2], strict=True)
    return "".join(ink.line("dash", x(a), y, x(b), y) for a, b in gaps if b > a)


def _hours(ink: Ink, x: Where, block: Block, n: int, first: int, last: int) -> str:
    """The hours at which somebody may come, under the axis in two lanes that alternate."""
    y = AXIS_Y + 1 + 5 * (n % 2)
    out = ""
    for opens, closes in block.open_hours:
        a, b = max(opens, first), min(closes, last)
        if b > a and b >= block.start and a <= block.end:
            out += ink.rect("band", x(a), y, x(b) - x(a), 4)
            out += ink.line("thin", x(a), y - 1, x(a), y + 5) + ink.line(
                "thin", x(b), y - 1, x(b), y + 5
            )
    return out


def _names(ink: Ink, x: Where, blocks: Sequence[Block]) -> tuple[str, int]:
    """Return the names, and how many rows they take."""
    out, ends = "", [-1.0, -1.0]
    for block in blocks:
        left = x(block.start)
        wide = max(text_width(block.name, 15, weight=600, serif=True), text_width(block.word, 13))
        # the upper row where it would run into its neighbour in the lower one
        row = 0 if left >= ends[0] else 1
        ends[row] = left + wide + 12
        y = BLOCK_TOP - 28 - ROW * row
        out += ink.text("text", left, y, block.name, size=15, weight=600, serif=True)
        out += ink.text("text2", left, y + 16, block.word, size=13)
        if row:
            out += ink.line("hair", left, y + 20, left, BLOCK_TOP)
    return out, 1 + (ends[1] > 0)


def _axis(ink: Ink, x: Where, first: int, last: int) -> str:
    out = ink.line("base", x(first), AXIS_Y, x(last), AXIS_Y)
    for hour in range(first, last + 1):
        out += ink.line("tick", x(hour), AXIS_Y, x(hour), AXIS_Y + 6)
        out += ink.text("text2", x(hour), AXIS_Y + 26, f"{hour % 24:02}", size=13, anchor="middle")
    return out
