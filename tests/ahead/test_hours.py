"""Ammonia over the day: highest hours after the meals, its mean unmoved, taught at its own hour."""

import math
from dataclasses import replace

import numpy as np
import pytest

from apps.ahead.engine.learning import learn
from apps.calc.ahead.hours import HOURS, as_told, before, meals_of, rhythm, tan_off
from apps.calc.ahead.ops import FLOATS
from tests.ahead import example
from tests.ahead.loops import facts, seen

TWICE = meals_of(2)
FED = example.BEGIN._replace(tan=0.4, first=4.4, eaten=350.0)


def off(hour, water=FED, meals=TWICE):
    return tan_off(example.GEAR, example.PARAMS, water, FLOATS, before(meals, hour))


def exact(meals, water, steps=24 * 900):
    """The same by small steps, day after day, until it repeats: mg/L by full hour."""
    made = 0.75 * water.eaten * 0.32 * 0.092 * 1000 / example.VOLUME
    fades = water.first / water.tan / (1 + water.tan)
    rates, dt, level, found = rhythm(meals), 1 / steps, 0.0, {}
    for _day in range(4):
        for step in range(steps):
            hour = HOURS * step / steps
            below = int(hour)
            rate = rates[below] + (hour - below) * (rates[(below + 1) % HOURS] - rates[below])
            if step % (steps // HOURS) == 0:
                found[below] = level
            level += dt * (made * (rate - 1) - fades * level)
    return found


@pytest.mark.outside(
    source="the balance of ammonia over the hours, by steps of four seconds", kind="computed",
    tolerance=0.01, absolute=True,
)  # fmt: skip
@pytest.mark.parametrize("hour", [3, 8, 12, 16, 21])
def test_against_small_steps(hour, outside):
    outside(off(float(hour)), exact(TWICE, FED)[hour])


def test_it_is_highest_some_hours_after_a_meal():
    by_hour = [off(float(hour), meals=meals_of(1)) for hour in range(HOURS)]
    highest = by_hour.index(max(by_hour))
    assert 4 <= highest - meals_of(1)[0] <= 8
    # and lowest where the day's first meal has not begun to tell
    assert 7 <= by_hour.index(min(by_hour)) <= 10


@pytest.mark.parametrize("times", [1, 2, 3, 5, 9])
def test_over_a_day_it_cancels(times):
    meals = meals_of(times)
    assert len(meals) == times
    assert math.fsum(off(float(hour), meals=meals) for hour in range(HOURS)) == pytest.approx(
        0, abs=1e-9
    )


def test_more_meals_are_a_calmer_day():
    def swing(times):
        values = [off(float(hour), meals=meals_of(times)) for hour in range(HOURS)]
        return max(values) - min(values)

    assert swing(6) < swing(2) < swing(1)


def test_what_is_not_fed_has_no_hours():
    assert off(15.0, FED._replace(eaten=0.0)) == 0


@pytest.mark.parametrize("hour", [1.0, 8.5, 13.0, 23.0])
@pytest.mark.parametrize("ago", [0.5, 4.0, 11.0])
def test_the_last_meal_is_when_it_was_told(hour, ago):
    meals = as_told(TWICE, hour, ago)
    since = [(hour - meal) % HOURS for meal in meals]
    assert min(hours for hours in since if hours) == pytest.approx(ago)
    assert len(meals) == 2


def test_what_was_told_goes_before_the_usual_hours():
    """Six hours after a meal there is more than half an hour after it, at the same hour of the day."""

    def level(ago):
        readings = tuple(
            replace(seen(day + 0.5, "tan", 0.6, 0.1), fed_ago_h=ago) for day in range(-35, 0, 7)
        )
        return float(np.median(learn([facts(observed=readings)]).water.tan))

    assert level(0.5) > 1.1 * level(6.0)


def test_a_reading_teaches_by_its_hour():
    """The same figure read before the first meal and after the second tells of different water."""

    def level(hour):
        readings = tuple(seen(day + hour / 24, "tan", 0.6, 0.1) for day in range(-35, 0, 7))
        return float(np.median(learn([facts(observed=readings)]).water.tan))

    assert level(8.0) > 1.1 * level(21.0)
