"""Rules on total ammonia and its toxic share.

Where fish live, a total above the target falls to exactly one of four: harmful now, toxic share
too high, held down by acid water, or merely above what the filter takes.
"""

from apps.calc import ammonia, water
from apps.calc.advice import guards
from apps.calc.advice.facts import Facts
from apps.calc.advice.registry import (
    FISH_NOW,
    FISH_SOON,
    NITRITE_AND_BUFFER,
    Act,
    rule,
)
from apps.calc.advice.results import CLIENT, NOW, SOON, TECHNICIAN, TODAY
from apps.calc.advice.shared import base_act, change_act, target_alkalinity
from apps.calc.judgement import DAILY_PH_RISE

TRAP_PH = 6.3  # below it nitrification stalls while the total is nearly all ionised
SAFE_NH3 = 0.05  # mg/L N: above it gills are harmed (Univ. Florida FA16)


def _tan_high(f: Facts) -> bool:
    return f.has_fish and f.above("tan", f.band("tan").t_hi)


def _acute(f: Facts) -> bool:
    red = f.band("nh3").red_hi
    toxic = f.nh3_highest is not None and red is not None and f.nh3_highest >= red
    gasping = f.has("fish_gasping") and f.above("tan", 2.0)
    return f.has_fish and (toxic or gasping)


def _trapped(f: Facts) -> bool:
    return f.has_fish and (f.v("tan") or 0.0) >= 0.5 and f.below("ph", TRAP_PH) and not _acute(f)


def _wanted_change(f: Facts) -> float:
    """Return the share to change so that the total falls to 1 mg/L, or to what 0.05 mg/L allows."""
    tan, ph, temp, source = f.v("tan"), f.v("ph"), f.v("temp"), f.s.source
    if tan is None or source is None:
        return 0.0
    freed = guards.CHLORAMINE_N * source.total_chlorine if source.chloramine else 0.0
    incoming = source.tan + freed
    target = 1.0
    if ph is not None and temp is not None:
        mixed = min(max(ph, source.ph) + DAILY_PH_RISE, 11.0)
        target = min(target, SAFE_NH3 / ammonia.unionised_fraction(mixed, temp))
    if incoming >= target or tan <= target:
        return 0.0 if incoming >= tan else guards.MOST_STEP
    return water.change_fraction(tan, target, incoming)


@rule(
    "acute_ammonia", ref="R01", urgency=NOW, who=TECHNICIAN, source="srac463", priority=FISH_NOW,
    recheck_hours=2, answers=("tan.high", "nh3.high"), cautions=("no_base_now", "air_on"),
)  # fmt: skip
def acute_ammonia(f: Facts) -> Act | None:
    """Un-ionised ammonia at the harmful limit, or gasping with much total ammonia."""
    if not _acute(f):
        return None
    params = {"tan": f.v("tan") or 0.0, "nh3": f.nh3_highest or 0.0}
    return change_act(
        f, _wanted_change(f), params, emergency=True, source="srac463", feed_percent=0,
        feed_hours=24,
    )  # fmt: skip


@rule(
    "toxic_share_high", ref="R02", urgency=TODAY, who=TECHNICIAN, source="emerson1975",
    priority=FISH_SOON, recheck_hours=12, answers=("tan.high", "nh3.high", "ph.high"),
    cautions=("no_base_now", "no_acid_in_fish_water"),
)  # fmt: skip
def toxic_share_high(f: Facts) -> Act | None:
    """Ammonia above the target in water warm and alkaline enough to make it toxic."""
    if not f.has_fish or _acute(f) or _trapped(f) or f.nh3_highest is None:
        return None
    if f.nh3_highest <= f.nh3_target:
        return None
    params = {"tan": f.v("tan") or 0.0, "nh3": f.nh3_highest, "ph": f.v("ph") or 0.0}
    return change_act(f, guards.MOST_STEP, params, feed_percent=0, feed_hours=24)


