"""The shapes of judgement: one set for water lines, charts and marks.

In the band and near its edge a circle, out of the band a diamond, harmful a square, measure again
a dashed ring. The shape carries the state by itself; colour only repeats it.
"""

from __future__ import annotations

from apps.core.drawing.ink import Ink, number

IN_BAND = "in_band"
NEAR_EDGE = "near_edge"
OUT_OF_BAND = "out_of_band"
HARMFUL = "harmful"
MEASURE_AGAIN = "measure_again"
JUDGEMENTS = (IN_BAND, NEAR_EDGE, OUT_OF_BAND, HARMFUL, MEASURE_AGAIN)
PENNED = frozenset({OUT_OF_BAND, HARMFUL})


def check_word(word: str) -> str:
    """Return the word; raise ValueError for one that is not a judgement."""
    if word not in JUDGEMENTS:
        raise ValueError(f"{word!r} is not a judgement: {', '.join(JUDGEMENTS)}")
    return word


def diamond(x: float, y: float, half: float) -> str:
    """Path data of a diamond by its half diagonal [px]."""
    return (
        f"M{number(x)} {number(y - half)}L{number(x + half)} {number(y)}"
        f"L{number(x)} {number(y + half)}L{number(x - half)} {number(y)}Z"
    )


def judgement_shape(
    ink: Ink, word: str, x: float, y: float, *, hollow: bool = False, size: float = 1.0
) -> str:
    """The shape of one reading: hollow for last time's value, solid for today's."""
    state = "last" if hollow else "today"
    role = f"{state}-pen" if word in PENNED else state
    if word == MEASURE_AGAIN:
        return ink.circle("dash", x, y, 5 * size)
    if word == OUT_OF_BAND:
        return ink.path(role, diamond(x, y, (5.6 if hollow else 7.2) * size))
    if word == HARMFUL:
        half = (4.4 if hollow else 6.2) * size
        return ink.rect(role, x - half, y - half, 2 * half, 2 * half)
    return ink.circle(role, x, y, (4.4 if hollow else 5.6) * size)
