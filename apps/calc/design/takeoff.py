"""What a design is built of and where it stands: quantities to price, floor taken, weight on it."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from apps.calc.commissioning.supplies import Building, Supply, supplies
from apps.calc.design.parts import TANK_DEPTH_M, Part, Plan
from apps.calc.design.sizing import FLOOR_KG_M2, SETTLER_DEPTH_M, Design, rough
from apps.calc.design.wish import Site

LEAST_L, MOST_L = 50.0, 100_000.0  # between which first supplies are known
MOST_CHLORINE = 10.0  # mg/L that the dechlorinator's rule holds for
BOX_KG_M2 = 100.0  # of a vessel itself and what stands in it (common practice)
SUMP_DEPTH_M = 0.5  # (common practice)
WAYS = 1.25  # of the floor that the parts take (common practice)
DEPTHS_M = {
    "tank": TANK_DEPTH_M, "settler": SETTLER_DEPTH_M, "moving_bed": TANK_DEPTH_M,
    "sump": SUMP_DEPTH_M,
}  # fmt: skip
# what a part is priced by; the rest by the piece
BY_LITRE = frozenset({"tank", "moving_bed", "sump"})
BY_AREA = frozenset({"gravel_bed", "raft", "channel"})
PART, SUPPLY = "part", "supply"
# everything that a design may ask for, and the unit that its price is for; empty: by the piece
PRICED: Mapping[str, str] = {
    "tank": "L", "settler": "", "moving_bed": "L", "carriers": "L", "gravel_bed": "m²",
    "raft": "m²", "channel": "m²", "sump": "L", "pump": "", "air_pump": "", "backup_air": "",
    "heater": "", "pipe": "m",
    "media": "L", "thiosulfate": "kg", "ammonium_chloride": "kg", "potassium_bicarbonate": "kg",
    "feed_pellets": "kg", "iron_dtpa": "kg", "net_pots": "", "plugs": "", "reagent_ammonia": "",
    "reagent_nitrite": "", "reagent_nitrate": "", "reagent_ph": "", "titrant_alkalinity": "",
    "dpd_tablets": "", "buffer_ph": "", "standard_ec": "", "o_rings": "",
}  # fmt: skip


@dataclass(frozen=True)
class Item:
    """One line to price: whether part or first supply, its code, how many of which unit."""

    group: str
    code: str
    quantity: float
    unit: str


@dataclass(frozen=True)
class Stand:
    """What one part takes of the floor [m2] and how it weighs on it when full [kg/m2]."""

    kind: str
    floor_m2: float
    load_kg_m2: float


def items(plan: Plan, design: Design, site: Site) -> tuple[Item, ...]:
    """Return the parts, the pressure pipe, the carriers, and the supplies of the first weeks.

    Supplies are those of a new system of so many litres at the site's coldest working
    temperature; none below 50 or above 100,000 L. References: fao589, ebeling2006, practice.
    """
    found = [_priced(part) for part in plan.parts]
    carriers = sum(part.media_litres or 0.0 for part in plan.parts if part.kind == "moving_bed")
    if carriers:
        found.append(Item(PART, "carriers", carriers, "L"))
    found.append(Item(PART, "pipe", site.pipe_m, "m"))
    return (*found, *_first_supplies(plan, design, site))


def _priced(part: Part) -> Item:
    if part.kind in BY_LITRE:
        return Item(PART, part.kind, part.litres or 0.0, "L")
    if part.kind in BY_AREA:
        return Item(PART, part.kind, part.area_m2 or 0.0, "m²")
    return Item(PART, part.kind, 1.0, "")


def _first_supplies(plan: Plan, design: Design, site: Site) -> list[Item]:
    litres = sum(part.litres or 0.0 for part in plan.parts)
    if not LEAST_L <= litres <= MOST_L:
        return []
    of = Building(
        litres=litres,
        media_litres=sum(p.media_litres or 0.0 for p in plan.parts if p.kind == "gravel_bed"),
        bed_m2=design.of("beds").chosen,
        temp_c=min(max(site.summer_c, 15.0), 30.0),
        source_alkalinity=site.source_alkalinity or 0.0,
        source_chlorine=min(site.source_chlorine or 0.0, MOST_CHLORINE),
    )
    return [_as_sold(row) for row in supplies(of)]


def _as_sold(row: Supply) -> Item:
    """Return a supply by what it is sold by: what is weighed in kilograms, kits by the piece."""
    if row.unit == "g":
        return Item(SUPPLY, row.code, round(row.amount / 1000, 4), "kg")
    return Item(SUPPLY, row.code, row.amount, "" if row.unit == "kit" else row.unit)


def stands(plan: Plan) -> tuple[Stand, ...]:
    """Return what each vessel and bed takes of the floor and weighs on it. Reference: geometry.

    >>> from apps.calc.design.parts import Plan, Part
    >>> stands(Plan((Part("tank", litres=800), Part("raft", area_m2=4)), ()))[0]
    Stand(kind='tank', floor_m2=1.0, load_kg_m2=900.0)
    """
    found = []
    for part in plan.parts:
        if part.kind in DEPTHS_M and part.litres:
            depth = DEPTHS_M[part.kind]
            found.append(Stand(part.kind, part.litres / 1000 / depth, 1000 * depth + BOX_KG_M2))
        elif part.kind in BY_AREA and part.area_m2:
            found.append(Stand(part.kind, part.area_m2, FLOOR_KG_M2[part.kind]))
    return tuple(found)


def room_needed(standing: Iterable[Stand]) -> float:
    """Return the room that all parts take with the ways between them [m2]."""
    return rough(sum(stand.floor_m2 for stand in standing) * WAYS)
