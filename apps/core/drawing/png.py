"""Raster copies of drawings, for mail programs that show no SVG."""

from __future__ import annotations

from pathlib import Path

import resvg_py

from apps.core.drawing.ink import SANS, SERIF

_FONTS = Path(__file__).resolve().parent.parent / "fonts"


def svg_png(svg: str, scale: int = 2) -> bytes:
    """A drawing made with `palette=PRINT` as PNG on white, `scale` times its size.

    Only our own faces are known to the rasteriser, so that the same drawing looks the same on
    every machine. Raises ValueError for a drawing that relies on the style sheet (its colours
    would be lost), for one that does not parse, and for a scale outside 1 to 6.
    """
    if not 1 <= scale <= 6:
        raise ValueError("the scale must lie between 1 and 6")
    if ' class="' in svg:
        raise ValueError("draw with palette=PRINT before rasterising")
    data = resvg_py.svg_to_bytes(
        svg_string=svg,
        background="#ffffff",
        skip_system_fonts=True,
        font_files=sorted(str(path) for path in _FONTS.glob("*.ttf")),
        font_family=SANS,
        sans_serif_family=SANS,
        serif_family=SERIF,
        zoom=scale,
    )
    return bytes(data)
