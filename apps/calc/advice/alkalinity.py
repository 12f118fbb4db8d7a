"""Rules on alkalinity and pH."""

from dataclasses import replace

from apps.calc.advice.doses import SUBSTANCES, alkalinity_grams, dose_explanation
from apps.calc.advice.facts import Facts
from apps.calc.advice.guards import potassium_room
from apps.calc.advice.registry import FISH_SOON, NITRITE_AND_BUFFER, REST, Act, rule
from apps.calc.advice.results import CLIENT, NEXT_VISIT, SOON, TECHNICIAN, TODAY
from apps.calc.advice.shared import base_act, target_alkalinity

ACID_37_EQ_PER_L = 12.0  # hydrochloric acid 37 %, mol/L
KHCO3_PER_FEED = 0.1  # g per g of feed until the fall of alkalinity was measured
SWING_PH = 0.6
METHODS_APART_PH = 0.4
RAIN_DROP = 0.30
TINY = 1e-9  # a limit belongs to the milder side, whatever the floats say


def _buffered(f: Facts) -> bool:
    return not f.plant_water


@rule(
    "alkalinity_gone", ref="R10", urgency=TODAY, who=CLIENT, source="chemistry",
    priority=NITRITE_AND_BUFFER, recheck_hours=1, answers=("alk.low",),
    cautions=("kit_error_at_low_alkalinity",),
)  # fmt: skip
def alkalinity_gone(f: Facts) -> Act | None:
    """Alkalinity below its harmful limit: the pH may fall within days."""
    if not _buffered(f) or not f.below("alk", f.band("alk").red_lo):
        return None
    return base_act(f, target_alkalinity(f), "chemistry", {"alk": f.v("alk") or 0.0})


@rule(
    "alkalinity_low", ref="R11", urgency=SOON, who=CLIENT, source="chemistry",
    priority=NITRITE_AND_BUFFER, recheck_hours=72, answers=("alk.low",),
)  # fmt: skip
def alkalinity_low(f: Facts) -> Act | None:
    """Alkalinity out of its band: the filter uses more than the water brings."""
    band, alk = f.band("alk"), f.v("alk")
    if not _buffered(f) or alk is None or band.red_lo is None or band.amber_lo is None:
        return None
    if not band.red_lo <= alk < band.amber_lo:
        return None
    act = base_act(f, target_alkalinity(f), "chemistry", {"alk": alk})
    planned = sum(step.dose for step in act.steps if step.substance == "KHCO3")
    return replace(act, params={**act.params, "daily_g": _daily_base_g(f, planned)})


def _daily_base_g(f: Facts, planned_g: float) -> float:
    """Return the KHCO3 [g/day] that holds the alkalinity, within the potassium left this week."""
    fall = -(f.per_day("alk") or 0.0)
    if fall > 0:
        wanted = alkalinity_grams("KHCO3", fall, f.loop.volume_l)
    else:
        wanted = KHCO3_PER_FEED * (f.feed_g_day or 0.0)
    room_g = potassium_room(f) / SUBSTANCES["KHCO3"].k * f.loop.volume_l / 1000
    return min(wanted, max(0.0, room_g - planned_g) / 7)


@rule(
    "water_acid", ref="R12", urgency=TODAY, who=TECHNICIAN, source="rakocy2007",
    priority=NITRITE_AND_BUFFER, recheck_hours=12, answers=("ph.low",),
)  # fmt: skip
def water_acid(f: Facts) -> Act | None:
    """pH out of its band on the acid side: nitrification has used the buffer up."""
    if not _buffered(f) or not f.below("ph", f.band("ph").amber_lo):
        return None
    params: dict[str, float | str] = {"ph": f.v("ph") or 0.0}
    if (f.v("alk") or 0.0) >= target_alkalinity(f) and f.below("tan", 0.5):
        params["air_out"] = 1.0
    return base_act(f, target_alkalinity(f), "rakocy2007", params)


@rule(
    "source_hard_alkaline", ref="R13", urgency=NEXT_VISIT, who=TECHNICIAN, source="chemistry",
    priority=REST, recheck_hours=168, answers=("ph.high", "alk.high"),
    cautions=("acid_into_water", "acid_source_only", "trained_only", "goggles"),
)  # fmt: skip
def source_hard_alkaline(f: Facts) -> Act | None:
    """pH and alkalinity both out of band on the high side: hard source or carbonate media."""
    ph, alk = f.band("ph"), f.band("alk")
    if not _buffered(f) or not f.above("ph", ph.amber_hi) or not f.above("alk", alk.amber_hi):
        return None
    params: dict[str, float | str] = {"ph": f.v("ph") or 0.0, "alk": f.v("alk") or 0.0}
    source = f.s.source
    if source is None or source.alkalinity <= target_alkalinity(f):
        return Act({**params, "no_dose": "source_unknown" if source is None else "not_needed"})
    remove = source.alkalinity - target_alkalinity(f)
    ml_per_1000_l = remove / 50.043 / ACID_37_EQ_PER_L * 1000
    return Act(
        {**params, "barrel_l": 1000.0, "source_alk": source.alkalinity},
        dose=ml_per_1000_l,
        unit="mL",
        substance="HCl 37 %",
        explanation=dose_explanation(
            "acid_source",
            {"source_alkalinity": source.alkalinity, "target": target_alkalinity(f),
             "mol_per_litre": ACID_37_EQ_PER_L},
            "chemistry",
        ),
    )  # fmt: skip


@rule(
    "afternoon_ph_swing", ref="R14", urgency=SOON, who=CLIENT, source="practice",
    recheck_hours=72, answers=("ph.high", "do.high"),
)  # fmt: skip
def afternoon_ph_swing(f: Facts) -> Act | None:
    """pH swings through the day under more than saturated oxygen: algae."""
    swing = f.loop.ph_swing
    if swing is None or swing <= SWING_PH or f.do_pct is None or f.do_pct <= 110:
        return None
    return Act({"swing": swing, "percent": f.do_pct})


@rule(
    "ph_methods_disagree", ref="R15", urgency=NEXT_VISIT, who=TECHNICIAN, source="wastewater_ph",
    recheck_hours=12, wet=False,
)  # fmt: skip
def ph_methods_disagree(f: Facts) -> Act | None:
    """Meter and drops disagree: one of them is bad."""
    first, second = f.loop.readings.get("ph"), f.loop.second.get("ph")
    if first is None or second is None or abs(first.value - second) <= METHODS_APART_PH + TINY:
        return None
    return Act({"first": first.value, "second": second})


@rule(
    "rain_diluted", ref="R68", urgency=SOON, who=CLIENT, source="chemistry",
    priority=FISH_SOON, recheck_hours=24, answers=("alk.low", "ec.low"),
)  # fmt: skip
def rain_diluted(f: Facts) -> Act | None:
    """Alkalinity and conductivity both fell by more than 30 %: rain."""
    if min(f.dropped_share("alk"), f.dropped_share("ec")) <= RAIN_DROP + TINY:
        return None
    params = {
        "alk_drop": 100 * f.dropped_share("alk"),
        "ec_drop": 100 * f.dropped_share("ec"),
    }
    if f.plant_water or not f.below("alk", target_alkalinity(f)):
        return Act({**params, "no_dose": "not_needed"})
    return base_act(f, target_alkalinity(f), "chemistry", params)
