"""One way in: a request and the facts of a loop give a plan, or why there is none."""

from collections.abc import Mapping
from dataclasses import replace

from apps.calc.advice.facts import Facts
from apps.calc.dosing_plan.bases import base_plan
from apps.calc.dosing_plan.chloride import chloride_plan
from apps.calc.dosing_plan.elements import CANDIDATES, element_plan
from apps.calc.dosing_plan.needs import counted, lacks, target_lack
from apps.calc.dosing_plan.results import (
    ALKALINITY,
    CHLORIDE,
    GOALS,
    MEASURANDS,
    PH,
    SOURCE,
    Plan,
    Refusal,
    Request,
)
from apps.calc.dosing_plan.rooms import Rooms
from apps.calc.dosing_plan.source_water import source_plan
from apps.calc.wording import text as _

Answer = Plan | tuple[Refusal, ...]


def plant_water_alone(f: Facts) -> bool:
    """Tell whether a loop's water holds no fish and never flows back to any."""
    return f.plant_water and not f.has_fish


def make(f: Facts, ask: Request) -> Answer:
    """Return the plan for a loop, or every reason why there is none.

    Valid range: goal of GOALS, every_days 1 to 14; ValueError outside.
    References: those of the goal's own module.
    """
    if ask.goal not in GOALS:
        message = f"goal must be one of {', '.join(GOALS)}, not {ask.goal}"
        raise ValueError(message)
    if not 1 <= ask.every_days <= 14:
        message = f"every_days must be between 1 and 14, not {ask.every_days}"
        raise ValueError(message)
    if ask.goal == SOURCE:
        planned = source_plan(f, ask)
        return planned if isinstance(planned, Plan) else (planned,)
    if ask.goal in CANDIDATES and not (f.has_plants or f.plant_water):
        return (
            Refusal(
                "goal",
                _(
                    "No plants live on this water: nothing wants it there. Choose the loop of the plants."
                ),
            ),
        )
    missing = lacks(f, ask.goal, ask.base_hours_ago)
    if not missing and ask.goal != CHLORIDE:
        code = MEASURANDS[ask.goal]
        now = (f.fresh(code) or 0.0) if ask.goal in (ALKALINITY, PH) else counted(f, code)[0]
        lack = target_lack(f, code, ask.target, now)
        missing = [lack] if lack else []
    if missing:
        return tuple(missing)
    rooms = Rooms(f, plant_water_alone(f))
    if ask.goal == CHLORIDE:
        made = chloride_plan(f, ask, rooms)
    else:
        way = base_plan if ask.goal in (ALKALINITY, PH) else element_plan
        made = way(f, ask, rooms)
    return replace(made, week_most=_held(ask.goal, rooms)) if isinstance(made, Plan) else (made,)


def _held(goal: str, rooms: Rooms) -> Mapping[str, float]:
    """Return the week's limits that held: against nitrite potassium's alone, for fish come first."""
    return {e: most for e, most in rooms.week_most.items() if goal != CHLORIDE or e == "k"}
