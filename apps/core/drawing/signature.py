"""A signature as it was drawn with a finger: lines through points from 0 to 1."""

from __future__ import annotations

from collections.abc import Sequence

from django.utils.safestring import SafeString

from apps.core.drawing.ink import Ink, Palette, number

Strokes = Sequence[Sequence[Sequence[float]]]
# the box on the phone is 640 by 220
WIDTH, HEIGHT = 240.0, 82.5


def signature_path(strokes: Strokes, width: float = WIDTH, height: float = HEIGHT) -> str:
    """Return path data through the points; a lone point becomes a short dash."""
    data = ""
    for stroke in strokes:
        for index, (x, y) in enumerate(stroke):
            data += f"{'L' if index else 'M'}{number(x * width)} {number(y * height)}"
        if len(stroke) == 1:
            data += "h1"
    return data


def signature(*, strokes: Strokes, title: str, palette: Palette | None = None) -> SafeString:
    """Draw a signature; `title` says whose it is and when, for who cannot see it."""
    ink = Ink(palette)
    path = signature_path(strokes)
    body = ink.path("line", path) if path else ""
    return SafeString(ink.svg(WIDTH, HEIGHT, body, title=title, kind="signature"))
