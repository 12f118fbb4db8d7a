"""A sparkline: the last readings against their band, small enough for a table cell."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence

from django.utils.safestring import SafeString

from apps.core.drawing.ink import Ink, Palette, number
from apps.core.drawing.scale import BandLike
from apps.core.drawing.shapes import IN_BAND, check_word, judgement_shape


def value_range(
    values: Sequence[float | None], limits: Sequence[float | None]
) -> tuple[float, float]:
    """Lowest and highest of values and limits, with a twelfth of air on both sides.

    Without the limits a small wobble would look like a storm, so they always count.
    Raises ValueError when a value is not finite.
    """
    known = [float(v) for v in (*values, *limits) if v is not None]
    if any(not math.isfinite(v) for v in known):
        raise ValueError("only finite values can be drawn")
    if not known:
        return 0.0, 1.0
    low, high = min(known), max(known)
    air = (high - low) / 12 or abs(high) / 12 or 0.5
    return low - air, high + air


def broken_line(points: Sequence[tuple[float, float] | None]) -> str:
    """Path data through points, broken where one is missing; a lone point becomes a short dash."""
    data, down = "", False
    for index, point in enumerate(points):
        if point is None:
            down = False
            continue
        x, y = point
        data += f"{'L' if down else 'M'}{number(x)} {number(y)}"
        after = points[index + 1] if index + 1 < len(points) else None
        if not down and after is None:
            data += f"h{number(2)}"
        down = True
    return data


def sparkline(
    *,
    values: Sequence[float | None],
    band: BandLike,
    word: str = IN_BAND,
    width: float = 106,
    height: float = 34,
    title: str,
    positions: Sequence[float] | None = None,
    palette: Palette | None = None,
) -> SafeString:
    """Readings in their order against the good band; None is a gap.

    `positions` (0 to 1, one a value) places them in time; without it they stand evenly. The last
    value has the shape of its judgement. Raises ValueError for an unknown judgement, a value that
    is not finite, or positions that do not match.
    """
    check_word(word)
    if positions is not None and len(positions) != len(values):
        raise ValueError("one position for each value")
    ink = Ink(palette)
    low, high = value_range(values, (band.good_low, band.good_high))

    def y(value: float) -> float:
        return height - 3 - (height - 6) * (value - low) / (high - low)

    def x(index: int) -> float:
        share = positions[index] if positions is not None else index / max(len(values) - 1, 1)
        return 4 + (width - 12) * share

    body = _band(ink, band, y, width, height)
    points = [None if v is None else (x(i), y(v)) for i, v in enumerate(values)]
    data = broken_line(points)
    if data:
        body += ink.path("line", data)
    known = [point for point in points if point is not None]
    if known:
        body += judgement_shape(ink, word, *known[-1], size=0.75)
    return SafeString(ink.svg(width, height, body, title=title, kind="sp"))


def _band(
    ink: Ink, band: BandLike, y: Callable[[float], float], width: float, height: float
) -> str:
    top = y(band.good_high) if band.good_high is not None else 0.0
    bottom = y(band.good_low) if band.good_low is not None else height
    out = ""
    if band.good_low is not None or band.good_high is not None:
        out += ink.rect("band", 0, top, width, bottom - top)
    if band.good_high is not None:
        out += ink.line("thin", 0, top, width, top)
    if band.good_low is not None:
        out += ink.line("thin", 0, bottom, width, bottom)
    return out
