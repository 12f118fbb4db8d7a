"""The order of the vessels: in which order the water passes, and what hangs on which vessel."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from apps.core.drawing.sketch_model import (
    AIR_PUMP,
    BY_HAND,
    GRAVITY,
    PUMP,
    PUMPED,
    SUMP,
    TANK,
    VESSELS,
    SketchComponent,
    SketchFlow,
    SketchLoop,
)


@dataclass(frozen=True, slots=True)
class Pipe:
    """A way of the water from vessel to vessel, with the fittings that it passes."""

    source: str
    target: str
    label: str
    kind: str
    one_way: bool
    through: tuple[SketchComponent, ...] = ()


@dataclass(frozen=True, slots=True)
class LoopPlan:
    """One loop ready to draw: vessels in the order of the water, fittings by vessel, pipes."""

    loop: SketchLoop
    vessels: tuple[SketchComponent, ...]
    fitted: Mapping[str, tuple[SketchComponent, ...]]
    pipes: tuple[Pipe, ...]


@dataclass(frozen=True, slots=True)
class SketchPlan:
    """All loops, and the pipes that leave one loop for another."""

    loops: tuple[LoopPlan, ...]
    crossing: tuple[Pipe, ...]


def plan(loops: Sequence[SketchLoop]) -> SketchPlan:
    """Contract fittings out of the flows, order the vessels, and hang each fitting on a vessel."""
    parts = {c.id: c for loop in loops for c in loop.components}
    home = {c.id: loop.id for loop in loops for c in loop.components}
    flows = [f for loop in loops for f in loop.flows if f.source in parts and f.target in parts]
    pipes = _vessel_pipes(flows, parts)
    planned = []
    for loop in loops:
        vessels = [c for c in loop.components if c.kind in VESSELS]
        own = [p for p in pipes if home[p.source] == loop.id and home[p.target] == loop.id]
        ordered = _in_order(vessels, own)
        fitted = _hang(loop, ordered, flows, parts)
        planned.append(LoopPlan(loop, tuple(ordered), fitted, tuple(own)))
    crossing = tuple(p for p in pipes if home[p.source] != home[p.target])
    return SketchPlan(tuple(planned), crossing)


def _vessel_pipes(flows: Sequence[SketchFlow], parts: Mapping[str, SketchComponent]) -> list[Pipe]:
    leaving: dict[str, list[SketchFlow]] = {}
    for flow in flows:
        leaving.setdefault(flow.source, []).append(flow)
    pipes: list[Pipe] = []
    for flow in flows:
        if parts[flow.source].kind in VESSELS:
            _follow(flow, [flow], leaving, parts, pipes)
    return pipes


def _follow(
    first: SketchFlow,
    way: list[SketchFlow],
    leaving: Mapping[str, list[SketchFlow]],
    parts: Mapping[str, SketchComponent],
    pipes: list[Pipe],
) -> None:
    here = parts[way[-1].target]
    if here.kind in VESSELS:
        if here.id == first.source:
            return
        through = tuple(parts[flow.target] for flow in way[:-1])
        kinds = {flow.kind for flow in way}
        if PUMPED in kinds or any(part.kind == PUMP for part in through):
            kind = PUMPED
        else:
            kind = BY_HAND if BY_HAND in kinds else GRAVITY
        label = next((flow.label for flow in way if flow.label), "")
        one_way = any(flow.one_way for flow in way)
        pipe = Pipe(first.source, here.id, label, kind, one_way, through)
        if not any(p.source == pipe.source and p.target == pipe.target for p in pipes):
            pipes.append(pipe)
        return
    for onward in leaving.get(here.id, ()):
        if onward not in way:
            _follow(first, [*way, onward], leaving, parts, pipes)


def _in_order(vessels: Sequence[SketchComponent], pipes: Sequence[Pipe]) -> list[SketchComponent]:
    """The order of the water from its head (the tanks, else the sumps) on; ways back do not count."""
    by_id = {v.id: v for v in vessels}
    heads = _heads(vessels, pipes)
    onward: dict[str, list[str]] = {v.id: [] for v in vessels}
    for pipe in pipes:
        if pipe.target not in heads and not _returns_to_sump(pipe, by_id, pipes, heads):
            onward[pipe.source].append(pipe.target)
    place = {v.id: index for index, v in enumerate(vessels)}
    seen: set[str] = set()
    finished: list[str] = []
    others = [v.id for v in vessels if v.id not in heads]
    for start in [*reversed(others), *reversed(heads)]:
        _visit(start, onward, place, seen, finished)
    return [by_id[name] for name in reversed(finished)]


def _heads(vessels: Sequence[SketchComponent], pipes: Sequence[Pipe]) -> list[str]:
    for kind in (TANK, SUMP):
        found = [v.id for v in vessels if v.kind == kind]
        if found:
            return found
    entered = {p.target for p in pipes}
    return [v.id for v in vessels if v.id not in entered] or [v.id for v in vessels[:1]]


def _returns_to_sump(
    pipe: Pipe,
    by_id: Mapping[str, SketchComponent],
    pipes: Sequence[Pipe],
    heads: Sequence[str],
) -> bool:
    """Whether the pipe brings back what the sump had sent out, without passing the head."""
    if by_id[pipe.target].kind != SUMP:
        return False
    reached, edge = set(), [pipe.target]
    while edge:
        here = edge.pop()
        for way in pipes:
            if way.source == here and way.target not in heads and way.target not in reached:
                reached.add(way.target)
                edge.append(way.target)
    return pipe.source in reached


def _visit(
    name: str,
    onward: Mapping[str, list[str]],
    place: Mapping[str, int],
    seen: set[str],
    finished: list[str],
) -> None:
    if name in seen:
        return
    seen.add(name)
    for follower in sorted(onward[name], key=lambda n: -place[n]):
        _visit(follower, onward, place, seen, finished)
    finished.append(name)


def _hang(
    loop: SketchLoop,
    vessels: Sequence[SketchComponent],
    flows: Sequence[SketchFlow],
    parts: Mapping[str, SketchComponent],
) -> dict[str, tuple[SketchComponent, ...]]:
    """The vessel of each fitting: the one it draws from, else the one it feeds, else its like."""
    fitted: dict[str, list[SketchComponent]] = {}
    names = {v.id for v in vessels}
    for part in loop.components:
        if part.kind in VESSELS or not vessels:
            continue
        host = _neighbour(part.id, flows, parts, names)
        if host is None:
            wanted = SUMP if part.kind == PUMP else TANK
            host = next((v.id for v in vessels if v.kind == wanted), vessels[0].id)
        fitted.setdefault(host, []).append(part)
    return {host: tuple(hung) for host, hung in fitted.items()}


def _neighbour(
    name: str,
    flows: Sequence[SketchFlow],
    parts: Mapping[str, SketchComponent],
    names: set[str],
) -> str | None:
    seen, edge = {name}, [name]
    feeds = parts[name].kind == AIR_PUMP
    while edge:
        here = edge.pop(0)
        before = [f.source for f in flows if f.target == here]
        after = [f.target for f in flows if f.source == here]
        for near in (*after, *before) if feeds else (*before, *after):
            if near in names:
                return near
            if near not in seen and parts[near].kind not in VESSELS:
                seen.add(near)
                edge.append(near)
    return None
