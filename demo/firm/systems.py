"""The forty systems: where, what kind, how big, what lives in them, how often somebody comes."""

from dataclasses import dataclass

from demo.firm.people import HOMES

YEAR = 364


@dataclass(frozen=True)
class Spec:
    """One system. `ago`: days since the last visit; `next_in`: days to the next, None by rhythm,
    -1 not booked; `scale` multiplies the sizes of the design; `started`: days ago."""

    key: str
    home: str
    name: str
    design: str
    scale: float
    fish: str
    crops: tuple[str, ...]
    climate: str
    ago: int
    every: int = 14
    next_in: int | None = None
    started: int = YEAR + 300

    @property
    def kind(self) -> str:
        """The kind of system that the design makes."""
        kinds = {"decoupled": "decoupled", "pond": "fish_only", "nursery": "fish_only",
                 "nutrient": "plants_only"}  # fmt: skip
        return kinds.get(self.design, "coupled")


LEAFY = ("lettuce_loose_leaf", "pak_choi")
HERBS = ("basil", "parsley")
GREENS = ("swiss_chard", "kale")
SALAD = ("rocket", "mizuna")
FRUIT = ("tomato", "cucumber")

SPECS: tuple[Spec, ...] = (
    # --- what the due list speaks of
    Spec("marsh", "marsh", "Courtyard system", "raft", 1.2, "nile_tilapia", LEAFY, "house", 2,
         next_in=-1),
    Spec("ruiz", "ruiz", "Quarry garden", "gravel_raft", 1.0, "nile_tilapia", GREENS, "house", 4,
         next_in=3),
    Spec("clarke", "clarke", "Lock garden", "raft", 0.8, "jade_perch", LEAFY, "perch_house", 21,
         next_in=0),
    Spec("moreau", "moreau", "Station Rise", "gravel", 0.7, "goldfish", GREENS, "outdoor", 25,
         next_in=-1),
    Spec("bello", "bello", "Back terrace", "raft", 0.9, "nile_tilapia", SALAD, "house", 2,
         next_in=1),
    Spec("osei", "osei", "Kiln Street greenhouse", "channels", 1.0, "common_carp",
         ("lettuce_head", "basil"), "outdoor", 5, next_in=6),
    Spec("varga", "varga", "Chalk Pit garden", "gravel_raft", 0.9, "common_carp", GREENS, "outdoor",
         6, next_in=8),
    Spec("hollis", "hollis", "Barn system", "decoupled", 1.1, "silver_perch", FRUIT, "greenhouse",
         10, next_in=4),
    Spec("amadi", "amadi", "Long Acre 40", "raft", 1.0, "nile_tilapia", LEAFY, "house", 14,
         next_in=0),
    Spec("petrov", "petrov", "Mossgate patio", "gravel", 0.8, "koi", HERBS, "outdoor", 15,
         next_in=0),
    Spec("sato", "sato", "Lantern Close", "channels", 0.8, "silver_perch", LEAFY, "greenhouse", 14,
         next_in=0),
    # --- the other stories
    Spec("brandt", "brandt", "Tanner's Row", "raft", 1.0, "nile_tilapia", LEAFY, "house", 3),
    Spec("dunmore", "dunmore", "Hill tunnel", "decoupled", 1.4, "silver_perch", FRUIT,
         "greenhouse", 8),
    Spec("tennant", "tennant", "Ferry Steps", "gravel_raft", 1.1, "jade_perch", SALAD, "perch_house", 7),
    Spec("keller", "keller", "Old Tannery", "raft", 0.9, "yellow_perch", GREENS, "cool_house", 9),
    Spec("murray", "murray", "Quarry Lane 52", "gravel", 1.0, "silver_perch", HERBS, "greenhouse",
         4),
    Spec("novak", "novak", "Heron Walk", "gravel", 0.9, "common_carp", SALAD, "outdoor", 11),
    Spec("kim", "kim", "New system", "raft", 0.8, "", (), "house", 3, every=7, started=24),
    # --- the school's three and the café's two
    Spec("school_hall", "school", "Hall aquarium bed", "gravel", 0.5, "goldfish", HERBS, "indoor",
         9),
    Spec("school_tunnel", "school", "Tunnel", "decoupled", 1.2, "common_carp", LEAFY, "greenhouse",
         9),
    Spec("school_lab", "school", "Science room racks", "nutrient", 0.4, "", SALAD, "indoor", 9),
    Spec("cafe_yard", "cafe", "Yard fish", "nursery", 1.3, "jade_perch", (), "house", 13,
         next_in=0),
    Spec("cafe_wall", "cafe", "Herb wall", "nutrient", 0.7, "", HERBS, "indoor", 13, next_in=0),
    # --- quiet ones
    Spec("lindqvist", "lindqvist", "Mill Yard", "raft", 1.3, "nile_tilapia", LEAFY, "house", 1),
    Spec("young", "young", "Orchard pond", "pond", 3.0, "koi", (), "outdoor", 17, every=28),
    Spec("young_beds", "young", "Orchard beds", "nutrient", 1.1, "", LEAFY, "cool_indoor", 17,
         every=28),
    Spec("costa", "costa", "Vine Terrace roof", "channels", 0.7, "jade_perch", SALAD, "perch_house", 1),
    Spec("fischer", "fischer", "Bell Court", "gravel", 0.6, "goldfish", GREENS, "outdoor", 12,
         next_in=0),
    Spec("rao", "rao", "Kiln Street 71", "raft", 1.0, "nile_tilapia", HERBS, "house", 10),
    Spec("gallo", "gallo", "Hob's End pond", "pond", 4.0, "common_carp", (), "outdoor", 8,
         every=28),
    Spec("meyer", "meyer", "Glasshouse", "nutrient", 1.3, "", FRUIT, "warm_indoor", 6),
    Spec("haddad", "haddad", "Rope Walk", "gravel_raft", 0.9, "nile_tilapia", LEAFY, "house", 5),
    Spec("iversen", "iversen", "Cellar raceway", "nursery", 1.5, "rainbow_trout", (), "cellar", 7),
    Spec("jansen", "jansen", "Sedge End", "gravel", 0.8, "koi", GREENS, "outdoor", 20, every=28),
    Spec("lopez", "lopez", "Vine Terrace 27", "raft", 0.8, "jade_perch", SALAD, "perch_house", 2),
    Spec("nyberg", "nyberg", "Mossgate Green", "decoupled", 1.0, "nile_tilapia", FRUIT, "house",
         11),
    Spec("okafor", "okafor", "Long Acre 66", "channels", 1.0, "nile_tilapia", LEAFY, "house", 12),
    Spec("price", "price", "Jetty system", "gravel_raft", 1.0, "channel_catfish", GREENS,
         "catfish_house", 6, started=210),
    Spec("quist", "quist", "Heron Walk 2", "gravel", 0.7, "goldfish", HERBS, "outdoor", 3, every=28),
    Spec("almshouse", "almshouse", "Greenhouse", "nutrient", 1.6, "", GREENS, "cool_indoor", 9,
         started=160),
)  # fmt: skip
BY_KEY = {spec.key: spec for spec in SPECS}


def at_home(home: str) -> list[Spec]:
    """Return the systems of one place, in order."""
    return [spec for spec in SPECS if spec.home == home]


def homes_with_systems() -> list[str]:
    """Return the places in the order of the firm's book."""
    return [home.key for home in HOMES if at_home(home.key)]
