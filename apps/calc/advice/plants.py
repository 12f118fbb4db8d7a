"""Rules on what leaves, roots, fruit and seed show."""

from apps.calc.advice.facts import Facts
from apps.calc.advice.registry import PLANTS, REST, Act, rule
from apps.calc.advice.results import CLIENT, NEXT_VISIT, SOON, TECHNICIAN

GERMINATION_OK = 80.0
# °C above which the seed of a crop fails: lettuce 12 % normal seedlings at 30 °C against 99 % at
# 25 °C, spinach 28 % at 25 °C against 82 % at 15 °C (Harrington and Minges 1954)
WARM_LIMIT: dict[str, float] = {
    "lettuce_loose_leaf": 26, "lettuce_head": 26, "spinach": 18, "parsley": 24, "celery": 24,
}  # fmt: skip
COOL_CROPS = frozenset({"spinach", "parsley"})


@rule(
    "tip_burn", ref="R30", urgency=NEXT_VISIT, who=CLIENT, source="practice", priority=PLANTS,
    recheck_hours=240,
)  # fmt: skip
def tip_burn(f: Facts) -> Act | None:
    """Inner lettuce leaves with brown tips: calcium does not travel in still, humid air."""
    return Act({}) if f.has("tip_burn") and f.has_plants else None


@rule(
    "leaf_salt_burn", ref="R31", urgency=SOON, who=TECHNICIAN, source="osu_ec_ph",
    priority=PLANTS, recheck_hours=72, answers=("ec.high",), cautions=("discharge",),
)  # fmt: skip
def leaf_salt_burn(f: Facts) -> Act | None:
    """Leaf edges burnt and conductivity out of its band: salt."""
    burnt = f.has("leaf_edges_burnt") and f.has_plants
    if not burnt or not f.above("ec", f.band("ec").amber_hi):
        return None
    return Act({"ec": f.v("ec") or 0.0}, dose=0.25 * f.loop.volume_l, unit="L",
               substance="water to the soil garden", change_fraction=0.25)  # fmt: skip


@rule(
    "germination_poor", ref="R41", urgency=NEXT_VISIT, who=CLIENT, source="harrington_minges1954",
    priority=REST, once=True, wet=False, cautions=("pellet_must_split",),
)  # fmt: skip
def germination_poor(f: Facts) -> Act | None:
    """Fewer than 80 % came up: heat, damp pellets, an old lot."""
    poor = [g for g in f.s.germination if g.percent < GERMINATION_OK and g.crop not in COOL_CROPS]
    if not poor:
        return None
    worst = min(poor, key=lambda g: g.percent)
    params: dict[str, float | str] = {"crop": worst.crop, "percent": worst.percent}
    limit = WARM_LIMIT.get(worst.crop)
    if limit is not None and worst.temp_c is not None and worst.temp_c > limit:
        params |= {"temp": worst.temp_c, "limit_c": limit}
    return Act(params)


@rule(
    "cool_crop_slow", ref="R42", urgency=NEXT_VISIT, who=CLIENT, source="harrington_minges1954",
    priority=REST, once=True, wet=False,
)  # fmt: skip
def cool_crop_slow(f: Facts) -> Act | None:
    """Spinach or parsley slow or sparse: they come up cool."""
    poor = any(g.percent < GERMINATION_OK for g in f.s.germination if g.crop in COOL_CROPS)
    return Act({}) if f.has("slow_cool_crop") or poor else None


@rule(
    "seedlings_fail", ref="R44", urgency=SOON, who=CLIENT, source="practice", priority=REST,
    once=True, wet=False,
)  # fmt: skip
def seedlings_fail(f: Facts) -> Act | None:
    """Seedlings fall at the base or grow leggy: damping-off, or too little light."""
    return Act({}) if f.has("seedlings_fall", "seedlings_leggy") else None


@rule(
    "bolting", ref="R45", urgency=NEXT_VISIT, who=CLIENT, source="fao589", priority=REST,
    once=True, wet=False,
)  # fmt: skip
def bolting(f: Facts) -> Act | None:
    """Plants bolt or taste bitter: heat, long days, age."""
    return Act({}) if f.has("bolting") else None


@rule(
    "roots_rot", ref="R46", urgency=SOON, who=TECHNICIAN, source="practice", priority=PLANTS,
    recheck_hours=120, cautions=("no_fungicide",),
)  # fmt: skip
def roots_rot(f: Facts) -> Act | None:
    """Roots brown and slimy: rot in warm water with little oxygen."""
    if not f.has("roots_brown") or f.loop.kind == "fish":
        return None
    return Act({})


@rule(
    "wilting_white_roots", ref="R46", urgency=SOON, who=TECHNICIAN, source="practice",
    priority=PLANTS, recheck_hours=24,
)  # fmt: skip
def wilting_white_roots(f: Facts) -> Act | None:
    """Plants wilt though their roots are not brown: no water reaches them, or heat."""
    wilts = f.has("wilting_at_noon") and not f.has("roots_brown") and f.loop.kind != "fish"
    return Act({}) if wilts else None


@rule(
    "no_fruit_set", ref="R72", urgency=NEXT_VISIT, who=CLIENT, source="practice", priority=REST,
    once=True, wet=False, recheck_hours=336,
)  # fmt: skip
def no_fruit_set(f: Facts) -> Act | None:
    """Flowers drop: not pollinated, too hot, too cold, too dark."""
    if not f.has("flowers_drop"):
        return None
    air = f.v("air_t")
    return Act({} if air is None else {"air": air})
