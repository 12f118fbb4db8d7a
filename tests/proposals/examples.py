"""Three wishes as clients have them, each with its site: what the office types and what must come."""

from dataclasses import dataclass, field

SITE = {
    "on": "2026-06-10", "surveyed_by": "Ana Reyes", "rev": "0", "consent": "own", "rcd": "trips",
    "earthed": "yes", "source": "tap", "ph": "7.4", "total_chlorine_mg_l": "0.4", "sun_hours": "6", "narrowest_m": "1.1",
    "drain": "garden", "outage_h_month": "0.5", "ground": "slab",
}  # fmt: skip
PRICES = {
    "tank": "0.55", "settler": "240", "moving_bed": "0.60", "carriers": "0.95", "raft": "58",
    "gravel_bed": "74", "sump": "0.5", "pump": "89", "air_pump": "139", "backup_air": "165",
    "pipe": "7.2", "media": "0.18", "ammonium_chloride": "9", "potassium_bicarbonate": "6.5",
    "feed_pellets": "2.4", "iron_dtpa": "28", "net_pots": "0.12", "plugs": "0.08",
    "thiosulfate": "7", "reagent_ammonia": "14", "reagent_nitrite": "12", "reagent_nitrate": "15",
    "reagent_ph": "9", "titrant_alkalinity": "11", "dpd_tablets": "16", "buffer_ph": "13",
    "standard_ec": "12", "o_rings": "18",
}  # fmt: skip


@dataclass(frozen=True)
class Example:
    """A survey, a wish, and what follows by hand.

    `sizes`: code -> (from, to); `quantities`: code -> how many of its unit; `says` and `silent`:
    words that the paper must have, and must not.
    """

    name: str
    survey: dict[str, str]
    wish: dict[str, str]
    sizes: dict[str, tuple[float, float]]
    quantities: dict[str, float]
    says: tuple[str, ...] = ()
    silent: tuple[str, ...] = field(default=())


EXAMPLES = (
    # 6 m² at 40 to 50 g/m² a day; fish at 1 and 2 % of 270 g; tank at 10 and 20 kg/m³ of 18 kg; TAN
    # 0.27 kg x 30 % x 92; water of the rafts 0.3 m deep; oxygen 0.6 and 0.7 of the feed; base by
    # 7.14; 20 to 25 heads a m² in 28 to 42 days; feed for 45 days at 45 g/m²; 25 pots a m²
    Example(
        name="Family greens",
        survey={"wants": "Salad for six, all summer", "species": "nile_tilapia",
                "allowed": "permit", "length_m": "7", "width_m": "4", "winter_c": "18",
                "summer_c": "30", "alkalinity_mg_l_caco3": "90"},
        wish={"by": "beds", "amount": "6", "crop_group": "leafy", "crop": "lettuce_loose_leaf",
              "bed_kind": "raft", "species": "nile_tilapia", "winter_c": "18", "summer_c": "30",
              "lift_m": "1.5", "pipe_m": "6"},
        sizes={"feed": (240, 300), "fish": (13.5, 27), "tank": (900, 1800), "tan": (7.452, 7.452),
               "bed_water": (1800, 1800), "oxygen": (162, 189), "feed_month": (7.2, 9),
               "sludge": (18.9, 47.25)},
        quantities={"tank": 1200, "raft": 6, "sump": 180, "pipe": 6, "net_pots": 150,
                    "feed_pellets": 13},
        says=("These fish want a permit", "battery air"),
        silent=("engineer", "source water is not measured", "not earthed"),
    ),
    # 50 kg a year of fish that take so many months: biomass = 50 x months / 12, at 1 and 2 % a day;
    # beds at 45 g/m², the middle of 40 to 50
    Example(
        name="Carp for the table",
        survey={"wants": "A carp every week", "species": "common_carp", "allowed": "free",
                "length_m": "9", "width_m": "5", "winter_c": "12", "summer_c": "26",
                "alkalinity_mg_l_caco3": "60"},
        wish={"by": "fish", "amount": "50", "crop_group": "leafy", "crop": "", "bed_kind": "raft",
              "species": "common_carp", "winter_c": "12", "summer_c": "26", "lift_m": "1.5",
              "pipe_m": "8"},
        sizes={"fish_year": (40, 50)},
        quantities={"pipe": 8},
        says=("battery air",),
        silent=("permit:", "engineer", "A heater of"),
    ),
    # 6 m² of room, half of it beds: 3 m² at 40 to 50; gravel 0.3 m deep and a tenth more; the sump
    # takes what runs down, 0.3 m x 0.83 x 45 % voids, and a fifth
    Example(
        name="Small room",
        survey={"wants": "Something for the class room", "species": "nile_tilapia",
                "allowed": "not_asked", "length_m": "3", "width_m": "2", "winter_c": "21",
                "summer_c": "27", "alkalinity_mg_l_caco3": "80", "ground": "floor",
                "floor_kg_m2": "500"},
        wish={"by": "room", "amount": "6", "crop_group": "leafy", "crop": "lettuce_loose_leaf",
              "bed_kind": "gravel_bed", "species": "nile_tilapia", "winter_c": "21",
              "summer_c": "27", "floor_kg_m2": "500", "lift_m": "1.2", "pipe_m": "5"},
        sizes={"feed": (120, 150), "fish": (6.75, 13.5), "tank": (450, 900),
               "bed_water": (336.15, 336.15), "sump": (403.38, 504.225)},
        quantities={"tank": 600, "gravel_bed": 3, "media": 990, "net_pots": 75, "sump": 400},
        says=("an engineer's letter", "Nobody has asked yet"),
        silent=("A heater of",),
    ),
)  # fmt: skip
