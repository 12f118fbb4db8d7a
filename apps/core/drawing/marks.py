"""Small marks that stand beside their word: judgements, the urgency gauge, hold, sync, masthead.

A mark is ornament to a reader who cannot see it (`aria-hidden`), since its word always stands.
"""

from __future__ import annotations

from collections.abc import Callable

from django.utils.safestring import SafeString

from apps.core.drawing.ink import Ink, Palette
from apps.core.drawing.shapes import (
    HARMFUL,
    IN_BAND,
    MEASURE_AGAIN,
    NEAR_EDGE,
    OUT_OF_BAND,
    check_word,
    diamond,
)

NOW, TODAY, WITHIN_3_DAYS = "now", "today", "within_3_days"
NEXT_VISIT, GOOD_TO_KNOW = "next_visit", "good_to_know"
URGENCIES = (NOW, TODAY, WITHIN_3_DAYS, NEXT_VISIT, GOOD_TO_KNOW)
_GAUGE_LEVEL = {NOW: 4, TODAY: 3, WITHIN_3_DAYS: 2, NEXT_VISIT: 1, GOOD_TO_KNOW: 0}


def _in_band(ink: Ink) -> str:
    return (
        ink.line("base", 1.5, 9, 16.5, 9)
        + ink.line("tick", 2.5, 4, 2.5, 14)
        + ink.line("tick", 15.5, 4, 15.5, 14)
        + ink.circle("solid", 9, 9, 4.2)
    )


def _near_edge(ink: Ink) -> str:
    return (
        ink.line("base", 1.5, 9, 16.5, 9)
        + ink.line("tick", 15.5, 3, 15.5, 15)
        + ink.circle("solid", 10.6, 9, 4.2)
    )


def _out_of_band(ink: Ink) -> str:
    return (
        ink.line("base", 1, 9, 17, 9)
        + ink.line("tick", 3, 3, 3, 15)
        + ink.path("solid-pen", diamond(11.5, 9, 6))
    )


def _harmful(ink: Ink) -> str:
    return (
        ink.rect("solid-pen", 1.5, 1.5, 15, 15)
        + ink.rect("on-pen", 8, 4.2, 2, 6)
        + ink.rect("on-pen", 8, 11.8, 2, 2)
    )


def _measure_again(ink: Ink) -> str:
    return (
        ink.circle("dash", 9, 9, 6.6)
        + ink.path("tick", "M7 7.4C7 5.2 11 5.2 11 7.5C11 9 9 9 9 10.6")
        + ink.circle("solid", 9, 12.8, 0.9)
    )


_JUDGEMENT_MARKS: dict[str, Callable[[Ink], str]] = {
    IN_BAND: _in_band,
    NEAR_EDGE: _near_edge,
    OUT_OF_BAND: _out_of_band,
    HARMFUL: _harmful,
    MEASURE_AGAIN: _measure_again,
}


def mark_body(ink: Ink, word: str) -> str:
    """The elements of a judgement mark on a field of 18 x 18, to be placed in another drawing."""
    return _JUDGEMENT_MARKS[check_word(word)](ink)


def _mark(ink: Ink, width: float, height: float, body: str) -> SafeString:
    return SafeString(ink.svg(width, height, body, kind="mk"))


def judgement_mark(word: str, *, palette: Palette | None = None) -> SafeString:
    """The mark of a judgement, 18 x 18 px. Raises ValueError for an unknown word."""
    ink = Ink(palette)
    return _mark(ink, 18, 18, mark_body(ink, word))


