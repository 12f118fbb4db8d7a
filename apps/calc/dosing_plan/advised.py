"""A plan as advice: one for whoever gives the steps, with the doses by their hours."""

from collections.abc import Mapping

from apps.calc.advice.results import (
    BY_HOURS,
    CLIENT,
    NEXT_VISIT,
    SOON,
    TECHNICIAN,
    TODAY,
    Advice,
    Explanation,
    Step,
)
from apps.calc.dosing_plan.products import ACID, PRODUCTS, STRONG_BASE
from apps.calc.dosing_plan.results import ALKALINITY, CHLORIDE, MEASURANDS, PH, SOURCE, Plan

RULE = "dosing_plan"
# what it answers, as rules do: an open advice that doses the same is replaced by the plan
ANSWERS: Mapping[str, tuple[str, ...]] = {
    ALKALINITY: ("alk.low", "ph.low"), PH: ("ph.low", "alk.low"),
    SOURCE: ("alk.high", "ph.high"), CHLORIDE: ("no2.high",),
}  # fmt: skip
_PRIORITY = 40
_RECHECK_H = 24.0


def answers_of(goal: str) -> tuple[str, ...]:
    """Return what a plan for the goal deals with, as "measurand.side"."""
    return ANSWERS.get(goal, (f"{MEASURANDS[goal]}.low",))


def advised(plan: Plan, loop: str) -> tuple[Advice, ...]:
    """Return the plan as advice, the client's first; at most one for each who gives steps."""
    found = []
    for who in (CLIENT, TECHNICIAN):
        steps = tuple(
            Step(step.hours, step.grams, "g", step.product)
            for step in plan.steps if step.who == who
        )  # fmt: skip
        if steps:
            found.append(_advice(plan, loop, who, steps))
    return tuple(found)


def _advice(plan: Plan, loop: str, who: str, steps: tuple[Step, ...]) -> Advice:
    measurand = "alk" if plan.goal == SOURCE else MEASURANDS[plan.goal]
    urgency = {CHLORIDE: TODAY, ALKALINITY: SOON, PH: SOON}.get(plan.goal, NEXT_VISIT)
    inputs = {"start": plan.start, "target": plan.target, "volume_l": plan.litres}
    return Advice(
        rule=RULE, loop=loop, urgency=urgency, who=who, by_hours=BY_HOURS[urgency],
        recheck_hours=_RECHECK_H, source=plan.sources[0], priority=_PRIORITY,
        dose=steps[0].dose, unit="g", substance=steps[0].substance,
        params={"measurands": measurand}, steps=steps, cautions=_cautions(plan, steps),
        explanation=Explanation(_formula(plan.goal), inputs, plan.sources),
        answers=answers_of(plan.goal),
    )  # fmt: skip


def _formula(goal: str) -> str:
    known = {ALKALINITY: "base_step", PH: "base_step", SOURCE: "acid_source", CHLORIDE: "chloride"}
    return known.get(goal, "element_dose")


def _cautions(plan: Plan, steps: tuple[Step, ...]) -> tuple[str, ...]:
    kinds = {PRODUCTS[step.substance].kind for step in steps}
    codes = ["goggles", "test_before_next"]
    if ACID in kinds:
        codes += ["acid_into_water", "acid_source_only", "trained_only"]
    else:
        codes += ["dissolve_first", "stop_and_call"]
    if STRONG_BASE in kinds:
        codes.append("trained_only")
    if any(step.substance == "CaCl2.2H2O" for step in steps):
        codes.append("calcium_chloride_apart")
    if plan.goal == CHLORIDE:
        codes += ["salt_and_plants", "do_not_dilute_chloride"]
    return tuple(codes)
