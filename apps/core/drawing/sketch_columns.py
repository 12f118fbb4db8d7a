"""Places in the flow sketch: from left to right, wide enough that no label meets another."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

from django.utils.translation import gettext as _

from apps.core.drawing.measure import text_width, wrap
from apps.core.drawing.sketch_graph import LoopPlan, Pipe
from apps.core.drawing.sketch_levels import Level, between, outlet, tier
from apps.core.drawing.sketch_model import (
    PUMP,
    PUMPED,
    SHADE,
    SketchComponent,
    SketchValue,
)
from apps.core.drawing.sketch_parts import TRAYS, Box

VALUE_STEP = 22.0
TWO_LINE_STEP = 38.0
_LANES_END = 64.0
_PLANT_ROOM = 22.0
# how far a shade stands over the rim of its vessel
_SHADE_ROOM = 18.0
_CRAWL = 281.0
SIZES = (
    (50.0, 86.0, 180.0),
    (46.0, 78.0, 160.0),
    (42.0, 70.0, 140.0),
    (37.0, 63.0, 124.0),
    (32.0, 56.0, 104.0),
    (28.0, 50.0, 84.0),
)


@dataclass(frozen=True, slots=True)
class Route:
    """How a pipe runs: `direct`, `drop`, `side`, `lane`, `low` (between the legs) or `deep`."""

    pipe: Pipe
    way: str
    pump: str = ""


@dataclass(slots=True)
class Cell:
    """One vessel's column: its box, the ports above it, its labels and how far they reach."""

    part: SketchComponent
    box: Box
    ports: dict[str, float]
    left: float
    right: float
    slot: float
    stacked: bool = False
    on_rack: bool = False
    shaded: bool = False
    shelf: float | None = None
    names: list[str] = field(default_factory=list)
    warnings: list[str] = field(default_factory=list)

    @property
    def clear_top(self) -> float:
        """The highest point of what stands in the vessel."""
        return self.box.top - (_PLANT_ROOM if self.part.kind in TRAYS else 0)

    @property
    def values_foot(self) -> float:
        """Over what the values stand: what is in the vessel, or the shade over it."""
        return min(self.clear_top, self.box.top - (_SHADE_ROOM if self.shaded else 0))

    @property
    def block_top(self) -> float:
        return self.values_foot - 8 - self.value_step * len(self.part.values)

    @property
    def value_step(self) -> float:
        return TWO_LINE_STEP if self.stacked else VALUE_STEP

    def label_y(self, ground: float) -> float:
        """Baseline of the name: under the ground line, or under a vessel that is sunk."""
        return max(ground + 22, self.box.base + 16)

    def foot(self, ground: float) -> float:
        """The lowest point of the labels; those of a tray on a rack stand above the ground."""
        if self.on_rack:
            return ground
        lines = len(self.names) + bool(self.part.size_text) + len(self.warnings)
        return self.label_y(ground) + 17 * (lines - 1) + 5


def routes(part: LoopPlan, heights: Mapping[str, Level]) -> list[Route]:
    """Choose for each pipe the way that crosses no vessel and no label."""
    order = [v.id for v in part.vessels]
    kinds = {v.id: v.kind for v in part.vessels}
    found = []
    rack = tier(part)
    for pipe in part.pipes:
        if rack and pipe.target == order[-1] and pipe.source in rack:
            found.append(Route(pipe, "fall"))
            continue
        forward = order.index(pipe.target) > order.index(pipe.source)
        middle = between(part, heights, pipe)
        start, end = heights[pipe.source], heights[pipe.target]
        leave = outlet(kinds[pipe.source], start)
        pump = next((t.id for t in pipe.through if t.kind == PUMP), pipe.source)
        if pipe.kind == PUMPED:
            source = part.vessels[order.index(pipe.source)]
            room = start.top - 8 - TWO_LINE_STEP * len(source.values) - 8
            beside = forward and not middle and kinds[pipe.target] in TRAYS
            found.append(Route(pipe, "side" if beside and end.top + 8 < room else "lane", pump))
        elif not middle:
            drop = forward and leave < end.top - 4
            found.append(Route(pipe, "drop" if drop else "direct"))
        elif all(_clear(v, level, leave) for v, level in middle) and (
            not forward or all(v.kind in TRAYS for v, _level in middle)
        ):
            found.append(Route(pipe, "direct"))
        else:
            crawl = all(level.base < _CRAWL and not level.sunk for _, level in middle)
            found.append(Route(pipe, "low" if crawl else "deep"))
    return found


def _clear(part: SketchComponent, level: Level, y: float) -> bool:
    """Whether a pipe at a height passes a vessel: under a tray, or above all that stands there."""
    top = level.top - 8 - TWO_LINE_STEP * len(part.values)
    if part.kind in TRAYS:
        return level.base + 8 < y or y < top - _PLANT_ROOM - 6
    return y < top - 6


def value_width(value: SketchValue) -> float:
    """Width of a live value on one line: mark, figure, unit and label."""
    tail = " ".join(filter(None, (value.unit, value.label)))
    return 24 + text_width(value.figure, 16, weight=600) + 6 + text_width(tail, 13)


def two_line_width(value: SketchValue) -> float:
    """Width of a live value whose label stands above its figure."""
    figure = 29 + text_width(value.figure, 16, weight=600) + text_width(value.unit, 13)
    return max(figure, text_width(value.label, 13))


