"""How a reading of ammonia stands off its day's mean, by the hour and the meals.

The balance keeps a day's mean, but ammonia is given off for hours after a meal. Oxygen and pH have
no such correction: the same was tried with what digesting takes and gives, and on the invented loops
oxygen was foreseen worse by it and pH no better, since light moves them the other way at the same
hours, and how much of it reaches a loop nobody notes.
"""

import math
from collections.abc import Sequence
from functools import lru_cache

from apps.calc.ahead.ops import Ops, Value
from apps.calc.ahead.step import Gear, Params, Water
from apps.calc.feed import TAN_PER_PROTEIN

# When fish are fed so many times a day, where nobody has noted it (common practice).
MEALS: dict[int, tuple[float, ...]] = {1: (9.0,), 2: (9.0, 17.0), 3: (8.0, 12.5, 17.0)}
# What a meal gives off rises and fades as two stages of so many hours each: in the water it is highest
# four to eight hours after it (common practice, as the catalogue has it).
STAGE_H = 3.0
SHARE = 0.75  # of the day's ammonia that follows the meals (common practice)
HOURS = 24


def meals_of(times_a_day: int) -> tuple[float, ...]:
    """Return the hours of the meals: more than three are spread evenly from 7 to 19 h."""
    count = max(1, times_a_day)
    return MEALS.get(count) or tuple(7 + 12 * n / (count - 1) for n in range(count))


def as_told(meals: tuple[float, ...], hour: float, fed_ago_h: float) -> tuple[float, ...]:
    """Return the meals moved so that the last one was so many hours before an hour of the day.

    One that would have come since then is still to come.

    >>> as_told((9.0, 17.0), 12.0, 1.0), as_told((9.0, 17.0), 13.0, 11.0)
    ((11.0, 19.0), (2.0, 13.0))
    """
    last = min((hour - meal) % HOURS for meal in meals)
    moved = [(hour - meal - last + fed_ago_h) % HOURS for meal in meals]  # hours ago
    return tuple((hour - ago) % HOURS if ago > fed_ago_h - 1e-6 else hour for ago in moved)


@lru_cache(maxsize=64)
def rhythm(meals: tuple[float, ...]) -> tuple[float, ...]:
    """Return by full hour the rate of what meals give off, against its day's mean.

    >>> round(sum(rhythm((9.0, 17.0))) / 24, 6)
    1.0
    """
    rates = []
    for hour in range(HOURS):
        total = 0.0
        for meal in meals:
            for day in range(3):
                after = hour - meal + HOURS * day
                if after > 0:
                    total += after * math.exp(-after / STAGE_H)
        rates.append(total)
    mean = sum(rates) / HOURS
    return tuple(rate / mean for rate in rates)


def at(rates: Sequence[float], hour: float) -> float:
    """Return a rate between full hours."""
    below = math.floor(hour)
    share = hour - below
    return (1 - share) * rates[below % HOURS] + share * rates[(below + 1) % HOURS]


def before(meals: tuple[float, ...], hour: float) -> list[float]:
    """Return how far the rate lay off its mean in each of the 24 hours before one, the last first."""
    rates = rhythm(meals)
    return [at(rates, hour - back - 0.5) - 1.0 for back in range(HOURS)]


def tan_off(gear: Gear, params: Params, water: Water, ops: Ops, back: Sequence[Value]) -> Value:
    """Return the mg/L by which ammonia stands off its mean, ``back`` by hour as ``before`` has it.

    The filter takes the more the more there is: what was made so many hours ago has faded by then.
    """
    made = SHARE * water.eaten * gear.protein * TAN_PER_PROTEIN * 1000 / gear.volume_l
    taken = ops.maximum(water.first, 0.0) / ops.maximum(water.tan, 0.02)
    fades = taken * params.half_first / (params.half_first + water.tan) / HOURS
    half = ops.exp(-ops.minimum(fades, 5.0) / 2)
    total: Value = 0.0 * water.tan
    share: Value = half
    for off in back:
        total = total + off * share
        share = share * half * half
    # and of the days before in the same way
    return made / HOURS * total / ops.maximum(1.0 - share / half, 1e-6)