def urgency_gauge(code: str, *, palette: Palette | None = None) -> SafeString:
    """A water gauge of four bars between two staves: how far the water stands up, 16 x 17 px.

    Raises ValueError for an unknown urgency.
    """
    if code not in _GAUGE_LEVEL:
        raise ValueError(f"{code!r} is not an urgency: {', '.join(URGENCIES)}")
    ink, level = Ink(palette), _GAUGE_LEVEL[code]
    full, stave = ("solid-pen", "pen") if code == NOW else ("solid", "thin")
    body = ""
    for bar in range(4):
        y = 12.6 - 4 * bar
        if bar < level:
            body += ink.rect(full, 3, y, 10, 2.6)
        else:
            body += ink.rect("edge", 3.5, y + 0.5, 9, 1.6)
    return _mark(ink, 16, 17, body + ink.path(stave, "M1 0.5V16.5M15 0.5V16.5"))


def hold_mark(*, palette: Palette | None = None) -> SafeString:
    """A sluice gate shut across the water: a hold, 18 x 18 px."""
    ink = Ink(palette)
    body = (
        ink.path("pen", "M3.5 1.5V16.5M14.5 1.5V16.5")
        + ink.rect("solid-pen", 5.6, 4, 6.8, 12.5)
        + ink.path("pen", "M9 4V1.2M6 1.2H12")
    )
    return _mark(ink, 18, 18, body)


def tick_mark(*, palette: Palette | None = None) -> SafeString:
    """A tick: done, 18 x 18 px."""
    ink = Ink(palette)
    return _mark(ink, 18, 18, ink.path("run", "M3 9.5L7.5 14L15.5 4.5"))


def sent_mark(*, sent: bool, palette: Palette | None = None) -> SafeString:
    """The outline of a phone with a tick (sent) or an arrow into it (kept on the phone), 20 x 18."""
    ink = Ink(palette)
    inside = "M6.5 9L9.2 11.8L14 6" if sent else "M10 5V12M7 9.2L10 12.2L13 9.2"
    return _mark(ink, 20, 18, ink.rect("wall", 3, 1, 14, 16) + ink.path("run", inside))


def search_mark(*, palette: Palette | None = None) -> SafeString:
    """A lens, 16 x 16 px."""
    ink = Ink(palette)
    return _mark(
        ink, 16, 16, ink.circle("wall", 6.5, 6.5, 4.6) + ink.line("wall", 10, 10, 14.5, 14.5)
    )


def masthead_mark(*, palette: Palette | None = None) -> SafeString:
    """A tiny water line, 34 x 18 px: the sign of the house."""
    ink = Ink(palette)
    body = (
        ink.rect("band", 11, 1, 12, 16)
        + ink.line("base", 1, 9, 33, 9)
        + ink.line("tick", 11, 1, 11, 17)
        + ink.line("tick", 23, 1, 23, 17)
        + ink.circle("last", 6, 9, 3.6)
        + ink.circle("solid", 17, 9, 4.6)
    )
    return _mark(ink, 34, 18, body)


def stamp_mark(*, palette: Palette | None = None) -> SafeString:
    """The square of the full-width stamp, cut the other way round, 30 x 30 px."""
    ink = Ink(palette)
    body = (
        ink.rect("on-pen", 2, 2, 26, 26)
        + ink.rect("solid-pen", 13.4, 7, 3.4, 11)
        + ink.rect("solid-pen", 13.4, 20.6, 3.4, 3.4)
    )
    return _mark(ink, 30, 30, body)


def empty_line(*, palette: Palette | None = None) -> SafeString:
    """A water line without a value yet, 190 x 30 px: for a page that has nothing to show."""
    ink = Ink(palette)
    body = ink.path("edge-dash", "M4 15H186") + ink.path("tick", "M72 5V25M118 5V25")
    return SafeString(ink.svg(190, 30, body, kind="ornament"))


def lost_line(*, palette: Palette | None = None) -> SafeString:
    """A mark that left its line, 190 x 44 px: for a page that did not come out right."""
    ink = Ink(palette)
    body = (
        ink.line("base", 4, 15, 130, 15)
        + ink.path("tick", "M72 5V25M118 5V25")
        + ink.path("edge-dash", "M130 15C150 15 156 32 176 35")
        + ink.circle("last", 178, 36, 5)
    )
    return SafeString(ink.svg(190, 44, body, kind="ornament"))
