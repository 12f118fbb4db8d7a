"""Clients, contacts and places of the demo firm. Every name, street and village is invented."""

import datetime as dt
from dataclasses import dataclass

# an invented grid on the open sea, so that no real address is meant
LATITUDE, LONGITUDE = 44.600, -12.400
KM_NORTH, KM_EAST = 1 / 111.2, 1 / 79.4

FIRM = {
    "name": "Reed & Roach", "street": "Weir Lane 4", "town": "Tarnwick",
    "phone": "0555 0100", "emergency_phone": "0555 0199", "email": "office@reedandroach.example",
    "currency": "EUR",
}  # fmt: skip
STAFF = (
    ("office", "office", "Imke", "Reed", "0555 0101", ""),
    ("ana", "technician", "Ana", "Sorrell", "0555 0111", "Tarnwick"),
    ("marek", "technician", "Marek", "Thole", "0555 0112", "Oldferry"),
)


@dataclass(frozen=True)
class Water:
    """A source water as measured: pH, alkalinity and hardness in mg/L CaCO3, chlorine in mg/L."""

    ph: float
    alk: float
    hardness: float
    nitrate_n: float
    chlorine: float = 0.0
    chloramine: bool = False
    temp_c: float = 13.0


WATERS = {
    "town": Water(7.4, 88, 120, 2.0, chlorine=0.15),
    "ferry": Water(7.7, 96, 140, 2.4, chlorine=0.8, chloramine=True),
    "well": Water(8.2, 262, 330, 4.1, temp_c=11.0),
    "rain": Water(6.7, 24, 20, 0.4, temp_c=12.0),
    "spring": Water(7.2, 70, 95, 1.1, temp_c=10.0),
}


@dataclass(frozen=True)
class Home:
    """A client, one contact and one place. `at` is (km east, km north) of the market square."""

    key: str
    client: str
    contact: str
    street: str
    town: str
    at: tuple[float, float]
    water: str = "town"
    kind: str = "household"
    place: str = ""
    units: str = "metric"
    language: str = "en"
    notes: str = ""
    gate: str = ""
    dog: bool = False
    hours: tuple[tuple[int, int, int], ...] = ()
    second: str = ""

    @property
    def email(self) -> str:
        """The contact's address under a domain that cannot exist."""
        first, last = self.contact.lower().split()[0], self.contact.lower().split()[-1]
        return f"{first}.{last}@{self.key.replace('_', '-')}.example"

    @property
    def place_name(self) -> str:
        """What the place is called."""
        return self.place or f"{self.client}, garden"


WEEKDAYS = (1, 2, 3, 4, 5)
SCHOOL_HOURS = tuple((day, 8, 16) for day in WEEKDAYS)
CAFE_HOURS = tuple((day, 7, 11) for day in (1, 2, 3, 4, 5, 6))
LATE_HOURS = tuple((day, 13, 18) for day in WEEKDAYS)

