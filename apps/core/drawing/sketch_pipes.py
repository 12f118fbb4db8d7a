"""The pipes of a flow sketch: right angles only, each on a way that crosses no vessel."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from apps.core.drawing.ink import Ink, number
from apps.core.drawing.measure import text_width
from apps.core.drawing.sketch_columns import Cell, Route
from apps.core.drawing.sketch_graph import Pipe
from apps.core.drawing.sketch_levels import GROUND
from apps.core.drawing.sketch_model import BY_HAND, GRAVEL_BED, TIMER, VALVE
from apps.core.drawing.sketch_parts import (
    Box,
    arrow,
    one_way_mark,
    pump_mark,
    timer_mark,
    valve_mark,
)

LANE_TOP = 56.0
LANE_STEP = 24.0
DEEP_STEP = 24.0
_CRAWL_FIRST = 281.0
_CRAWL_STEP = 7.0


def pipe_role(pipe: Pipe) -> str:
    """Carried by hand is dashed: there is no pipe to look for."""
    return "pipe-hand" if pipe.kind == BY_HAND else "pipe"


@dataclass(slots=True)
class PipeDrawer:
    """Draws one loop's pipes; `drop` is how far everything under the lanes was moved down."""

    ink: Ink
    cells: Mapping[str, Cell]
    order: Sequence[str]
    drop: float
    deep_from: float
    crawled: int = 0
    dug: int = 0

    @property
    def ground(self) -> float:
        return GROUND + self.drop

    def gap(self, name: str, *, after: bool) -> float:
        """An x just beside a vessel, between its column and the next."""
        here = self.order.index(name)
        cell = self.cells[name]
        if after:
            if here + 1 < len(self.order):
                return (cell.right + self.cells[self.order[here + 1]].left) / 2
            return cell.right + 10
        if here > 0:
            return (cell.left + self.cells[self.order[here - 1]].right) / 2
        return cell.left - 10

    def draw(self, ways: Sequence[Route], lanes: Mapping[str, float]) -> str:
        out = ""
        for way in ways:
            if way.way == "direct":
                out += self._direct(way.pipe)
            elif way.way == "drop":
                out += self._drop(way.pipe)
            elif way.way == "fall":
                out += self._fall(way.pipe)
            elif way.way in {"low", "deep"}:
                out += self._under(way)
        risers: dict[str, list[Route]] = {}
        for way in ways:
            if way.way in {"side", "lane"}:
                risers.setdefault(f"{way.pipe.source}/{way.pump}", []).append(way)
        for key, group in risers.items():
            out += self._lifted(group, lanes.get(key, 0.0))
        return out

    def _leave(self, cell: Cell) -> float:
        """The height of a vessel's overflow, a little under its water."""
        return min(cell.box.water + 10, cell.box.base - 6)

    def _direct(self, pipe: Pipe) -> str:
        start, end = self.cells[pipe.source], self.cells[pipe.target]
        forward = end.box.x > start.box.x
        exit_y = self._leave(start)
        if start.part.kind == GRAVEL_BED:
            exit_y = start.box.base + 12
        lowest = end.box.water + (6 if forward else 24)
        enter_y = min(max(exit_y, lowest), end.box.base - 6)
        if forward and exit_y > end.box.top and enter_y - exit_y < 10:
            exit_y = enter_y = max(exit_y, enter_y)
        tip = end.box.x - 1 if forward else end.box.right + 1
        bend = self.gap(pipe.source, after=True) if forward else self.gap(pipe.target, after=True)
        if start.part.kind == GRAVEL_BED:
            out_x = start.box.right - 16 if forward else start.box.x + 16
            data = f"M{number(out_x)} {number(start.box.base)}V{number(exit_y)}"
        else:
            out_x = start.box.right if forward else start.box.x
            data = f"M{number(out_x)} {number(exit_y)}"
        if exit_y != enter_y:
            data += f"H{number(bend)}V{number(enter_y)}"
        data += f"H{number(tip - 6 if forward else tip + 6)}"
        out = self.ink.path(pipe_role(pipe), data)
        out += arrow(self.ink, tip, enter_y, "r" if forward else "l")
        return out + self._inline(pipe, (out_x + bend) / 2, exit_y)

    def _drop(self, pipe: Pipe) -> str:
        start, end = self.cells[pipe.source], self.cells[pipe.target]
        x = end.ports[f"drop:{pipe.source}"]
        if start.part.kind == GRAVEL_BED:
            y = start.box.base + 12
            data = f"M{number(start.box.right - 16)} {number(start.box.base)}V{number(y)}"
            out_x = start.box.right - 16
        else:
            y, out_x = self._leave(start), start.box.right
            data = f"M{number(out_x)} {number(y)}"
        tip = end.box.top + 4
        data += f"H{number(x)}V{number(tip - 8)}"
        out = self.ink.path(pipe_role(pipe), data) + arrow(self.ink, x, tip, "d")
        return out + self._inline(pipe, (out_x + end.box.x) / 2, y)

    def _fall(self, pipe: Pipe) -> str:
        """Straight down from a tray into the one under it."""
        start, end = self.cells[pipe.source], self.cells[pipe.target]
        x, tip = end.ports[f"fall:{pipe.source}"], end.box.top + 4
        data = f"M{number(x)} {number(start.box.base)}V{number(tip - 8)}"
        return self.ink.path(pipe_role(pipe), data) + arrow(self.ink, x, tip, "d")

    def _under(self, way: Route) -> str:
        """Between the legs of the stands, or under the names where a vessel is in the way."""
        pipe = way.pipe
        start, end = self.cells[pipe.source], self.cells[pipe.target]
        forward = end.box.x > start.box.x
        if way.way == "low":
            y = _CRAWL_FIRST + self.drop + _CRAWL_STEP * (self.crawled % 3)
            self.crawled += 1
        else:
            y = self.deep_from + DEEP_STEP * self.dug
            self.dug += 1
        exit_y = min(self._leave(start) + 14, start.box.base - 6)
        enter_y = min(end.box.water + 22, end.box.base - 6)
        if way.way == "low" and end.box.top + 6 < y < end.box.base - 6:
            enter_y = y
        out_x = start.box.right if forward else start.box.x
        tip = end.box.x - 1 if forward else end.box.right + 1
        leave_x = self.gap(pipe.source, after=forward)
        enter_x = self.gap(pipe.target, after=not forward)
        data = f"M{number(out_x)} {number(exit_y)}H{number(leave_x)}V{number(y)}H{number(enter_x)}"
        if enter_y != y:
            data += f"V{number(enter_y)}"
        data += f"H{number(tip - 6 if forward else tip + 6)}"
        out = self.ink.path(pipe_role(pipe), data)
        out += arrow(self.ink, tip, enter_y, "r" if forward else "l")
        if way.way == "deep" and pipe.label:
            middle = (leave_x + enter_x) / 2
            out += self.ink.text("text2", middle, y - 6, pipe.label, anchor="middle")
        return out + self._inline(pipe, (leave_x + enter_x) / 2, y)

    def _lifted(self, group: Sequence[Route], lane: float) -> str:
        """One pump and everything that it feeds: a riser, a lane or a side way, and the drops."""
        first = group[0]
        source = self.cells[first.pipe.source]
        x = source.ports[f"riser:{first.pump}"]
        foot = min(source.box.base - 24, source.box.water + 52)
        out, headed = "", set()
        for way in sorted(group, key=lambda w: -abs(self.cells[w.pipe.target].box.x - x)):
            end = self.cells[way.pipe.target]
            if way.way == "side":
                y = end.box.top + 8
                data = f"M{number(x)} {number(foot)}V{number(y)}H{number(end.box.x - 7)}"
                out += self.ink.path(pipe_role(way.pipe), data)
                out += arrow(self.ink, end.box.x - 1, y, "r")
                out += self._label(way.pipe, x, end.box.x, y)
                continue
            port = end.ports[f"lane:{way.pipe.source}"]
            tip = end.clear_top + 2 if end.clear_top < end.box.top else end.box.top - 4
            data = f"M{number(x)} {number(foot)}V{number(lane)}H{number(port)}V{number(tip - 8)}"
            out += self.ink.path(pipe_role(way.pipe), data)
            out += arrow(self.ink, port, tip, "d")
            heading = "l" if port < x else "r"
            if heading not in headed:
                out += arrow(self.ink, (x + port) / 2, lane, heading)
                headed.add(heading)
            out += self._label(way.pipe, min(x, port), max(x, port), lane)
        faulty = any(part.faulty for way in group for part in way.pipe.through)
        out += pump_mark(self.ink, x, foot, faulty=faulty)
        if any(part.kind == TIMER for way in group for part in way.pipe.through):
            out += timer_mark(self.ink, x, foot - 24)
        return out

    def _label(self, pipe: Pipe, left: float, right: float, y: float) -> str:
        if not pipe.label or right - left < text_width(pipe.label, 13) + 16:
            return ""
        middle = (left + right) / 2
        return self.ink.text("text2", middle, y - 8, pipe.label, anchor="middle")

    def _inline(self, pipe: Pipe, x: float, y: float) -> str:
        out = ""
        if any(part.kind == VALVE for part in pipe.through):
            out += valve_mark(self.ink, x, y)
        if pipe.one_way and not out:
            out += one_way_mark(self.ink, x, y)
        return out


