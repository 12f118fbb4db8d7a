"""What each design is made of, and how the water goes through it."""

import itertools
from dataclasses import dataclass, field, replace

CODES = {"pump": "PU", "air_pump": "AI", "heater": "HE", "backup_air": "BA", "probe": "PR"}
MAKES = {
    "tank": "Quillbeck Rotomould", "settler": "Quillbeck Rotomould", "moving_bed": "Ostrel Filter",
    "static_media": "Ostrel Filter", "sump": "Quillbeck Rotomould", "pump": "Velm Pumps",
    "air_pump": "Ostrel Air", "backup_air": "Ostrel Air", "heater": "Harrow & Finch",
    "probe": "Dellory Instruments", "timer": "Harrow & Finch",
}  # fmt: skip
WARRANTY_YEARS = {"pump": 2, "air_pump": 2, "backup_air": 3, "heater": 2, "probe": 1, "tank": 10}


@dataclass(frozen=True)
class Part:
    """One component at scale 1; sizes that scale with the system are marked by `fixed=False`."""

    key: str
    kind: str
    name: str
    litres: float = 0.0
    area_m2: float = 0.0
    depth_m: float = 0.0
    media: str = ""
    media_litres: float = 0.0
    flow_l_h: float = 0.0
    lift_m: float = 0.0
    watts: float = 0.0


@dataclass(frozen=True)
class Pipe:
    """Water from part to part."""

    source: str
    target: str
    kind: str = "gravity"
    litres_per_hour: float = 0.0
    litres_per_day: float = 0.0
    one_way: bool = False


@dataclass(frozen=True)
class Build:
    """Parts by loop kind, and the pipes of the whole system."""

    loops: dict[str, tuple[Part, ...]]
    pipes: tuple[Pipe, ...]
    known_within_pct: float = 8.0
    beds: tuple[str, ...] = field(default=())


def _pump(flow: float, lift: float, watts: float, key: str = "pump", name: str = "Pump") -> Part:
    return Part(key, "pump", name, flow_l_h=flow, lift_m=lift, watts=watts)


TANK = Part("tank", "tank", "Fish tank", 1000, depth_m=0.85)
SETTLER = Part("settler", "settler", "Settler", 90)
MOVING = Part("moving_bed", "moving_bed", "Moving bed", 110, media="moving_bed", media_litres=62)
STATIC = Part(
    "static", "static_media", "Static media filter", 120, media="bioballs", media_litres=70
)
SUMP = Part("sump", "sump", "Sump", 180)
AIR = Part("air", "air_pump", "Air pump", flow_l_h=1800, watts=18)
VALVE = Part("valve", "valve", "Return valve")
RAFT = Part("raft", "raft", "Raft bed", 950, 3.2, 0.3)
GRAVEL = Part("gravel", "gravel_bed", "Gravel bed", 380, 3.2, 0.3, "gravel", 900)
SIPHON = Part("siphon", "siphon", "Bell siphon")
CHANNELS = Part("channels", "channel", "Channels", 60, 2.8)


def _round(*names: str) -> tuple[Pipe, ...]:
    return tuple(Pipe(a, b) for a, b in itertools.pairwise(names))


