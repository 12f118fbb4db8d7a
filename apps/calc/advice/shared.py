"""Pieces that several rules share: doses of base, water changes and salts as acts."""

from apps.calc.advice.doses import dose_explanation
from apps.calc.advice.facts import Facts
from apps.calc.advice.guards import (
    MOST_PH_CHANGE,
    MOST_PH_RISE,
    BasePlan,
    ChangePlan,
    Refusal,
    base_plan,
    water_change,
)
from apps.calc.advice.registry import Act
from apps.calc.advice.results import Explanation, Params

BASE_CAUTIONS = ("goggles", "dissolve_first", "test_before_next", "stop_and_call")
CHANGE_CAUTIONS = ("match_water", "dechlorinate", "discharge")


def target_alkalinity(f: Facts) -> float:
    """Return the alkalinity [mg/L CaCO3] at which this loop's target begins."""
    return f.band("alk").t_lo or 60.0


def base_act(
    f: Facts,
    target: float,
    source: str,
    params: Params | None = None,
    *,
    against_trap: bool = False,
    most_rise: float = MOST_PH_RISE,
    who: str | None = None,
    urgency: str | None = None,
    feed_percent: float | None = None,
    feed_hours: float | None = None,
) -> Act:
    """Return an act with the base steps that the guards allow towards ``target``, or with the
    reason why there is no dose."""
    extra: dict[str, float | str] = dict(params or {})
    plan = base_plan(f, target, against_trap=against_trap, most_rise=most_rise)
    if isinstance(plan, Refusal):
        plan_na = base_plan(
            f, target, salt="NaHCO3", against_trap=against_trap, most_rise=most_rise
        )
        plan = plan if isinstance(plan_na, Refusal) else plan_na
    if isinstance(plan, Refusal):
        extra["no_dose"] = plan.code
        return Act(extra, who=who, urgency=urgency, feed_percent=feed_percent,
                   feed_hours=feed_hours)  # fmt: skip
    return Act(
        {**extra, **_plan_params(plan, target)},
        dose=plan.steps[0].dose,
        unit="g",
        substance=plan.salt,
        steps=plan.steps,
        explanation=_base_explanation(f, plan, source),
        cautions=BASE_CAUTIONS,
        who=who,
        urgency=urgency,
        feed_percent=feed_percent,
        feed_hours=feed_hours,
    )


def _plan_params(plan: BasePlan, target: float) -> dict[str, float | str]:
    return {
        "total_g": plan.total_g,
        "days": float(len(plan.steps)),
        "target": target,
        "reaches": plan.reaches,
        "left_caco3_g": plan.left_caco3_g,
        "ph_minutes": plan.ph_minutes,
    }


def _base_explanation(f: Facts, plan: BasePlan, source: str) -> Explanation:
    inputs = {
        "alkalinity": f.v("alk") or 0.0,
        "ph": f.v("ph") or 0.0,
        "temp": f.v("temp") or 0.0,
        "tan": f.v("tan") or 0.0,
        "volume_l": f.loop.volume_l,
        "ph_minutes": plan.ph_minutes,
        "potassium_given_7d": f.loop.given_7d.get("K", 0.0),
    }
    return dose_explanation("base_step", inputs, source, "volume_within_pct", valid="base_step")


def change_act(
    f: Facts,
    wanted: float,
    params: Params | None = None,
    *,
    emergency: bool = False,
    most_ph: float = MOST_PH_CHANGE,
    source: str = "chemistry",
    who: str | None = None,
    urgency: str | None = None,
    feed_percent: float | None = None,
    feed_hours: float | None = None,
) -> Act:
    """Return an act with the water change that the guards allow, or with the reason for none."""
    extra: dict[str, float | str] = dict(params or {})
    plan = water_change(f, wanted, emergency=emergency, most_ph=most_ph)
    fraction: float | None = None
    cautions: tuple[str, ...] = ()
    if isinstance(plan, ChangePlan):
        fraction, cautions = plan.fraction, CHANGE_CAUTIONS
        extra |= {
            "percent": 100 * plan.fraction,
            "litres": plan.litres,
            "parts": float(plan.steps),
            "dechlorinator_g": plan.dechlorinator_g,
            "ph_after": plan.ph_after,
            "wanted_percent": 100 * plan.wanted,
        }
    else:
        extra["no_change"] = plan.code
    explanation = dose_explanation(
        "water_change",
        {"wanted": wanted, "volume_l": f.loop.volume_l, "allowed": fraction or 0.0},
        source,
    )
    return Act(
        extra,
        change_fraction=fraction,
        cautions=cautions,
        explanation=explanation,
        who=who,
        urgency=urgency,
        feed_percent=feed_percent,
        feed_hours=feed_hours,
    )