def lane_heights(ways: Sequence[Route], cells: Mapping[str, Cell]) -> dict[str, float]:
    """One lane for each pump that lifts over others; the shortest lies lowest, so none cross."""
    reach: dict[str, list[float]] = {}
    for way in ways:
        if way.way == "lane":
            key = f"{way.pipe.source}/{way.pump}"
            ends = reach.setdefault(key, [cells[way.pipe.source].ports[f"riser:{way.pump}"]])
            ends.append(cells[way.pipe.target].ports[f"lane:{way.pipe.source}"])
    longest_first = sorted(reach, key=lambda k: (min(reach[k]) - max(reach[k]), k))
    return {key: LANE_TOP + LANE_STEP * i for i, key in enumerate(longest_first)}


def crossing_path(start: Box, end: Box, turn: float) -> tuple[str, float, float]:
    """A way from one loop's last vessel to the next loop's first: data, height at `turn`, tip."""
    low, high = max(start.top, end.top) + 12, min(start.base, end.base) - 8
    if low < high:
        y = min(max(max(start.water, end.water) + 32, low), high)
        return f"M{number(start.right)} {number(y)}H{number(end.x - 7)}", y, y
    leave = min(start.water + 12, start.base - 6)
    enter = min(end.water + 10, end.base - 5)
    data = (
        f"M{number(start.right)} {number(leave)}H{number(turn + 26)}V{number(enter)}"
        f"H{number(end.x - 7)}"
    )
    return data, leave, enter
