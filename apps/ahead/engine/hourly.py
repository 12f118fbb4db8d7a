"""What readings of a day would show at their own hours, loops side by side."""

from collections.abc import Sequence

import numpy as np

from apps.ahead.engine.arrays import ARRAYS, Array
from apps.calc.ahead.facts import LoopFacts, Observed
from apps.calc.ahead.hours import HOURS, as_told, before, meals_of, tan_off
from apps.calc.ahead.step import Gear, Params, Water


def at_their_hours(
    seen: dict[int, Observed],
    facts: Sequence[LoopFacts],
    gear: Gear,
    params: Params,
    water: Water,
    sights: dict[str, Array],
) -> dict[str, Array]:
    """Return what a visit would read, ammonia at the hour of each reading of ``seen``, if of it."""
    if next(iter(seen.values())).measurand != "tan":
        return sights
    back = np.zeros((HOURS, len(facts), 1))
    for row, one in seen.items():
        hour, meals = one.day % 1 * HOURS, meals_of(facts[row].meals_a_day)
        if one.fed_ago_h is not None:
            meals = as_told(meals, hour, min(one.fed_ago_h, float(HOURS)))
        back[:, row, 0] = before(meals, hour)
    off = tan_off(gear, params, water, ARRAYS, list(back))
    return sights | {"tan": np.maximum(sights["tan"] + off, 0.0)}
