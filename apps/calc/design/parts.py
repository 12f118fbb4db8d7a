"""A design as parts and what flows between them, ready to be entered as a system."""

from dataclasses import dataclass

from apps.calc.design.sizing import (
    GRAVEL_DEPTH_M,
    SETTLER_DEPTH_M,
    VESSEL_PER_MEDIA,
    Design,
    rough,
)
from apps.calc.design.wish import Site, Wish

TANK_DEPTH_M = 0.8
GRAVITY, PUMPED = "gravity", "pumped"


@dataclass(frozen=True)
class Part:
    """One component in the order of the water: kind, litres, m2, m, media, L/h, m of lift, W."""

    kind: str
    litres: float | None = None
    area_m2: float | None = None
    depth_m: float | None = None
    media: str = ""
    media_litres: float | None = None
    flow_l_h: float | None = None
    lift_m: float | None = None
    watts: float | None = None


@dataclass(frozen=True)
class Plan:
    """Parts in the order of the water, and flows as (from, to, how) by their place in it."""

    parts: tuple[Part, ...]
    flows: tuple[tuple[int, int, str], ...]


def plan(design: Design, wish: Wish, site: Site) -> Plan:
    """Return the parts of a design: tank, settler, filter, beds, sump, pump, air and what helps.

    Water falls from the tank through to the sump and is pumped back once.
    """

    def chosen(code: str) -> float:
        return rough(design.of(code).chosen)

    wet = [Part("tank", litres=chosen("tank"), depth_m=TANK_DEPTH_M)]
    if design.has("settler"):
        wet.append(Part("settler", litres=chosen("settler_water"), depth_m=SETTLER_DEPTH_M))
    if design.has("moving_bed"):
        media = chosen("moving_bed")
        wet.append(Part("moving_bed", litres=rough(VESSEL_PER_MEDIA * media), media="moving_bed",
                        media_litres=media))  # fmt: skip
    wet.append(_beds(design, wish, chosen("bed_water")))
    wet.append(Part("sump", litres=chosen("sump")))
    pump = Part("pump", flow_l_h=chosen("pump"), lift_m=site.lift_m, watts=chosen("pump_watts"))
    air = chosen("air") * 60
    dry = [pump, Part("air_pump", flow_l_h=air), Part("backup_air", flow_l_h=rough(air / 2))]
    if design.has("heater"):
        dry.append(Part("heater", watts=chosen("heater")))
    last = len(wet) - 1
    down = [(i, i + 1, GRAVITY) for i in range(last)]
    return Plan((*wet, *dry), (*down, (last, 0, PUMPED)))


def _beds(design: Design, wish: Wish, litres: float) -> Part:
    area = round(design.of("beds").chosen, 1)
    if wish.bed_kind == "gravel_bed":
        return Part("gravel_bed", litres=litres, area_m2=area, depth_m=GRAVEL_DEPTH_M,
                    media="gravel", media_litres=rough(area * GRAVEL_DEPTH_M * 1000))  # fmt: skip
    return Part(wish.bed_kind, litres=litres, area_m2=area)
