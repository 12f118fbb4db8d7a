"""What a new system takes before and in its first three months, beside its parts."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

from apps.calc.advice.cycling import BASE_TO_ALK, DOSE_TO_TAN, ready_day
from apps.calc.advice.doses import alkalinity_grams, grams_for
from apps.calc.commissioning.curve import curve
from apps.calc.feed import ALKALINITY_PER_N
from apps.calc.quantities import require_between
from apps.calc.water import dechlorinator_g

DAYS = 90
MEDIA_MORE = 1.1  # what washing and settling take (common practice)
FEED_DAYS = 45  # that an opened bag keeps, at the least (common practice)
FEED_G_M2 = 45.0  # the middle of 40 to 50 for leafy beds (fao589)
PLANTS_M2 = 25  # the upper end for leafy crops (fao589)
IRON_MG_L, IRON_EVERY_DAYS = 2.0, 21  # every three weeks (rakocy2007), 2 mg/L from memory
TEST_EVERY_DAYS, TESTS_A_KIT = 2, 50  # (common practice)


@dataclass(frozen=True)
class Building:
    """What the list is made for: water [L], media [L], planted beds [m2], the source water."""

    litres: float
    media_litres: float = 0.0
    bed_m2: float = 0.0
    temp_c: float = 25.0
    source_alkalinity: float = 0.0
    source_chlorine: float = 0.0
    fish: bool = True


@dataclass(frozen=True)
class Supply:
    """One line: the code of the catalogue's consumable, how much in which unit, and why."""

    code: str
    amount: float
    unit: str
    why: str


def supplies(of: Building) -> tuple[Supply, ...]:
    """Return the list in the order in which it is needed; what is not needed is left out.

    Ammonia by all the nitrogen that the expected curve takes until the filter is ready, and two
    test doses; base by the alkalinity that this uses and what the source water lacks of 80 mg/L;
    dechlorinator as for a water change. Valid range: litres 50 to 100,000, 10 to 32 °C; ValueError
    outside. References: ebeling2006, fao589, rakocy2007, chemistry, practice.

    >>> [(row.code, row.amount) for row in supplies(Building(1000, fish=True))][:2]
    [('ammonium_chloride', 88.0), ('potassium_bicarbonate', 490.0)]
    """
    require_between("litres", of.litres, 50.0, 100_000.0)
    found = [Supply("media", of.media_litres * MEDIA_MORE, "L", "media")]
    agent = dechlorinator_g(of.litres, of.source_chlorine, "sodium_thiosulfate")
    found.append(Supply("thiosulfate", agent, "g", "chlorine"))
    if of.fish:
        found += _filter(of)
        found.append(Supply("feed_pellets", of.bed_m2 * FEED_G_M2 * FEED_DAYS / 1000, "kg", "feed"))
    found += _plants(of) + _tests(of)
    return tuple(_rounded(row) for row in found if row.amount > 0)


def _filter(of: Building) -> list[Supply]:
    day = math.ceil(ready_day(of.temp_c))
    tan, no2, no3 = (row.middle[day] for row in curve(of.temp_c))
    lacks = max(0.0, BASE_TO_ALK - of.source_alkalinity)
    used = lacks + ALKALINITY_PER_N * (no2 + no3 + 2 * DOSE_TO_TAN)
    nitrogen = tan + no2 + no3 + 2 * DOSE_TO_TAN
    return [
        Supply("ammonium_chloride", grams_for("NH4Cl", "n", nitrogen, of.litres), "g", "ammonia"),
        Supply("potassium_bicarbonate", alkalinity_grams("KHCO3", used, of.litres), "g", "base"),
    ]


def _plants(of: Building) -> list[Supply]:
    doses = DAYS // IRON_EVERY_DAYS
    iron = grams_for("Fe-DTPA 11 %", "fe", IRON_MG_L, of.litres) * doses if of.bed_m2 else 0.0
    plants = math.ceil(of.bed_m2 * PLANTS_M2)
    return [
        Supply("iron_dtpa", iron, "g", "iron"),
        Supply("net_pots", plants, "", "plants"),
        Supply("plugs", plants, "", "plants"),
    ]


def _tests(of: Building) -> list[Supply]:
    tests = math.ceil(ready_day(of.temp_c) / TEST_EVERY_DAYS) + DAYS // 7
    kits = float(math.ceil(tests / TESTS_A_KIT))
    codes = ["reagent_ph"]
    if of.fish:
        codes = ["reagent_ammonia", "reagent_nitrite", "reagent_nitrate", *codes]
    found = [Supply(code, kits, "kit", "tests") for code in codes]
    once: Sequence[str] = (
        "titrant_alkalinity",
        "dpd_tablets",
        "buffer_ph",
        "standard_ec",
        "o_rings",
    )
    return found + [Supply(code, 1.0, "kit", "once") for code in once]


def _rounded(row: Supply) -> Supply:
    """Round up to what is bought: two figures, whole pieces."""
    if not row.unit or row.unit == "kit":
        return Supply(row.code, float(math.ceil(row.amount)), row.unit, row.why)
    step = 10.0 ** (math.floor(math.log10(row.amount)) - 1)
    return Supply(row.code, math.ceil(row.amount / step - 1e-9) * step, row.unit, row.why)
