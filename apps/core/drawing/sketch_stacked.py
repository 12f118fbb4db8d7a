"""The flow sketch stacked downwards for a phone: one vessel a row, its name and values beside it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from django.utils.translation import gettext as _

from apps.core.drawing.ink import Ink, Palette, number
from apps.core.drawing.measure import text_width, wrap
from apps.core.drawing.sketch_graph import LoopPlan, Pipe, plan
from apps.core.drawing.sketch_model import (
    AIR_PUMP,
    PUMPED,
    SketchComponent,
    SketchLoop,
    SketchValue,
    loop_caption,
)
from apps.core.drawing.sketch_parts import (
    TRAYS,
    Box,
    arrow,
    fitting,
    one_way_mark,
    pump_mark,
    vessel,
)
from apps.core.drawing.sketch_pipes import pipe_role
from apps.core.drawing.sketch_wide import value_line

WIDTH = 320.0
_TEXT = 16.0
_LINE = 21.0
_BOX = 84.0
_RAIL = 10.0
_BETWEEN = 26.0


@dataclass(slots=True)
class _Row:
    part: SketchComponent
    loop: str
    fitted: tuple[SketchComponent, ...]
    box: Box
    lines: list[tuple[str, str]]
    top: float
    height: float


@dataclass(frozen=True, slots=True)
class _Rail:
    pipe: Pipe
    first: int
    final: int
    column: int


def draw_stacked(
    loops: Sequence[SketchLoop], *, title: str, palette: Palette | None, locale: str | None
) -> str:
    """One loop beneath the other, 320 px wide, every text 16 px."""
    ink, drawn = Ink(palette), plan(loops)
    pipes = [*(p for part in drawn.loops for p in part.pipes), *drawn.crossing]
    order = [(v.id, part.loop.id) for part in drawn.loops for v in part.vessels]
    place = {name: index for index, (name, _home) in enumerate(order)}
    straight = [p for p in pipes if _is_straight(p, place, order)]
    rails = _rails([p for p in pipes if p not in straight], place)
    left = 14 + _RAIL * (1 + max((rail.column for rail in rails), default=-1))
    body, y, rows = "", 0.0, []
    for part in drawn.loops:
        heading, y = _heading(ink, part.loop, left, y, locale)
        body += heading
        for component in part.vessels:
            row = _row(component, part, pipes, straight, drawn.loops, left, y)
            rows.append(row)
            y += row.height
        y += 18
    for row in rows:
        body += _draw(ink, row)
    body += "".join(
        _straight(ink, rows[place[p.source]], rows[place[p.target]], p) for p in straight
    )
    body += "".join(_draw_rail(ink, rows, rail) for rail in rails)
    return ink.svg(WIDTH, max(y - 10, 40), body, title=title, kind="sketch-svg")


def _is_straight(pipe: Pipe, place: dict[str, int], order: Sequence[tuple[str, str]]) -> bool:
    start, end = place[pipe.source], place[pipe.target]
    return end == start + 1 and order[start][1] == order[end][1] and pipe.kind != PUMPED


def _rails(pipes: Sequence[Pipe], place: dict[str, int]) -> list[_Rail]:
    """A column for each pipe that passes over rows; pipes that overlap take different ones."""
    taken: list[list[tuple[int, int]]] = []
    rails = []
    for pipe in sorted(pipes, key=lambda p: abs(place[p.source] - place[p.target])):
        low, high = sorted((place[pipe.source], place[pipe.target]))
        column = next(
            (
                index
                for index, spans in enumerate(taken)
                if all(high < a or low > b for a, b in spans)
            ),
            len(taken),
        )
        if column == len(taken):
            taken.append([])
        taken[column].append((low, high))
        rails.append(_Rail(pipe, place[pipe.source], place[pipe.target], column))
    return rails


def _heading(
    ink: Ink, loop: SketchLoop, x: float, y: float, locale: str | None
) -> tuple[str, float]:
    out = ink.text("text", x, y + 20, loop.name, size=18, weight=600, serif=True)
    y += 26
    for line in wrap(loop_caption(loop, locale), WIDTH - x, _TEXT):
        if line:
            y += _LINE
            out += ink.text("text2", x, y - 4, line, size=_TEXT)
    return out, y + 14


def _row(
    part: SketchComponent,
    loop: LoopPlan,
    pipes: Sequence[Pipe],
    straight: Sequence[Pipe],
    loops: Sequence[LoopPlan],
    left: float,
    y: float,
) -> _Row:
    names = {v.id: v.name for each in loops for v in each.vessels}
    room = WIDTH - left - _BOX - 16
    lines = [("name", text) for text in wrap(part.name, room, _TEXT, weight=600)]
    if part.size_text:
        lines += [("note", text) for text in wrap(part.size_text, room, _TEXT)]
    if part.faulty:
        lines.append(("pen", _("faulty")))
    hung = loop.fitted.get(part.id, ())
    lines += [("pen", _("%(name)s: faulty") % {"name": f.name}) for f in hung if f.faulty]
    for pipe in pipes:
        if pipe.source == part.id and (pipe not in straight or pipe.label):
            onward = _("to %(vessel)s") % {"vessel": names[pipe.target]}
            text = f"{onward}, {pipe.label}" if pipe.label else onward
            lines += [("note", line) for line in wrap(text, room, _TEXT)]
    value_lines = sum(len(_value_lines(value, room)) for value in part.values)
    height = max(_LINE * (len(lines) + value_lines) + 8, 74.0) + _BETWEEN
    deep = 40.0 if part.kind in TRAYS else 62.0
    rim = 20.0 if part.kind in TRAYS else 12.0
    top = y + (18 if part.kind in TRAYS else 4)
    box = Box(left, _BOX, top, top + rim, top + rim + deep - 12)
    return _Row(part, loop.loop.id, hung, box, lines, y, height)


def _value_lines(value: SketchValue, room: float) -> list[str]:
    """The words after the figure: on its line if they fit, else the label on a line before it."""
    tail = " ".join(filter(None, (value.unit, value.label)))
    figure = 30 + text_width(value.figure, _TEXT, weight=600)
    if figure + text_width(tail, _TEXT) <= room:
        return [tail]
    return [value.label, value.unit]


def _draw(ink: Ink, row: _Row) -> str:
    part, box = row.part, row.box
    air = any(f.kind == AIR_PUMP for f in row.fitted)
    out = vessel(
        ink, part.kind, part.id, box, faulty=part.faulty, air=air, keep_clear=(box.centre,)
    )
    inside = [f for f in row.fitted if f.kind in {"heater", "probe", "siphon"}]
    for place, part_in in enumerate(inside[:2]):
        out += fitting(ink, part_in.kind, box, place)
    x, y = box.right + 16, row.top + 16.0
    roles = {"name": "text", "note": "text2", "pen": "text-pen"}
    for kind, text in row.lines:
        weight = 400 if kind == "note" else 600
        out += ink.text(roles[kind], x, y, text, size=_TEXT, weight=weight)
        y += _LINE
    for value in part.values:
        drawn, y = _draw_value(ink, value, x, y)
        out += drawn
    return out


def _draw_value(ink: Ink, value: SketchValue, x: float, y: float) -> tuple[str, float]:
    lines = _value_lines(value, WIDTH - x)
    out = ""
    if len(lines) == 2:
        out += ink.text("text2", x, y, lines[0], size=_TEXT)
        y += _LINE
    drawn = value_line(
        ink, value if len(lines) == 1 else replace(value, label=""), x, y, small=_TEXT
    )
    return out + drawn, y + _LINE


def _straight(ink: Ink, start: _Row, end: _Row, pipe: Pipe) -> str:
    x, tip = start.box.centre, end.box.top + (2 if end.part.kind not in TRAYS else -2)
    data = f"M{number(x)} {number(start.box.base)}V{number(tip - 8)}"
    out = ink.path(pipe_role(pipe), data) + arrow(ink, x, tip, "d")
    return out + (one_way_mark(ink, x, (start.box.base + tip) / 2 - 4) if pipe.one_way else "")


def _draw_rail(ink: Ink, rows: Sequence[_Row], rail: _Rail) -> str:
    start, end = rows[rail.first].box, rows[rail.final].box
    x = 6 + _RAIL * rail.column
    leave = start.base - 12
    enter = end.water + 8 if end.water + 8 < end.base - 4 else end.base - 6
    from_x = start.x + (18 if rail.pipe.kind == PUMPED else 0)
    data = f"M{number(from_x)} {number(leave)}H{number(x)}V{number(enter)}H{number(end.x - 7)}"
    out = ink.path(pipe_role(rail.pipe), data) + arrow(ink, end.x - 1, enter, "r")
    if rail.pipe.kind == PUMPED:
        faulty = any(f.faulty for f in rail.pipe.through)
        out += pump_mark(ink, start.x + 18, leave - 2, faulty=faulty)
    up = enter < leave
    out += arrow(ink, x, (leave + enter) / 2, "u" if up else "d")
    return out
