"""Rules on nitrite where fish live."""

from apps.calc.advice import guards
from apps.calc.advice.doses import dose_explanation
from apps.calc.advice.facts import Facts
from apps.calc.advice.registry import FISH_SOON, NITRITE_AND_BUFFER, Act, rule
from apps.calc.advice.results import CLIENT, GOOD_TO_KNOW, SOON, TECHNICIAN, TODAY
from apps.calc.advice.shared import change_act
from apps.calc.judgement import NEAR_EDGE

SALT_CAUTIONS = (
    "dissolve_first",
    "stop_and_call",
    "salt_and_plants",
    "calcium_chloride_apart",
    "do_not_dilute_chloride",
)


def _chloride(f: Facts, act: Act) -> Act:
    """Add the chloride that the guards allow to an act."""
    plan = guards.chloride_plan(f)
    params: dict[str, float | str] = dict(act.params)
    if isinstance(plan, guards.Refusal):
        params["no_dose"] = plan.code
        return Act(
            params, feed_percent=act.feed_percent, feed_hours=act.feed_hours, urgency=act.urgency,
            change_fraction=act.change_fraction, cautions=act.cautions,
            explanation=act.explanation,
        )  # fmt: skip
    params["chloride"] = plan.chloride_mg_l
    inputs = {
        "no2": f.v("no2") or 0.0,
        "cl": f.v("cl") or 0.0,
        "volume_l": f.loop.volume_l,
        "ratio": 10.0,
    }
    assumed = ("chloride_taken_as_zero",) if plan.assumed_chloride else ()
    sodium = () if f.v("na") is not None else ("sodium_unknown",)
    first = plan.steps[0] if plan.steps else None
    return Act(
        params,
        dose=first.dose if first else None,
        unit="g",
        substance=first.substance if first else "",
        steps=plan.steps,
        explanation=dose_explanation("chloride", inputs, "srac462", *assumed, *sodium),
        feed_percent=act.feed_percent,
        feed_hours=act.feed_hours,
        change_fraction=act.change_fraction,
        cautions=(*act.cautions, *SALT_CAUTIONS),
        urgency=act.urgency,
    )


@rule(
    "nitrite_harmful", ref="R07", urgency=TODAY, who=TECHNICIAN, source="srac462",
    priority=NITRITE_AND_BUFFER, recheck_hours=12, answers=("no2.high",), cautions=("air_on",),
)  # fmt: skip
def nitrite_harmful(f: Facts) -> Act | None:
    """Nitrite at the harmful limit."""
    red, no2 = f.band("no2").red_hi, f.v("no2")
    if not f.has_fish or red is None or no2 is None or no2 < red:
        return None
    change = change_act(f, 0.3, {"no2": no2}, source="srac462", feed_percent=0, feed_hours=24)
    return _chloride(f, change)


def _raised(f: Facts) -> bool:
    band, no2 = f.band("no2"), f.v("no2")
    if not f.has_fish or no2 is None or band.t_hi is None or band.red_hi is None:
        return False
    return band.t_hi < no2 < band.red_hi


@rule(
    "nitrite_young_filter", ref="R08", urgency=TODAY, who=CLIENT, source="srac462",
    priority=NITRITE_AND_BUFFER, recheck_hours=36, answers=("no2.high",),
)  # fmt: skip
def nitrite_young_filter(f: Facts) -> Act | None:
    """Nitrite raised while the filter is young: it is still growing."""
    if not _raised(f) or not f.young:
        return None
    act = Act({"no2": f.v("no2") or 0.0}, feed_percent=25, feed_hours=48)
    return _chloride(f, act)


@rule(
    "nitrite_old_filter", ref="R09", urgency=SOON, who=TECHNICIAN, source="practice",
    priority=FISH_SOON, recheck_hours=48, answers=("no2.high",), cleans=True,
)  # fmt: skip
def nitrite_old_filter(f: Facts) -> Act | None:
    """Nitrite raised in a ripe filter: sludge, cold or too little oxygen in it."""
    if not _raised(f) or f.young:
        return None
    near = f.word("no2") == NEAR_EDGE
    return Act(
        {"no2": f.v("no2") or 0.0},
        feed_percent=None if near else 50,
        feed_hours=None if near else 48,
        urgency=GOOD_TO_KNOW if near else None,
    )
