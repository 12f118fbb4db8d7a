"""Rules on oxygen and on fish at the surface."""

from apps.calc import feed, oxygen
from apps.calc.advice.doses import dose_explanation
from apps.calc.advice.facts import Facts
from apps.calc.advice.guards import Refusal, water_change
from apps.calc.advice.registry import FISH_NOW, FISH_SOON, REST, Act, rule
from apps.calc.advice.results import (
    CLIENT,
    FISH_HEALTH,
    GOOD_TO_KNOW,
    NOW,
    SOON,
    TECHNICIAN,
    TODAY,
    Explanation,
)
from apps.calc.advice.shared import CHANGE_CAUTIONS

WARM_WATER_C = 28.0
# what water in balance with air holds, and a little over; above it gas or algae add to it
# (gas criterion of the US EPA's Quality Criteria for Water 1986, from memory)
MOST_BY_ITSELF_PCT = 110.0
AIR_G_PER_H_L_MIN = 0.12  # oxygen that a litre of air a minute brings, small tanks, cautious
HOURS_A_DAY = 24.0


@rule(
    "oxygen_emergency", ref="R17", urgency=NOW, who=CLIENT, source="fao589", priority=FISH_NOW,
    recheck_hours=0.5, answers=("do.low",), cautions=("air_on", "no_oxygen_chemicals"),
)  # fmt: skip
def oxygen_emergency(f: Facts) -> Act | None:
    """Oxygen below the harmful limit: pump or air failed, or too many fish."""
    if not f.has_fish or not f.below("do", f.band("do").red_lo):
        return None
    params: dict[str, float | str] = {"do": f.v("do") or 0.0}
    if f.minutes_without_air is not None:
        params["minutes"] = f.minutes_without_air
    return Act(params, feed_percent=0, feed_hours=24)


@rule(
    "oxygen_low", ref="R16", urgency=TODAY, who=CLIENT, source="benson1984", priority=FISH_SOON,
    recheck_hours=24, answers=("do.low",), cautions=("air_on",),
)  # fmt: skip
def oxygen_low(f: Facts) -> Act | None:
    """Oxygen out of its band: warm water holds less, and everything breathes at night."""
    band, do = f.band("do"), f.v("do")
    if not f.has_fish or do is None or band.red_lo is None or band.amber_lo is None:
        return None
    if not band.red_lo <= do < band.amber_lo:
        return None
    params: dict[str, float | str] = {"do": do, "feed_from": f.no_feed_oxygen}
    temp = f.v("temp")
    if temp is not None and temp >= WARM_WATER_C:
        params["warm_c"] = temp
        params["holds"] = oxygen.saturation_mg_l(temp, f.s.altitude_m)
    if f.density is not None and f.density > 15 and f.loop.tank_l:
        params["harvest_kg"] = f.biomass_kg - 15 * f.loop.tank_l / 1000
    return Act(params, feed_percent=0, feed_hours=24)


@rule(
    "oxygen_of_cold_water", urgency=GOOD_TO_KNOW, who=CLIENT, source="benson1984", priority=REST,
    recheck_hours=336, answers=("do.high",), wet=False,
)  # fmt: skip
def oxygen_of_cold_water(f: Facts) -> Act | None:
    """Oxygen over its band, and no more than water so cold holds by itself."""
    do, full = f.v("do"), f.do_pct
    if do is None or full is None or f.side("do") != "high" or full > MOST_BY_ITSELF_PCT:
        return None
    return Act({"do": do, "percent": full})


def _readings_good(f: Facts) -> bool:
    no2, do = f.v("no2"), f.v("do")
    known = no2 is not None and do is not None and f.nh3_highest is not None
    if not known or no2 is None or do is None or f.nh3_highest is None:
        return False
    fine = do >= (f.band("do").amber_lo or 0.0) and no2 < 0.3
    return fine and f.nh3_highest < 0.05


@rule(
    "gasping_water_good", ref="R18", urgency=NOW, who=TECHNICIAN, source="practice",
    priority=FISH_NOW, recheck_hours=2, cautions=("no_random_medicine", "air_on"),
)  # fmt: skip
def gasping_water_good(f: Facts) -> Act | None:
    """Fish gasp though oxygen, nitrite and ammonia are good: gills, chlorine, gas or spray."""
    if not f.has_fish or not f.has("fish_gasping") or not _readings_good(f):
        return None
    plan = water_change(f, 0.3)
    if isinstance(plan, Refusal):
        return Act({"no_change": plan.code}, feed_percent=0, feed_hours=24)
    return Act(
        {"percent": 100 * plan.fraction, "litres": plan.litres, "parts": float(plan.steps),
         "dechlorinator_g": plan.dechlorinator_g},
        change_fraction=plan.fraction, cautions=CHANGE_CAUTIONS, feed_percent=0, feed_hours=24,
    )  # fmt: skip


@rule(
    "gasping", urgency=NOW, who=CLIENT, source="fao589", priority=FISH_NOW, recheck_hours=0.5,
    cautions=("air_on", "no_oxygen_chemicals"),
)  # fmt: skip
def gasping(f: Facts) -> Act | None:
    """Fish gasp and the readings do not clear the water: air first, then find the cause."""
    if not f.has_fish or not f.has("fish_gasping") or _readings_good(f):
        return None
    return Act({}, feed_percent=0, feed_hours=24)


@rule(
    "gills_to_fish_health", urgency=TODAY, who=FISH_HEALTH, source="practice",
    priority=FISH_SOON, recheck_hours=48, cautions=("no_random_medicine",), wet=False,
)  # fmt: skip
def gills_to_fish_health(f: Facts) -> Act | None:
    """Gasping in good water asks for somebody who can look at gills."""
    gasps = f.has_fish and f.has("fish_gasping") and _readings_good(f)
    return Act({}) if gasps else None


@rule(
    "oxygen_short_for_feed", ref="R58", urgency=SOON, who=TECHNICIAN, source="timmons",
    priority=FISH_SOON, recheck_hours=168,
)  # fmt: skip
def oxygen_short_for_feed(f: Facts) -> Act | None:
    """The feed asks for more oxygen than the air brings in a day."""
    if not f.has_fish or not f.feed_g_day or f.loop.air_l_min is None:
        return None
    supply = f.loop.air_l_min * AIR_G_PER_H_L_MIN * HOURS_A_DAY
    demand = feed.oxygen_g_day(f.feed_g_day)
    if demand <= supply:
        return None
    carried = supply / feed.OXYGEN_PER_FEED
    explanation: Explanation = dose_explanation(
        "air_supply",
        {"feed_g_day": f.feed_g_day, "air_l_min": f.loop.air_l_min, "demand": demand,
         "supply": supply},
        "timmons", "air_transfer",
    )  # fmt: skip
    return Act(
        {"demand": demand, "supply": supply, "feed_g": carried,
         "air_l_min": 1.5 * demand / HOURS_A_DAY / AIR_G_PER_H_L_MIN},
        explanation=explanation,
    )  # fmt: skip