BUILDS: dict[str, Build] = {
    "raft": Build(
        {"whole": (TANK, SETTLER, MOVING, RAFT, SUMP, _pump(980, 1.1, 32), AIR, VALVE)},
        (*_round("tank", "settler", "moving_bed", "raft", "sump", "pump"),
         Pipe("pump", "tank", "pumped", 980)),
        5.0, ("raft",),
    ),
    "gravel": Build(
        {"whole": (TANK, GRAVEL, SIPHON, SUMP, _pump(900, 1.3, 30), AIR)},
        (*_round("tank", "gravel", "sump", "pump"), Pipe("pump", "tank", "pumped", 900)),
        9.0, ("gravel",),
    ),
    "gravel_raft": Build(
        {"whole": (TANK, GRAVEL, SIPHON, RAFT, SUMP, _pump(1020, 1.2, 36), AIR, VALVE)},
        (*_round("tank", "gravel", "raft", "sump", "pump"), Pipe("pump", "tank", "pumped", 1020)),
        8.0, ("gravel", "raft"),
    ),
    "channels": Build(
        {"whole": (TANK, SETTLER, STATIC, SUMP, _pump(940, 1.4, 34),
                   CHANNELS, AIR)},
        (*_round("tank", "settler", "static", "sump", "pump"),
         Pipe("pump", "tank", "pumped", 640), Pipe("pump", "channels", "pumped", 300),
         Pipe("channels", "sump")),
        7.0, ("channels",),
    ),
    "decoupled": Build(
        {
            "fish": (TANK, SETTLER, MOVING, SUMP, _pump(950, 1.0, 32), AIR),
            "plant": (
                Part("plant_tank", "sump", "Plant tank", 260),
                _pump(520, 1.0, 22, "plant_pump", "Plant pump"),
                Part("channels", "channel", "Channels", 70, 3.0),
                Part("raft", "raft", "Raft bed", 420, 1.6, 0.28),
            ),
        },
        (*_round("tank", "settler", "moving_bed", "sump", "pump"),
         Pipe("pump", "tank", "pumped", 950),
         Pipe("sump", "plant_tank", "by_hand", litres_per_day=32, one_way=True),
         *_round("plant_tank", "plant_pump"), Pipe("plant_pump", "channels", "pumped", 520),
         *_round("channels", "raft", "plant_tank")),
        6.0, ("channels", "raft"),
    ),
    "nursery": Build(
        {"fish": (TANK, SETTLER, MOVING, SUMP, _pump(1050, 0.9, 34), AIR, VALVE)},
        (*_round("tank", "settler", "moving_bed", "sump", "pump"),
         Pipe("pump", "tank", "pumped", 1050)),
        5.0,
    ),
    "pond": Build(
        {"fish": (Part("tank", "tank", "Pond", 1000, depth_m=1.2),
                  Part("static", "static_media", "Filter basin", 90, media="bioballs",
                       media_litres=48),
                  _pump(520, 0.8, 28), AIR)},
        (*_round("tank", "static", "pump"), Pipe("pump", "tank", "pumped", 520)),
        10.0,
    ),
    "nutrient": Build(
        {"plant": (Part("plant_tank", "sump", "Nutrient tank", 240),
                   _pump(480, 1.1, 20, "plant_pump", "Plant pump"),
                   Part("channels", "channel", "Channels", 60, 2.4),
                   Part("raft", "raft", "Raft bed", 360, 1.5, 0.26))},
        (*_round("plant_tank", "plant_pump"), Pipe("plant_pump", "channels", "pumped", 480),
         *_round("channels", "raft", "plant_tank")),
        6.0, ("channels", "raft"),
    ),
}  # fmt: skip

# what a climate or a place adds
HEATER = Part("heater", "heater", "Heater", watts=500)
BACKUP = Part("backup", "backup_air", "Backup air", watts=12)
SHADE = Part("shade", "shade", "Shade cloth")
TIMER = Part("timer", "timer", "Flood timer")
PROBE = Part("probe", "probe", "pH probe")
HEATED = ("house", "perch_house", "catfish_house")
WITH_BACKUP = (
    "marsh", "ruiz", "brandt", "dunmore", "lindqvist", "cafe_yard", "iversen", "school_tunnel",
    "okafor", "nyberg", "bello", "clarke", "gallo",
)  # fmt: skip
WITH_PROBE = ("tennant", "dunmore", "cafe_yard", "school_tunnel")
WITH_TIMER = ("fischer", "quist", "murray")


# small eaters carry small beds: share of the design's bed
BED_SHARE = {
    "goldfish": 0.34, "koi": 0.34, "common_carp": 0.5, "silver_perch": 0.62, "yellow_perch": 0.6,
    "jade_perch": 0.85,
}  # fmt: skip


def fitted(part: Part, fish: str) -> Part:
    """Return a part of a coupled system with its bed sized for its fish."""
    share = BED_SHARE.get(fish, 1.0)
    if not part.area_m2 or share == 1.0:
        return part
    return replace(
        part, area_m2=part.area_m2 * share, litres=part.litres * share,
        media_litres=part.media_litres * share,
    )  # fmt: skip


def parts_of(design: str, key: str, climate: str, fish: str) -> dict[str, tuple[Part, ...]]:
    """Return loop kind -> parts of a system: its design and what its place adds."""
    loops = {}
    for index, (kind, parts) in enumerate(BUILDS[design].loops.items()):
        if kind == "whole":
            parts = tuple(fitted(part, fish) for part in parts)
        more: list[Part] = []
        if index == 0:
            more += [HEATER] if climate in HEATED else []
            more += [SHADE] if climate == "outdoor" else []
            more += [BACKUP] if key in WITH_BACKUP else []
            more += [PROBE] if key in WITH_PROBE else []
            more += [TIMER] if key in WITH_TIMER else []
        loops[kind] = (*parts, *more)
    return loops


def litres_of(design: str, loop: str, scale: float, fish: str) -> float:
    """Return the litres that mix in a loop."""
    parts = BUILDS[design].loops[loop]
    sized = [fitted(part, fish) for part in parts] if loop == "whole" else parts
    return sum(part.litres for part in sized) * scale
