"""What a reading means: its word, the band it is held against, and where it is heading.

Plain functions on floats and tables, so that a telephone can hold the same. A limit belongs to
the milder side: a value that equals it has not yet crossed it.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from apps.calc import ammonia
from apps.calc.statistics import theil_sen

IN_BAND = "in_band"
NEAR_EDGE = "near_edge"
OUT_OF_BAND = "out_of_band"
HARMFUL = "harmful"
MEASURE_AGAIN = "measure_again"
# from the mildest to the worst; "measure again" says nothing about the water
WORDS: tuple[str, ...] = (IN_BAND, NEAR_EDGE, OUT_OF_BAND, HARMFUL, MEASURE_AGAIN)

RISING, FALLING, STEADY, UNKNOWN = "rising", "falling", "steady", "unknown"

# The pH of a day is highest in the late afternoon; ammonia is judged as if it were 0.2 higher.
DAILY_PH_RISE = 0.2

# temperature band of each species; everything else follows from warm or cold water
TEMP_CONTEXTS: dict[str, str] = {
    "nile_tilapia": "tilapia",
    "common_carp": "carp",
    "koi": "carp",
    "goldfish": "carp",
    "channel_catfish": "catfish",
    "air_breathing_catfish": "air_breathing_catfish",
    "rainbow_trout": "trout",
    "barramundi": "barramundi",
    "jade_perch": "jade_perch",
    "silver_perch": "silver_perch",
    "murray_cod": "murray_cod",
    "largemouth_bass": "perch",
    "bluegill": "perch",
    "yellow_perch": "yellow_perch",
    # groups that stand for several of them
    "tilapia": "tilapia",
    "carp": "carp",
    "trout": "trout",
    "bass_perch": "perch",
}
# Tomasso 1986: catfish the most sensitive to nitrite; trout by FAO 589
NITRITE_SENSITIVE: frozenset[str] = frozenset({"channel_catfish", "rainbow_trout", "trout"})

# The change between two readings that is no trend: about the accuracy of kit or meter.
NOISE: dict[str, float] = {
    "temp": 1.0, "ph": 0.15, "alk": 10, "gh": 18, "tan": 0.15, "no2": 0.08, "no3": 5,
    "k": 10, "ca": 10, "mg": 5, "po4": 0.5, "fe": 0.2, "ec": 0.05, "do": 0.4, "na": 10, "cl": 10,
    "flow": 1, "flow_pct": 5, "level": 5,
}  # fmt: skip


@dataclass(frozen=True)
class Band:
    """Limits of a measurand in a context, each None when there is none.

    red_lo <= amber_lo <= t_lo <= t_hi <= amber_hi <= red_hi, in the measurand's base unit.
    """

    red_lo: float | None = None
    amber_lo: float | None = None
    t_lo: float | None = None
    t_hi: float | None = None
    amber_hi: float | None = None
    red_hi: float | None = None
    context: str = ""


@dataclass(frozen=True)
class LoopContext:
    """What decides the band of a loop.

    system_kind: coupled, decoupled, fish_only, plants_only; loop_kind: whole, fish, plant;
    species: codes of the fish in the loop; crop_groups: leafy, fruiting; cold: any cold-water
    fish; cycling: no fish yet and the filter is being brought in.
    """

    system_kind: str
    loop_kind: str
    species: tuple[str, ...] = ()
    crop_groups: tuple[str, ...] = ()
    cold: bool = False
    cycling: bool = False

    @property
    def has_fish(self) -> bool:
        """Fish live in the loop."""
        return bool(self.species)

    @property
    def is_plant_water(self) -> bool:
        """The loop carries plants and never fish."""
        return self.loop_kind == "plant" or self.system_kind == "plants_only"

    @property
    def is_fish_water(self) -> bool:
        """The loop carries fish (now or later) and no plants."""
        return self.loop_kind == "fish" or self.system_kind == "fish_only"

    @property
    def grows_plants(self) -> bool:
        """Plants take their nutrients from this loop."""
        return not self.is_fish_water


def judge(value: float, band: Band, trusted: bool = True) -> str:
    """Return the word for ``value`` in ``band``; an untrusted value is to be measured again.

    The limit itself belongs to the milder side. Source: the band's own.

    >>> judge(7.0, Band(t_lo=6.4, t_hi=7.0, amber_hi=7.6))
    'in_band'
    """
    if not trusted:
        return MEASURE_AGAIN
    below = _crossed_below(value, band)
    above = _crossed_above(value, band)
    return WORDS[max(below, above)]


def _crossed_below(value: float, band: Band) -> int:
    limits = (band.t_lo, band.amber_lo, band.red_lo)
    return max((i for i, x in enumerate(limits, 1) if x is not None and value < x), default=0)


def _crossed_above(value: float, band: Band) -> int:
    limits = (band.t_hi, band.amber_hi, band.red_hi)
    return max((i for i, x in enumerate(limits, 1) if x is not None and value > x), default=0)


def side(value: float, band: Band) -> str:
    """Return ``low`` or ``high`` when ``value`` lies outside the target, else an empty string."""
    if _crossed_below(value, band):
        return "low"
    return "high" if _crossed_above(value, band) else ""


def worst(words: Iterable[str]) -> str:
    """Return the worst of the words; with nothing trusted to say, ``measure_again``.

    >>> worst(["near_edge", "in_band", "measure_again"])
    'near_edge'
    """
    known = [word for word in words if word != MEASURE_AGAIN]
    return max(known, key=WORDS.index, default=MEASURE_AGAIN)


def highest_nh3(tan_mg_l: float, ph: float, temp_c: float) -> float:
    """Return un-ionised ammonia [mg/L N] at the day's highest pH, taken as ``ph`` + 0.2.

    Valid range: pH 3 to 10.8, else as :func:`apps.calc.ammonia.nh3_n`. References: emerson1975.

    >>> round(highest_nh3(1.0, 8.0, 28), 3)
    0.1
    """
    return ammonia.nh3_n(tan_mg_l, min(ph + DAILY_PH_RISE, 11.0), temp_c)


def judge_ammonia(
    tan_mg_l: float,
    band: Band,
    nh3_band: Band | None = None,
    ph: float | None = None,
    temp_c: float | None = None,
) -> str:
    """Return the word for total ammonia: the stricter of its own and that of its toxic share.

    The un-ionised share is taken at the day's highest pH. Without pH, temperature or a band for
    it, only total ammonia speaks. References: emerson1975, fao589.
    """
    word = judge(tan_mg_l, band)
    if nh3_band is None or ph is None or temp_c is None:
        return word
    return worst([word, judge(highest_nh3(tan_mg_l, ph, temp_c), nh3_band)])


def _fruit(loop: LoopContext) -> bool:
    return "fruiting" in loop.crop_groups


def _temp(loop: LoopContext) -> str:
    if loop.has_fish:
        return TEMP_CONTEXTS.get(loop.species[0], "")
    if loop.is_plant_water:
        return "fruit_roots" if _fruit(loop) else "leafy_roots"
    return "nitrifier"


def _ph(loop: LoopContext) -> str:
    if loop.is_plant_water:
        return "plant_loop"
    if loop.cycling:
        return "filter"
    return "fish_loop" if loop.is_fish_water else "coupled"


def _alk(loop: LoopContext) -> str:
    if loop.is_plant_water:
        return ""
    return "fish_loop" if loop.is_fish_water else "coupled"


def _nitrogen_fish(loop: LoopContext) -> str:
    if loop.has_fish:
        return "cold_fish" if loop.cold else "warm_fish"
    return "" if loop.is_plant_water else "cycling"


def _nh3(loop: LoopContext) -> str:
    return _nitrogen_fish(loop) if loop.has_fish else ""


def _no2(loop: LoopContext) -> str:
    if loop.has_fish:
        sensitive = loop.cold or bool(NITRITE_SENSITIVE.intersection(loop.species))
        return "nitrite_sensitive" if sensitive else "warm_fish"
    return "" if loop.is_plant_water else "cycling"


def _no3(loop: LoopContext) -> str:
    if loop.is_fish_water:
        return "fish_loop"
    if loop.cycling and not loop.is_plant_water:
        return ""  # a filter that is being brought in makes its first nitrate only at the end
    where = "plant_loop" if loop.is_plant_water else "coupled"
    return f"{where}_fruit" if _fruit(loop) else f"{where}_leafy"


def _do(loop: LoopContext) -> str:
    if loop.has_fish:
        return "cold_fish" if loop.cold else "warm_fish"
    return "root_zone" if loop.is_plant_water else "filter_outlet"


def _ec(loop: LoopContext) -> str:
    if loop.is_fish_water:
        return ""
    return _in_plant_loop(loop) or "coupled"


def _crop(loop: LoopContext) -> str:
    if not loop.grows_plants:
        return ""
    return "fruit" if _fruit(loop) else "leafy"


def _in_plant_loop(loop: LoopContext) -> str:
    """Return the context of what a recipe steers; empty where the water is the fish's, too."""
    if not loop.is_plant_water:
        return ""
    return "plant_loop_fruit" if _fruit(loop) else "plant_loop_leafy"