def sketch_size(part: SketchComponent) -> float:
    """What a vessel's width goes by: its litres, or 300 L for a square metre of bed."""
    return max(part.litres or 0.0, (part.area_m2 or 0.0) * 300)


def vessel_width(part: SketchComponent, largest: float, least: float, most: float) -> float:
    """Width by the square root of the size, between the least and the greatest."""
    size = sketch_size(part)
    if not size or not largest:
        return least
    return min(max(most * math.sqrt(size / largest), least), most)


def cells(
    part: LoopPlan,
    heights: Mapping[str, Level],
    ways: Sequence[Route],
    *,
    x: float,
    size: tuple[float, float, float],
    largest: float,
) -> list[Cell]:
    """Columns of one loop from `x` on; `size` is gap, least and greatest width of a vessel."""
    gap, least, most = size
    placed: list[Cell] = []
    edge, wall = x, x - gap
    rack = tier(part)
    for vessel in part.vessels:
        if rack and vessel is part.vessels[-1]:
            placed.append(_on_rack(vessel, heights[vessel.id], placed, rack, size, largest))
            continue
        names = _ports(vessel.id, ways)
        width = max(vessel_width(vessel, largest, least, most), 36 + 28 * max(len(names) - 1, 0))
        cell = _cell(vessel, heights[vessel.id], names, width, _warnings(part, vessel))
        cell.shaded = any(f.kind == SHADE for f in part.fitted.get(vessel.id, ()))
        start = max(wall + gap, edge + 12 - cell.left)
        _shift(cell, start)
        placed.append(cell)
        edge, wall = cell.right, cell.box.right
    return placed


def _on_rack(
    part: SketchComponent,
    level: Level,
    placed: Sequence[Cell],
    rack: Sequence[str],
    size: tuple[float, float, float],
    largest: float,
) -> Cell:
    """The tray under other trays: as long as they are together, its name under it."""
    hosts = [cell for cell in placed if cell.part.id in rack]
    left = hosts[0].box.x
    label = text_width(part.name, 15, weight=600) + 8 + text_width(part.size_text, 13)
    width = max(
        hosts[-1].box.right - left, vessel_width(part, largest, size[1], size[2]), label + 40
    )
    box = Box(left, width, level.top, level.water, level.base)
    ports = {f"fall:{host.part.id}": host.box.right - 16 for host in hosts}
    slot = max(ports.values()) + 12
    values = max((value_width(v) for v in part.values), default=0.0)
    for host in hosts:
        host.shelf = level.top
    right = max(box.right, slot + values if values else 0.0)
    return Cell(part, box, ports, left, right, slot, on_rack=True, names=[part.name])


def _ports(vessel: str, ways: Sequence[Route]) -> list[str]:
    names: list[str] = []
    for kind in ("drop", "riser", "lane"):
        for way in ways:
            if kind == "drop" and way.way == "drop" and way.pipe.target == vessel:
                names.append(f"drop:{way.pipe.source}")
            elif kind == "riser" and way.way in {"side", "lane"} and way.pipe.source == vessel:
                names.append(f"riser:{way.pump}")
            elif kind == "lane" and way.way == "lane" and way.pipe.target == vessel:
                names.append(f"lane:{way.pipe.source}")
    return list(dict.fromkeys(names))


def _warnings(part: LoopPlan, vessel: SketchComponent) -> list[str]:
    """The word that stands under a faulty vessel, and one line for each faulty fitting."""
    hung = [f.name for f in part.fitted.get(vessel.id, ()) if f.faulty]
    own = [_("faulty")] if vessel.faulty else []
    return own + [_("%(name)s: faulty") % {"name": name} for name in hung]


def _cell(
    part: SketchComponent,
    level: Level,
    ports: Sequence[str],
    width: float,
    warnings: list[str],
) -> Cell:
    """A column that starts at zero, to be shifted to its place."""
    box = Box(0, width, level.top, level.water, level.base)
    first = max(20.0, width * 0.2) if ports else 0.0
    places = {name: min(first + 28 * i, width - 14) for i, name in enumerate(ports)}
    slot = max(places.values()) + 14 if places else 0.0
    names = wrap(part.name, max(width, 96), 15, weight=600)
    labels = [text_width(line, 15, weight=600) for line in names]
    labels.append(text_width(part.size_text, 13))
    labels += [text_width(line, 13, weight=600) for line in warnings]
    half = max(labels) / 2 + 2
    values = max((value_width(v) for v in part.values), default=0.0)
    clear = level.top - (_PLANT_ROOM if part.kind in TRAYS else 0) - 8 - _LANES_END
    stacked = slot + values > width and clear >= TWO_LINE_STEP * len(part.values)
    if stacked:
        values = max(two_line_width(v) for v in part.values)
    return Cell(
        stacked=stacked,
        part=part,
        box=box,
        ports=places,
        left=min(0.0, width / 2 - half),
        right=max(width, width / 2 + half, slot + values if values else 0.0),
        slot=slot,
        names=names,
        warnings=warnings,
    )


def _shift(cell: Cell, by: float) -> None:
    box = cell.box
    cell.box = Box(box.x + by, box.width, box.top, box.water, box.base)
    cell.ports = {name: x + by for name, x in cell.ports.items()}
    cell.left, cell.right, cell.slot = cell.left + by, cell.right + by, cell.slot + by
