"""A valve on its pipe, with the way that the water goes; words stand beside it, not in it."""

from __future__ import annotations

from django.utils.safestring import SafeString

from apps.core.drawing.ink import Ink, Palette, number
from apps.core.drawing.sketch_parts import arrow, valve_mark

WIDTH, HEIGHT = 84.0, 22.0


def valve(*, title: str, palette: Palette | None = None) -> SafeString:
    """Draw a pipe from start to end with a valve in its middle; `title` says it in words."""
    ink, y = Ink(palette), HEIGHT / 2
    body = ink.path("pipe", f"M2 {number(y)}H{number(WIDTH - 10)}")
    body += arrow(ink, WIDTH - 4, y, "r") + valve_mark(ink, WIDTH / 2 - 4, y)
    return SafeString(ink.svg(WIDTH, HEIGHT, body, title=title, kind="valve"))
