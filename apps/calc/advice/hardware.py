"""Rules on pumps, siphons, beds, settlers, leaks and parts."""

from apps.calc.advice.facts import Facts
from apps.calc.advice.registry import FISH_NOW, FISH_SOON, REST, Act, rule
from apps.calc.advice.results import CLIENT, NEXT_VISIT, NOW, SOON, TECHNICIAN, TODAY
from apps.calc.advice.shared import change_act

BED_SLUDGE_PCT = 25.0
LEAK_TIMES = 3.0
LOW_LEVEL_MM = 50.0
SIPHON_FILL = (10.0, 20.0)  # minutes
SETTLER_L_PER_KG = (10.0, 25.0)


@rule(
    "bed_full_of_sludge", ref="R39", urgency=NEXT_VISIT, who=TECHNICIAN, source="practice",
    priority=REST, recheck_hours=720, answers=("bed_sludge.high",), cautions=("test_after_clean",),
    cleans=True,
)  # fmt: skip
def bed_full_of_sludge(f: Facts) -> Act | None:
    """Sludge over a quarter of the bed's depth, or a bed that overflows."""
    deep = f.above("bed_sludge", BED_SLUDGE_PCT)
    if f.loop.kind == "fish" or not (deep or f.has("bed_overflows")):
        return None
    params: dict[str, float | str] = {}
    if deep:
        params["sludge"] = f.v("bed_sludge") or 0.0
    if f.young:
        params["young"] = 1.0
    return Act(params)


@rule(
    "settler_stale", ref="R40", urgency=SOON, who=CLIENT, source="timmons", priority=REST,
    recheck_hours=168, cautions=("sludge_off_leaves",),
)  # fmt: skip
def settler_stale(f: Facts) -> Act | None:
    """The settler smells rotten: drained too seldom."""
    if not f.has("settler_smells") or f.loop.kind == "plant":
        return None
    kg = (f.feed_g_day or 0.0) / 1000 * 2.5
    low, high = SETTLER_L_PER_KG
    return Act({"low_l": low * kg, "high_l": high * kg} if kg else {})


@rule(
    "flow_low", ref="R52", urgency=TODAY, who=TECHNICIAN, source="practice", priority=FISH_SOON,
    recheck_hours=1, answers=("flow_pct.low",), cautions=("unplug_first",),
)  # fmt: skip
def flow_low(f: Facts) -> Act | None:
    """Flow out of its band: clogged strainer, roots, worn rotor."""
    if f.has("pump_stopped"):
        return Act({"percent": 0.0}, urgency=NOW)
    if not f.below("flow_pct", f.band("flow_pct").amber_lo):
        return None
    return Act({"percent": f.v("flow_pct") or 0.0})


@rule(
    "air_stopped", urgency=NOW, who=CLIENT, source="practice", priority=FISH_NOW,
    recheck_hours=0.25, cautions=("air_on", "unplug_first"),
)  # fmt: skip
def air_stopped(f: Facts) -> Act | None:
    """The air has stopped where fish live."""
    if not f.has_fish or not f.has("air_stopped"):
        return None
    minutes = f.minutes_without_air
    return Act({} if minutes is None else {"minutes": minutes}, feed_percent=0, feed_hours=24)


@rule(
    "siphon_stuck", ref="R53", urgency=SOON, who=CLIENT, source="fao589", priority=REST,
    recheck_hours=24,
)  # fmt: skip
def siphon_stuck(f: Facts) -> Act | None:
    """The siphon never breaks, or fills outside ten to twenty minutes."""
    fill = f.v("siphon_fill")
    low, high = SIPHON_FILL
    odd = fill is not None and not low <= fill <= high
    if not f.has("siphon_never_breaks") and not odd:
        return None
    return Act({} if fill is None else {"minutes": fill})


@rule(
    "leak_suspected", ref="R54", urgency=TODAY, who=TECHNICIAN, source="practice",
    priority=FISH_SOON, recheck_hours=24, cautions=("dechlorinate",),
)  # fmt: skip
def leak_suspected(f: Facts) -> Act | None:
    """Three times the expected top-up; with a low level and a pump sucking air, at once."""
    expected, topup = f.s.expected_topup_l_day, f.v("topup")
    much = expected is not None and topup is not None and topup > LEAK_TIMES * expected
    dry = f.has("pump_sucks_air") and (f.above("level", LOW_LEVEL_MM) or f.v("level") is None)
    if not much and not dry:
        return None
    params: dict[str, float | str] = {}
    if much and topup is not None and expected is not None:
        params |= {"topup": topup, "expected": expected}
    if dry:
        return Act({**params, "dry": 1.0}, urgency=NOW, cautions=("air_on", "unplug_first"))
    return Act(params)


@rule(
    "level_low", urgency=SOON, who=CLIENT, source="fao589", priority=FISH_SOON, recheck_hours=24,
    cautions=("dechlorinate",),
)  # fmt: skip
def level_low(f: Facts) -> Act | None:
    """Water more than 50 mm under its mark."""
    if not f.above("level", LOW_LEVEL_MM) or f.has("pump_sucks_air"):
        return None
    return Act({"mm": f.v("level") or 0.0})


@rule(
    "metal_found", ref="R69", urgency=TODAY, who=TECHNICIAN, source="practice", priority=FISH_SOON,
    recheck_hours=24,
)  # fmt: skip
def metal_found(f: Facts) -> Act | None:
    """Copper or zinc in contact with the water, or listless fish after new metal."""
    if f.plant_water and not f.has_fish:
        return None
    after_new = f.has("fish_lethargic") and f.within_days(30, "new_metal")
    if not f.has("metal_part") and not after_new:
        return None
    return change_act(f, 0.25, {}, source="practice")
