"""What a caller hands to the flow sketch: loops, components, flows, live values."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

from django.utils.translation import ngettext

from apps.core.drawing.shapes import IN_BAND
from apps.core.measures import measured_plain
from apps.core.numbers import NO_BREAK, format_plain

TANK, SETTLER, STATIC_MEDIA, MOVING_BED = "tank", "settler", "static_media", "moving_bed"
SUMP, GRAVEL_BED, RAFT, CHANNEL = "sump", "gravel_bed", "raft", "channel"
PUMP, AIR_PUMP, HEATER, SHADE = "pump", "air_pump", "heater", "shade"
VALVE, TIMER, SIPHON, PROBE = "valve", "timer", "siphon", "probe"
VESSELS = frozenset({TANK, SETTLER, STATIC_MEDIA, MOVING_BED, SUMP, GRAVEL_BED, RAFT, CHANNEL})
FITTINGS = frozenset({PUMP, AIR_PUMP, HEATER, SHADE, VALVE, TIMER, SIPHON, PROBE})
GRAVITY, PUMPED, BY_HAND = "gravity", "pumped", "by_hand"
FLOW_KINDS = frozenset({GRAVITY, PUMPED, BY_HAND})
VALUES_AT_MOST = 2


@dataclass(frozen=True, slots=True)
class SketchValue:
    """A live value beside a component; the figure is already written for the reader."""

    label: str
    figure: str
    unit: str = ""
    word: str = IN_BAND


@dataclass(frozen=True, slots=True)
class SketchComponent:
    """A part of a loop; `litres` and `area_m2` set its width, `size_text` stands under its name."""

    id: str
    kind: str
    name: str
    litres: float | None = None
    area_m2: float | None = None
    size_text: str = ""
    faulty: bool = False
    values: Sequence[SketchValue] = ()


@dataclass(frozen=True, slots=True)
class SketchFlow:
    """Water on its way from one component to another, within a loop or out of it."""

    source: str
    target: str
    label: str = ""
    kind: str = GRAVITY
    one_way: bool = False


@dataclass(frozen=True, slots=True)
class SketchLoop:
    """A body of water: its name, its litres, how often an hour it turns over, parts and flows."""

    id: str
    name: str
    litres: float | None = None
    turnover: float | None = None
    components: Sequence[SketchComponent] = field(default_factory=tuple)
    flows: Sequence[SketchFlow] = field(default_factory=tuple)


def loop_caption(loop: SketchLoop, locale: str | None = None) -> str:
    """ "1,450 L · turns over 0.9 times an hour", as far as it is known."""
    parts = []
    if loop.litres is not None:
        # a drawing breaks no line by itself
        parts.append(measured_plain(round(loop.litres), "L", locale).replace(NO_BREAK, " "))
    if loop.turnover is not None:
        rate = round(loop.turnover, 1)
        parts.append(
            ngettext(
                "turns over once an hour",
                "turns over %(rate)s times an hour",
                1 if rate == 1 else 2,
            )
            % {"rate": format_plain(rate, locale)}
        )
    return " · ".join(parts)