def _potassium(loop: LoopContext) -> str:
    return _in_plant_loop(loop) or _crop(loop)


def _salts(loop: LoopContext) -> str:
    return _in_plant_loop(loop) or _plants(loop)


def _plants(loop: LoopContext) -> str:
    return "plants" if loop.grows_plants else ""


def _any(loop: LoopContext) -> str:
    return "any"


def _density(loop: LoopContext) -> str:
    return "novice" if loop.has_fish else ""


_CONTEXTS = {
    "temp": _temp, "ph": _ph, "alk": _alk, "tan": _nitrogen_fish, "nh3": _nh3, "no2": _no2,
    "no3": _no3, "do": _do, "ec": _ec, "k": _potassium, "ca": _salts, "mg": _salts, "po4": _salts,
    "fe": _plants, "na": _any, "cl": _any, "chlorine": _any, "flow_pct": _any, "batt": _any,
    "density": _density, "feed_area": _crop,
}  # fmt: skip


def pick_context(measurand: str, loop: LoopContext) -> str:
    """Return the context of the band for ``measurand`` in that loop, empty when none applies.

    Several species in a loop: the stricter of warm and cold, of sensitive and not; the
    temperature band is that of the first.

    >>> pick_context("no2", LoopContext("coupled", "whole", species=("channel_catfish",)))
    'nitrite_sensitive'
    """
    chooser = _CONTEXTS.get(measurand)
    return chooser(loop) if chooser else ""


def trend(measurand: str, readings: Sequence[tuple[float, float]]) -> str:
    """Return rising, falling, steady or unknown for ``readings`` of (day, value), oldest first.

    Theil-Sen slope over the span, against the accuracy of the method; fewer than three readings
    or a span under a day say nothing. References: sen1968.

    >>> trend("ph", [(0, 6.9), (7, 6.8), (14, 6.6)])
    'falling'
    """
    if len(readings) < 3 or readings[-1][0] - readings[0][0] < 1:
        return UNKNOWN
    slope, _ = theil_sen([day for day, _ in readings], [value for _, value in readings])
    change = slope * (readings[-1][0] - readings[0][0])
    if abs(change) <= NOISE.get(measurand, 0.05 * abs(readings[0][1])):
        return STEADY
    return RISING if change > 0 else FALLING
