"""The flow sketch drawn wide: loops beside each other on a screen, a loop a row on paper."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field, replace

from apps.core.drawing.ink import Ink, Palette, Run, number
from apps.core.drawing.marks import mark_body
from apps.core.drawing.measure import text_width, wrap
from apps.core.drawing.shapes import PENNED
from apps.core.drawing.sketch_columns import (
    SIZES,
    Cell,
    Route,
    cells,
    routes,
    sketch_size,
)
from apps.core.drawing.sketch_graph import LoopPlan, Pipe, plan
from apps.core.drawing.sketch_levels import GROUND, Level, levels
from apps.core.drawing.sketch_model import AIR_PUMP, SketchLoop, SketchValue, loop_caption
from apps.core.drawing.sketch_parts import TRAYS, Box, arrow, fitting, legs, one_way_mark, vessel
from apps.core.drawing.sketch_pipes import (
    DEEP_STEP,
    LANE_STEP,
    LANE_TOP,
    PipeDrawer,
    crossing_path,
    lane_heights,
    pipe_role,
)

WIDE, PAPER = 1200.0, 864.0
_EDGE = 16.0
_TITLE_ROOM = 30.0
_PLAIN_GAP = 48.0
_HEAD_SPARE = 60.0
_STILL_ON_LINE = 64.0


@dataclass(slots=True)
class _LoopPicture:
    part: LoopPlan
    heights: dict[str, Level]
    ways: list[Route]
    cells: list[Cell]
    left: float
    right: float
    lanes: dict[str, float] = field(default_factory=dict)

    def cell(self, name: str) -> Cell:
        return next(c for c in self.cells if c.part.id == name)


@dataclass(slots=True)
class _Row:
    """Loops that stand on one ground line."""

    pictures: list[_LoopPicture]
    gaps: list[float]
    width: float
    crossing: Sequence[Pipe]
    names: dict[str, str]

    def home(self, name: str) -> int | None:
        for index, picture in enumerate(self.pictures):
            if any(c.part.id == name for c in picture.cells):
                return index
        return None


def draw_wide(
    loops: Sequence[SketchLoop], *, title: str, palette: Palette | None, locale: str | None
) -> str:
    """All loops beside each other, or a loop a row where they do not fit in 1200 px."""
    drawn = plan(loops)
    row = _row(drawn.loops, drawn.crossing, WIDE, locale)
    if row.width <= WIDE or len(drawn.loops) < 2:
        return _picture([row], title, palette, locale)
    return _rows(loops, WIDE, title, palette, locale)


def draw_rows(
    loops: Sequence[SketchLoop], *, title: str, palette: Palette | None, locale: str | None
) -> str:
    """A loop a row, 864 px wide: text stays legible at the width of an A4 page."""
    return _rows(loops, PAPER, title, palette, locale)


def _rows(
    loops: Sequence[SketchLoop],
    limit: float,
    title: str,
    palette: Palette | None,
    locale: str | None,
) -> str:
    drawn = plan(loops)
    rows = [_row([part], drawn.crossing, limit, locale) for part in drawn.loops]
    return _picture(rows, title, palette, locale)


def _picture(rows: Sequence[_Row], title: str, palette: Palette | None, locale: str | None) -> str:
    ink = Ink(palette)
    width = max((row.width for row in rows), default=320.0)
    body, y = "", 0.0
    for row in rows:
        inner, height = _draw_row(ink, row, width, locale)
        body += inner if not y else f'<g transform="translate(0 {number(y)})">{inner}</g>'
        y += height + 20
    return ink.svg(width, max(y - 20, 40), body, title=title, kind="sketch-svg")


def _row(
    parts: Sequence[LoopPlan], crossing: Sequence[Pipe], limit: float, locale: str | None
) -> _Row:
    """Lay out at the most generous size that fits."""
    row = _lay(parts, crossing, SIZES[0], locale)
    for size in SIZES[1:]:
        if row.width <= limit:
            break
        row = _lay(parts, crossing, size, locale)
    return row


def _lay(
    parts: Sequence[LoopPlan],
    crossing: Sequence[Pipe],
    size: tuple[float, float, float],
    locale: str | None,
) -> _Row:
    sizes = [sketch_size(v) for part in parts for v in part.vessels]
    largest = max(sizes, default=0.0)
    here = {v.id for part in parts for v in part.vessels}
    names = {v.id: part.loop.name for part in parts for v in part.vessels}
    coming = [p for p in crossing if p.target in here and p.source not in here]
    leaving = [p for p in crossing if p.source in here and p.target not in here]
    x = _EDGE + (_STILL_ON_LINE if coming else 0)
    pictures: list[_LoopPicture] = []
    gaps: list[float] = []
    for index, part in enumerate(parts):
        if index:
            gap = _gap(pictures[-1].part, part, crossing)
            gaps.append(pictures[-1].right + 20)
            x = pictures[-1].right + gap
        heights = levels(part, [p.target for p in crossing])
        ways = routes(part, heights)
        placed = cells(part, heights, ways, x=x, size=size, largest=largest)
        title = text_width(part.loop.name, 17, weight=600, serif=True)
        title += 12 + text_width(loop_caption(part.loop, locale), 13)
        right = max([x + title, *(cell.right for cell in placed)])
        start = _EDGE if not index else x
        pictures.append(_LoopPicture(part, heights, ways, placed, start, right))
    width = (pictures[-1].right if pictures else 300) + _EDGE
    width += max((_still_room(p) for p in leaving), default=0.0)
    return _Row(pictures, gaps, width, crossing, names)


def _still_room(pipe: Pipe) -> float:
    lines = wrap(pipe.label, 90, 13)
    return 44 + max((text_width(line, 13) for line in lines), default=0.0)


def _gap(left: LoopPlan, right: LoopPlan, crossing: Sequence[Pipe]) -> float:
    here = {v.id for v in left.vessels}, {v.id for v in right.vessels}
    shared = [p for p in crossing if p.source in here[0] and p.target in here[1]]
    widths = [text_width(line, 13) for p in shared for line in wrap(p.label, 70, 13)]
    return max([_PLAIN_GAP, *(52 + w for w in widths)])


def _draw_row(ink: Ink, row: _Row, width: float, locale: str | None) -> tuple[str, float]:
    drop = _headroom(row)
    for picture in row.pictures:
        for cell in picture.cells:
            box = cell.box
            cell.box = Box(box.x, box.width, box.top + drop, box.water + drop, box.base + drop)
    ground = GROUND + drop
    feet = [cell.foot(ground) for picture in row.pictures for cell in picture.cells]
    deep = max([ground + 40, *feet]) + 26
    body = ink.line("thin2", 8, ground, width - 8, ground)
    vessels = texts = pipes = ""
    digs = 0
    for picture in row.pictures:
        texts += _titles(ink, picture, locale)
        for cell in picture.cells:
            vessels += _draw_vessel(ink, picture, cell, ground)
            texts += _names(ink, cell, ground) + _values(ink, cell)
        drawer = PipeDrawer(
            ink,
            {c.part.id: c for c in picture.cells},
            [c.part.id for c in picture.cells],
            drop,
            deep + DEEP_STEP * digs,
        )
        pipes += drawer.draw(picture.ways, picture.lanes)
        digs += drawer.dug
    body += _turf(ink, row, ground, width)
    crossed, digs = _crossings(ink, row, width, deep, digs)
    foot = max([ground + 60, *(f + 8 for f in feet)])
    height = max(foot, deep + DEEP_STEP * (digs - 1) + 12) if digs else foot
    for x in row.gaps:
        body += ink.path("edge-dash", f"M{number(x)} 4V{number(height - 4)}")
    return body + vessels + pipes + crossed + texts, height


def _headroom(row: _Row) -> float:
    """How far everything must move down so that values clear lanes and titles."""
    need = -_HEAD_SPARE
    for picture in row.pictures:
        by_id = {c.part.id: c for c in picture.cells}
        picture.lanes = lane_heights(picture.ways, by_id)
        lanes = len(picture.lanes)
        floor = LANE_TOP + LANE_STEP * (lanes - 1) + 8 if lanes else _TITLE_ROOM
        for cell in picture.cells:
            top = cell.block_top if cell.part.values else cell.clear_top - 22
            need = max(need, floor - top)
    return need


def _turf(ink: Ink, row: _Row, ground: float, width: float) -> str:
    """Short strokes under the ground line, but not through a vessel that is sunk."""
    sunk = [
        (c.box.x - 4, c.box.right + 4) for p in row.pictures for c in p.cells if c.box.base > ground
    ]
    data, x = "", 14.0
    while x < width - 16:
        if not any(left < x + 7 and x < right for left, right in sunk):
            data += f"M{number(x)} {number(ground + 7)}L{number(x + 7)} {number(ground)}"
        x += 14
    return ink.path("hair", data)


def _titles(ink: Ink, picture: _LoopPicture, locale: str | None) -> str:
    name = picture.part.loop.name
    caption_x = picture.left + text_width(name, 17, weight=600, serif=True) + 12
    return ink.text("text", picture.left, 18, name, size=17, weight=600, serif=True) + ink.text(
        "text2", caption_x, 18, loop_caption(picture.part.loop, locale)
    )


def _draw_vessel(ink: Ink, picture: _LoopPicture, cell: Cell, ground: float) -> str:
    part, box = cell.part, cell.box
    fitted = picture.part.fitted.get(part.id, ())
    out = ""
    if box.base > ground:
        out += ink.rect("ground", box.x + 1, box.top, box.width - 2, box.base - box.top)
    shelf = cell.shelf + box.top - picture.heights[part.id].top if cell.shelf else ground
    out += legs(ink, box, shelf, tray=part.kind in TRAYS)
    out += vessel(
        ink,
        part.kind,
        part.id,
        box,
        faulty=part.faulty,
        air=any(f.kind == AIR_PUMP for f in fitted),
        keep_clear=cell.ports.values(),
    )
    inside = [f for f in fitted if f.kind in {"heater", "probe", "siphon", "shade"}]
    for place, part_in in enumerate(inside):
        out += fitting(ink, part_in.kind, box, place)
    return out


def _names(ink: Ink, cell: Cell, ground: float) -> str:
    box, part = cell.box, cell.part
    if cell.on_rack:
        runs = [Run("text", part.name, 15, 600), Run("text2", part.size_text, 13)]
        return ink.text_runs(box.centre, box.base + 20, runs, gap=8, anchor="middle")
    y, out = cell.label_y(ground), ""
    for line in cell.names:
        out += ink.text("text", box.centre, y, line, size=15, anchor="middle", weight=600)
        y += 17
    if part.size_text:
        out += ink.text("text2", box.centre, y, part.size_text, anchor="middle")
        y += 17
    for line in cell.warnings:
        out += ink.text("text-pen", box.centre, y, line, anchor="middle", weight=600)
        y += 17
    return out


def _values(ink: Ink, cell: Cell) -> str:
    out = ""
    for index, value in enumerate(cell.part.values):
        y = cell.values_foot - 12 - cell.value_step * (len(cell.part.values) - 1 - index)
        if cell.stacked and value.label:
            out += ink.text("text2", cell.slot, y - 18, value.label)
            out += value_line(ink, replace(value, label=""), cell.slot, y)
        else:
            out += value_line(ink, value, cell.slot, y)
    return out


def value_line(ink: Ink, value: SketchValue, x: float, y: float, *, small: float = 13) -> str:
    """A live value on one line: mark, figure, unit and label."""
    role = "text-pen" if value.word in PENNED else "text"
    mark = (
        f'<g transform="translate({number(x)} {number(y - 14)})">{mark_body(ink, value.word)}</g>'
    )
    tail = " ".join(filter(None, (value.unit, value.label)))
    runs = [Run(role, value.figure, 16, 600), Run("text2", tail, small)]
    return mark + ink.text_runs(x + 24, y, runs, gap=5)


def _crossings(ink: Ink, row: _Row, width: float, deep: float, digs: int) -> tuple[str, int]:
    out = ""
    for pipe in row.crossing:
        start, end = row.home(pipe.source), row.home(pipe.target)
        if start is not None and end is not None:
            drawn, dug = _between_loops(ink, row, pipe, (start, end), deep + DEEP_STEP * digs)
        elif start is not None:
            drawn, dug = _going(ink, row.pictures[start], pipe, width, deep + DEEP_STEP * digs)
        elif end is not None:
            drawn, dug = _coming(ink, row.pictures[end], pipe, deep + DEEP_STEP * digs)
        else:
            continue
        out, digs = out + drawn, digs + dug
    return out, digs


def _between_loops(
    ink: Ink, row: _Row, pipe: Pipe, loops: tuple[int, int], deep: float
) -> tuple[str, int]:
    source, target = row.pictures[loops[0]], row.pictures[loops[1]]
    start, end = source.cell(pipe.source), target.cell(pipe.target)
    beside = loops[1] == loops[0] + 1
    if beside and start is source.cells[-1] and end is target.cells[0]:
        turn = row.gaps[loops[0]]
        data, y, tip = crossing_path(start.box, end.box, turn)
        out = ink.path(pipe_role(pipe), data) + arrow(ink, end.box.x - 1, tip, "r")
        out += one_way_mark(ink, turn, y)
        return out + _stack(ink, pipe.label, turn + 12, y - 16), 0
    forward = end.box.x > start.box.x
    out_x, in_x = start.box.right - 12, end.box.x + 12
    data = (
        f"M{number(out_x)} {number(start.box.base)}V{number(deep)}H{number(in_x)}"
        f"V{number(end.box.base + 7)}"
    )
    out = ink.path(pipe_role(pipe), data) + arrow(ink, in_x, end.box.base + 1, "u")
    middle = (out_x + in_x) / 2
    out += arrow(ink, middle, deep, "r" if forward else "l")
    return out + ink.text("text2", middle + 14, deep - 7, pipe.label), 1


def _stack(ink: Ink, label: str, x: float, y: float) -> str:
    """A label in short lines that end above y."""
    lines = wrap(label, 70, 13) if label else []
    out = ""
    for index, line in enumerate(lines):
        out += ink.text("text2", x, y - 16 * (len(lines) - 1 - index), line)
    return out


def _going(
    ink: Ink, picture: _LoopPicture, pipe: Pipe, width: float, deep: float
) -> tuple[str, int]:
    start = picture.cell(pipe.source)
    box = start.box
    end = width - 10
    if start is picture.cells[-1]:
        y = min(box.water + 32, box.base - 8)
        mark_x = max(start.right, picture.right) + 20
        data = f"M{number(box.right)} {number(y)}H{number(end - 6)}"
        out = ink.path(pipe_role(pipe), data) + arrow(ink, end, y, "r")
        out += one_way_mark(ink, mark_x, y)
        return out + _stack(ink, pipe.label, mark_x - 8, y - 18), 0
    x = box.right - 12
    data = f"M{number(x)} {number(box.base)}V{number(deep)}H{number(end - 6)}"
    out = ink.path(pipe_role(pipe), data) + arrow(ink, end, deep, "r")
    return out + ink.text("text2", x + 14, deep - 7, pipe.label), 1


def _coming(ink: Ink, picture: _LoopPicture, pipe: Pipe, deep: float) -> tuple[str, int]:
    end = picture.cell(pipe.target)
    box = end.box
    if end is picture.cells[0]:
        y = min(box.water + 32, box.base - 8)
        data = f"M10 {number(y)}H{number(box.x - 7)}"
        return ink.path(pipe_role(pipe), data) + arrow(ink, box.x - 1, y, "r"), 0
    x = box.x + 12
    data = f"M10 {number(deep)}H{number(x)}V{number(box.base + 7)}"
    return ink.path(pipe_role(pipe), data) + arrow(ink, x, box.base + 1, "u"), 1
