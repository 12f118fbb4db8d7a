"""Heights in the flow sketch: water falls, so each vessel stands lower than what runs into it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from apps.core.drawing.sketch_graph import LoopPlan, Pipe
from apps.core.drawing.sketch_model import (
    CHANNEL,
    GRAVEL_BED,
    PUMPED,
    RAFT,
    SUMP,
    TANK,
    SketchComponent,
)
from apps.core.drawing.sketch_parts import TRAYS

GROUND = 300.0
STAND = 274.0
_LOWEST_STANDING = 236.0
_SUMP_WATER = 250.0
_SHELF = 64.0
_RIM = {TANK: 24.0, GRAVEL_BED: 20.0, RAFT: 14.0, CHANNEL: 8.0, SUMP: 18.0}
_DEPTH = {GRAVEL_BED: 30.0, RAFT: 34.0, CHANNEL: 14.0}


@dataclass(frozen=True, slots=True)
class Level:
    """Rim, water level and base of one vessel [px, downwards]."""

    top: float
    water: float
    base: float

    @property
    def sunk(self) -> bool:
        return self.base > GROUND


def outlet(kind: str, level: Level) -> float:
    """The height at which water leaves by itself: a gravel bed drains below, others overflow."""
    return level.base + 14 if kind == GRAVEL_BED else level.water + 10


def levels(part: LoopPlan, entering: Sequence[str] = ()) -> dict[str, Level]:
    """Heights of a loop's vessels; `entering` are those that water reaches from another loop."""
    for step in (12.0, 9.0, 6.0, 4.0):
        found = _levels(part, step, frozenset(entering))
        standing = [found[v.id].water for v in part.vessels if v.kind != SUMP]
        if not standing or max(standing) <= _LOWEST_STANDING:
            return found
    return found


def tier(part: LoopPlan) -> tuple[str, ...]:
    """The raised trays under which the loop's last tray stands, as on a rack; empty if it does not.

    So it stands when it takes nothing but what falls from trays that stand side by side before it.
    """
    last = part.vessels[-1] if part.vessels else None
    if last is None or last.kind not in {RAFT, CHANNEL} or last.faulty or len(last.values) > 1:
        return ()
    above = [p.source for p in part.pipes if p.target == last.id]
    if not above or any(p.kind == PUMPED for p in part.pipes if p.target == last.id):
        return ()
    before = part.vessels[-1 - len(above) : -1]
    lifted = {p.target for p in part.pipes if p.kind == PUMPED}
    if {v.id for v in before} != set(above):
        return ()
    if any(v.kind not in TRAYS or v.id not in lifted for v in before):
        return ()
    return tuple(v.id for v in before)


def _levels(part: LoopPlan, step: float, entering: frozenset[str]) -> dict[str, Level]:
    falling = [p for p in part.pipes if p.kind != PUMPED]
    pumped = {p.target for p in part.pipes if p.kind == PUMPED} | entering
    kinds = {v.id: v.kind for v in part.vessels}
    found: dict[str, Level] = {}
    waiting: set[str] = set()

    def settle(vessel: SketchComponent) -> Level:
        if vessel.id in found:
            return found[vessel.id]
        waiting.add(vessel.id)
        least = [
            _least(kinds[p.source], settle(by_id[p.source]), step)
            for p in falling
            if p.target == vessel.id and p.source not in waiting
        ]
        waiting.discard(vessel.id)
        found[vessel.id] = _level(vessel.kind, max(least, default=None), lifted=vessel.id in pumped)
        return found[vessel.id]

    by_id = {v.id: v for v in part.vessels}
    for vessel in part.vessels:
        settle(vessel)
    hosts = tier(part)
    if hosts:
        last = part.vessels[-1]
        top = max(found[name].base for name in hosts) + _SHELF
        rim = _RIM[last.kind]
        found[last.id] = Level(top, top + rim, top + rim + _DEPTH[last.kind])
    return found


def _least(kind: str, level: Level, step: float) -> float:
    """The highest water level that a follower of this vessel may have."""
    return level.base + 30 if kind == GRAVEL_BED else level.water + step


def _level(kind: str, least: float | None, *, lifted: bool) -> Level:
    rim = _RIM.get(kind, 16.0)
    if kind == SUMP:
        water = max(_SUMP_WATER, least or 0.0)
        return Level(water - rim, water, max(336.0, water + 60))
    if kind in TRAYS:
        first = 124.0 if lifted else 200.0
        water = first if least is None else max(least, 124.0)
        return Level(water - rim, water, water + _DEPTH[kind])
    water = 140.0 if least is None else max(least, 140.0)
    return Level(water - rim, water, max(STAND, water + 40))


def between(
    part: LoopPlan, heights: Mapping[str, Level], pipe: Pipe
) -> list[tuple[SketchComponent, Level]]:
    """The vessels that stand between the two ends of a pipe, with their heights."""
    order = [v.id for v in part.vessels]
    first, final = sorted((order.index(pipe.source), order.index(pipe.target)))
    return [(v, heights[v.id]) for v in part.vessels[first + 1 : final]]
