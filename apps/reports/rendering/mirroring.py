"""Grids that turn round with the writing: WeasyPrint 70 sets their columns from left to right always.

Its tables, flexible boxes and columns follow the direction; what is missing is added here after the
layout of each grid. A release that does it by itself shows in tests/reports/test_directions.py.
"""

from functools import wraps
from typing import Any


def mirror_grids() -> None:
    """Let WeasyPrint mirror its grids; a second call changes nothing."""
    from weasyprint.layout import block

    laid_out = block.grid_layout
    if hasattr(laid_out, "__wrapped__"):
        return

    @wraps(laid_out)
    def mirrored(*args: Any, **more: Any) -> Any:
        answer = laid_out(*args, **more)
        grid = answer[0]
        if grid is not None and grid.style["direction"] == "rtl":
            for child in grid.children:
                before = child.position_x - grid.content_box_x()
                child.translate(grid.width - child.margin_width() - 2 * before, 0)
        return answer

    block.grid_layout = mirrored