HOMES: tuple[Home, ...] = (
    Home("marsh", "Ottoline Marsh", "Ottoline Marsh", "Weir Lane 31", "Tarnwick", (0.4, 0.7),
         notes="Side door, the key hangs with the neighbour at number 33."),
    Home("brandt", "Henk and Lise Brandt", "Lise Brandt", "Tanner's Row 8", "Tarnwick", (1.1, -0.3)),
    Home("school", "Tarnwick Lower School", "Perpetua Quill", "Schoolfield 1", "Tarnwick",
         (-0.8, 1.2), kind="school", place="Tarnwick Lower School", hours=SCHOOL_HOURS,
         notes="Sign in at the porter's desk; no visits during the fire drill on the first Monday.",
         second="Aldous Fenn"),
    Home("cafe", "The Wet Heron", "Bram Oakhill", "Market Square 9", "Tarnwick", (0.0, 0.1),
         kind="cafe", place="Café The Wet Heron, yard", hours=CAFE_HOURS,
         notes="Through the kitchen; shoes off at the cold store."),
    Home("ruiz", "Pilar Ruizdal", "Pilar Ruizdal", "Quarry Lane 14", "Oldferry", (5.2, 2.1),
         water="ferry", dog=True, notes="The dog is called Biscuit and means well."),
    Home("tennant", "Edgar Tennwright", "Edgar Tennwright", "Ferry Steps 3", "Oldferry", (5.9, 2.8),
         water="ferry", gate="4417"),
    Home("osei", "Abena and Kofi Osewell", "Abena Osewell", "Kiln Street 22", "Tarnwick",
         (1.9, 0.9)),
    Home("lindqvist", "Solveig Lindmere", "Solveig Lindmere", "Mill Yard 2", "Tarnwick",
         (-0.3, -0.9), units="us"),
    Home("hollis", "The Hollis family", "Wren Hollis", "Sedge End 5", "Low Sedge", (-4.4, -1.6),
         water="rain", notes="Park at the barn; the lane floods after rain."),
    Home("amadi", "Chidi Amadine", "Chidi Amadine", "Long Acre 40", "Tarnwick", (2.4, -1.1)),
    Home("varga", "Ilona Vargason", "Ilona Vargason", "Chalk Pit Road 7", "Mossgate", (3.1, -5.8),
         water="well", notes="Hard well water; the rain barrel stands behind the shed."),
    Home("petrov", "Mila Petrell", "Mila Petrell", "Chalk Pit Road 19", "Mossgate", (3.4, -6.0),
         water="town"),
    Home("dunmore", "Fergal Dunmarrow", "Fergal Dunmarrow", "Crannock Hill 1", "Crannock",
         (-6.1, 3.7), water="spring", gate="0902"),
    Home("sato", "Haru Satomi", "Haru Satomi", "Lantern Close 6", "Tarnwick", (0.9, 1.8)),
    Home("keller", "Jost Kellerby", "Jost Kellerby", "Old Tannery 11", "Tarnwick", (1.3, 0.2),
         hours=LATE_HOURS, notes="Works in the mornings; home from one o'clock."),
    Home("novak", "Zora Novakin", "Zora Novakin", "Heron Walk 17", "Low Sedge", (-4.9, -2.2),
         water="rain", dog=True),
    Home("bello", "Tunde Bellory", "Tunde Bellory", "Station Rise 28", "Tarnwick", (-1.6, -0.4)),
    Home("murray", "Isla Murrow", "Isla Murrow", "Quarry Lane 52", "Oldferry", (5.6, 1.7),
         water="ferry"),
    Home("costa", "Rui Costello", "Rui Costello", "Vine Terrace 4", "Tarnwick", (0.2, -1.5)),
    Home("young", "Dee and Pat Youngren", "Pat Youngren", "Orchard Bank 9", "Crannock",
         (-5.7, 3.1), water="spring", units="us"),
    Home("fischer", "Anselm Fischbeck", "Anselm Fischbeck", "Bell Court 3", "Tarnwick", (0.7, -0.6)),
    Home("rao", "Leela Raoul", "Leela Raoul", "Kiln Street 71", "Tarnwick", (2.2, 1.3)),
    Home("gallo", "Nico Gallowen", "Nico Gallowen", "Hob's End 2", "Hob's End", (-2.9, -6.4),
         water="well"),
    Home("meyer", "Trude Meyerling", "Trude Meyerling", "Hob's End 15", "Hob's End", (-3.2, -6.1)),
    Home("clarke", "Winifred Clarkson", "Winifred Clarkson", "Lock Cottages 1", "Oldferry",
         (6.3, 3.0), water="ferry", notes="Rings once, then goes round to the back."),
    Home("haddad", "Samira Haddow", "Samira Haddow", "Rope Walk 33", "Tarnwick", (-0.9, 0.3),
         language="ar"),
    Home("iversen", "Nils Iverholt", "Nils Iverholt", "Upper Crannock 8", "Crannock", (-6.6, 4.4),
         water="spring", notes="The cellar steps are steep and wet; lamp on the left."),
    Home("jansen", "Grietje Jansbroek", "Grietje Jansbroek", "Sedge End 21", "Low Sedge",
         (-4.1, -1.9)),
    Home("kim", "Jiwoo Kimberel", "Jiwoo Kimberel", "Lantern Close 18", "Tarnwick", (1.0, 2.0)),
    Home("lopez", "Ines Lopestra", "Ines Lopestra", "Vine Terrace 27", "Tarnwick", (0.3, -1.8),
         language="es"),
    Home("moreau", "Odile Moreaux", "Odile Moreaux", "Station Rise 3", "Tarnwick", (-1.4, -0.7)),
    Home("nyberg", "Karl Nyboe", "Karl Nyboe", "Mossgate Green 12", "Mossgate", (2.7, -5.2)),
    Home("okafor", "Ngozi Okafield", "Ngozi Okafield", "Long Acre 66", "Tarnwick", (2.6, -1.4)),
    Home("price", "Gwyn Pricewell", "Gwyn Pricewell", "Ferry Steps 20", "Oldferry", (6.0, 2.4),
         water="ferry", units="us"),
    Home("quist", "Bodil Quistrup", "Bodil Quistgaard", "Heron Walk 2", "Low Sedge",
         (-4.6, -2.0), gate="7130"),
    Home("almshouse", "Tarnwick Almshouse Trust", "Cyril Amble", "Chapel Hill 1", "Tarnwick",
         (0.5, 1.0), kind="other", place="Almshouse greenhouse"),
)  # fmt: skip
BY_KEY = {home.key: home for home in HOMES}


def spot(home: Home) -> tuple[float, float]:
    """Return latitude and longitude of a place on the invented grid."""
    east, north = home.at
    return round(LATITUDE + north * KM_NORTH, 5), round(LONGITUDE + east * KM_EAST, 5)


def hours_of(home: Home) -> list[tuple[int, dt.time, dt.time]]:
    """Return the hours at which someone may come; none means any time."""
    return [(day, dt.time(opens), dt.time(closes)) for day, opens, closes in home.hours]