@rule(
    "ammonia_above_filter", ref="R03", urgency=SOON, who=CLIENT, source="fao589",
    priority=FISH_SOON, recheck_hours=48, answers=("tan.high",), cautions=("no_bed_clean_now",),
)  # fmt: skip
def ammonia_above_filter(f: Facts) -> Act | None:
    """Ammonia above the target while its toxic share is small."""
    if not _tan_high(f) or _acute(f) or _trapped(f):
        return None
    if f.nh3_highest is None or f.nh3_highest > f.nh3_target:
        return None
    high = f.above("tan", f.band("tan").amber_hi)
    return Act(
        {"tan": f.v("tan") or 0.0},
        urgency=TODAY if high else None,
        feed_percent=0 if f.above("tan", 1.0) else 50,
        feed_hours=72,
    )


@rule(
    "ammonia_rising_low_buffer", ref="R04", urgency=TODAY, who=CLIENT, source="chemistry",
    priority=NITRITE_AND_BUFFER, recheck_hours=24, answers=("alk.low",),
)  # fmt: skip
def ammonia_rising_low_buffer(f: Facts) -> Act | None:
    """Ammonia rising over three tests while alkalinity runs short."""
    if not f.has_fish or not f.rose_thrice("tan") or not f.below("alk", f.band("alk").amber_lo):
        return None
    params = {"tan": f.v("tan") or 0.0, "alk": f.v("alk") or 0.0}
    return base_act(f, target_alkalinity(f), "chemistry", params)


@rule(
    "filter_hurt", ref="R05", urgency=TODAY, who=TECHNICIAN, source="practice",
    priority=FISH_SOON, recheck_hours=24, answers=("tan.high",),
    cautions=("biosecurity", "no_bed_clean_now"),
)  # fmt: skip
def filter_hurt(f: Facts) -> Act | None:
    """Ammonia rising within two weeks of something that hurts filters."""
    hurt = f.within_days(14, "filter_cleaned", "bed_cleaned", "medicated", "power_cut")
    rising = f.rose_thrice("tan") or (_tan_high(f) and (f.per_day("tan") or 0.0) > 0)
    if not f.has_fish or not hurt or not rising:
        return None
    days = f.days_since("filter_cleaned", "bed_cleaned", "medicated", "power_cut") or 0
    return Act({"tan": f.v("tan") or 0.0, "days": float(days)}, feed_percent=25, feed_hours=72)


@rule(
    "acid_holds_ammonia", ref="R06", urgency=TODAY, who=TECHNICIAN, source="emerson1975",
    priority=NITRITE_AND_BUFFER, recheck_hours=24, answers=("tan.high", "ph.low"),
    cautions=("fast_lime_kills",),
)  # fmt: skip
def acid_holds_ammonia(f: Facts) -> Act | None:
    """Ammonia piled up in acid water: harmless now, deadly when the pH is raised fast."""
    if not _trapped(f):
        return None
    params = {"tan": f.v("tan") or 0.0, "ph": f.v("ph") or 0.0}
    # base and change share the day's rise of pH
    act = base_act(
        f, target_alkalinity(f), "emerson1975", params, against_trap=True, feed_percent=0,
        feed_hours=24, most_rise=guards.MOST_PH_RISE / 2,
    )  # fmt: skip
    change = change_act(f, 0.2, most_ph=guards.MOST_PH_RISE / 2)
    return _with_change(act, change)


def _with_change(act: Act, change: Act) -> Act:
    return Act(
        {**change.params, **act.params},
        dose=act.dose,
        unit=act.unit,
        substance=act.substance,
        steps=act.steps,
        explanation=act.explanation,
        feed_percent=act.feed_percent,
        feed_hours=act.feed_hours,
        change_fraction=change.change_fraction,
        cautions=tuple(dict.fromkeys((*act.cautions, *change.cautions))),
    )
