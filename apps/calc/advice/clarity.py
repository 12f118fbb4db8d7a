"""Rules on chlorine, nitrate, salt and what the water looks and smells like."""

from apps.calc import water
from apps.calc.advice.doses import dose_explanation
from apps.calc.advice.facts import Facts
from apps.calc.advice.guards import CHLORAMINE_N
from apps.calc.advice.registry import FISH_NOW, FISH_SOON, PLANTS, Act, rule
from apps.calc.advice.results import CLIENT, NEXT_VISIT, NOW, SOON, TECHNICIAN, TODAY
from apps.calc.advice.shared import change_act

CHLORINE_LIMIT = 0.02  # mg/L; any colour is treated, above this at once


@rule(
    "chlorine_found", ref="R22", urgency=NOW, who=CLIENT, source="chemistry", priority=FISH_NOW,
    recheck_hours=0.25, answers=("chlorine.high",), cautions=("air_on", "chloramine_frees_ammonia"),
)  # fmt: skip
def chlorine_found(f: Facts) -> Act | None:
    """Any chlorine in the loop: the agent for all of its water."""
    chlorine = f.v("chlorine")
    if chlorine is None or chlorine <= 0 or f.plant_water:
        return None
    fresh = f.fresh("chlorine") is not None
    grams = water.dechlorinator_g(f.loop.volume_l, chlorine, "sodium_thiosulfate")
    calm = chlorine <= CHLORINE_LIMIT and not f.has("fish_gasping", "fish_lethargic")
    params: dict[str, float | str] = {
        "chlorine": chlorine,
        "ascorbic_g": water.dechlorinator_g(f.loop.volume_l, chlorine, "ascorbic_acid"),
        "freed_n": CHLORAMINE_N * chlorine,
    }
    if calm:
        params["repeat_test"] = 1.0
    return Act(
        params if fresh else {**params, "no_dose": "measure_first"},
        dose=grams if fresh else None,
        unit="g",
        substance="sodium thiosulfate",
        explanation=dose_explanation(
            "dechlorinate", {"chlorine": chlorine, "volume_l": f.loop.volume_l}, "chemistry"
        ),
        urgency=TODAY if calm else None,
    )


def _share_down(now: float, target: float, source: float) -> float:
    if source >= target or now <= target:
        return 0.0
    return water.change_fraction(now, target, source)


@rule(
    "nitrate_high", ref="R33", urgency=NEXT_VISIT, who=TECHNICIAN, source="chemistry",
    priority=PLANTS, recheck_hours=336, answers=("no3.high",),
)  # fmt: skip
def nitrate_high(f: Facts) -> Act | None:
    """Nitrate out of its band, or rising by more than 5 mg/L a day: more feed than plants use."""
    band, no3 = f.band("no3"), f.v("no3")
    if f.plant_water or no3 is None or band.t_hi is None:
        return None
    rising = (f.per_day("no3") or 0.0) > 5
    if not f.above("no3", band.amber_hi) and not rising:
        return None
    source = f.s.source.nitrate if f.s.source else 0.0
    wanted = _share_down(no3, band.t_hi, source)
    params = {"no3": no3, "per_day": f.per_day("no3") or 0.0}
    return change_act(f, wanted, params, feed_percent=80 if f.has_fish else None, feed_hours=168)


@rule(
    "salt_built_up", ref="R66", urgency=NEXT_VISIT, who=TECHNICIAN, source="osu_ec_ph",
    priority=PLANTS, recheck_hours=720, answers=("na.high", "cl.high"),
)  # fmt: skip
def salt_built_up(f: Facts) -> Act | None:
    """Sodium or chloride out of its band; not diluted while nitrite is up."""
    sodium = f.above("na", f.band("na").amber_hi)
    if not sodium and not f.above("cl", f.band("cl").amber_hi):
        return None
    read = {"na": f.v("na"), "cl": f.v("cl")}
    params: dict[str, float | str] = {k: v for k, v in read.items() if v is not None}
    if f.has_fish and f.above("no2", f.band("no2").t_hi):
        return Act({**params, "no_change": "nitrite_up"})
    return change_act(f, 0.15, params)


@rule(
    "rotten_pockets", ref="R34", urgency=SOON, who=TECHNICIAN, source="practice",
    priority=FISH_SOON, recheck_hours=120, answers=("no3.low",), cautions=("open_air",),
    cleans=True,
)  # fmt: skip
def rotten_pockets(f: Facts) -> Act | None:
    """Smell of rotten eggs: sludge pockets without oxygen eat the nitrate."""
    if not f.has("egg_smell") or f.plant_water:
        return None
    return Act({"young": 1.0} if f.young else {})


@rule(
    "algae", ref="R35", urgency=NEXT_VISIT, who=CLIENT, source="fao589", recheck_hours=168,
    answers=("secchi.low",), cautions=("no_algicide",),
)  # fmt: skip
def algae(f: Facts) -> Act | None:
    """Green water or string algae; clear brown water is normal."""
    if not f.has("algae_green_water", "algae_string") and not f.below("secchi", 30):
        return None
    return Act({})


@rule(
    "cloudy_white", ref="R37", urgency=SOON, who=CLIENT, source="practice", priority=FISH_SOON,
    recheck_hours=48,
)  # fmt: skip
def cloudy_white(f: Facts) -> Act | None:
    """Cloudy white water: bacteria bloom on too much feed."""
    if not f.has("cloudy_white_water") or not f.has_fish:
        return None
    return Act({}, feed_percent=0, feed_hours=48)
