"""The days that a forecast works through, and the warmth of the water on them."""

import math

from apps.calc.ahead.facts import LoopFacts, Weather
from apps.calc.species import interpolate

HORIZON = 42
MOST_HISTORY = 84


def first_day(facts: LoopFacts) -> int:
    """Return the day before 0 from which the time before is worked through."""
    earliest = min((seen.day for seen in facts.observed if seen.day < 0), default=0.0)
    return max(-MOST_HISTORY, math.floor(earliest))


def weather_on(facts: LoopFacts, day: int) -> Weather:
    """Return the weather of a day from 0 on, the nearest where none is known."""
    if not facts.weather:
        return Weather(20.0, 3.0, 0.0)
    return facts.weather[max(0, min(day, len(facts.weather) - 1))]


def temperatures(facts: LoopFacts, first: int, horizon: int) -> tuple[float, ...]:
    """Return the temperature [°C] of each day.

    Measured before day 0, drawn straight between readings; the weather's from then on.
    """
    today = weather_on(facts, 0).temp_c
    seen = sorted((o.day, o.value) for o in facts.observed if o.measurand == "temp" and o.day < 0)
    points = (*seen, (0.0, today))
    before = [interpolate(points, float(day)) for day in range(first, 0)]
    after = [weather_on(facts, day).temp_c for day in range(horizon)]
    return tuple(min(44.0, max(-1.0, temp)) for temp in (*before, *after))
