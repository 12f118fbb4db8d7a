"""From what was learnt of loops to their outlook: the ensemble carried on, six weeks ahead."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from apps.ahead.engine.arrays import (
    ARRAYS,
    Array,
    day_side_by_side,
    gear_side_by_side,
    params_side_by_side,
)
from apps.calc.ahead.members import day_after, params_of, shown
from apps.calc.ahead.priors import ERRORS
from apps.calc.ahead.step import Day, Gear, Params, Water, gases
from apps.calc.ahead.summary import HIGH, LOW, MIDDLE, PEAK


@dataclass
class Course:
    """Members by day: measurand -> array (days, systems, members), and the fish."""

    sights: dict[str, Array]
    biomass_g: Array
    feed: Array
    lowest_oxygen: Array


def carried_on(
    gears: Sequence[Gear],
    middles: Sequence[Params],
    days: Sequence[Sequence[Day]],
    water: Water,
    deviations: tuple[Array, ...],
    *,
    seed: int = 2,
) -> Course:
    """Return the course of loops side by side; ``days`` by loop, all equally many."""
    rng = np.random.default_rng(seed)
    gear, middle = gear_side_by_side(gears), params_side_by_side(middles)
    groups, shape = len(gear.counts), water.tan.shape
    count = len(days[0])
    sights: dict[str, list[Array]] = {name: [] for name in ERRORS}
    mass, feed, lowest = [], [], []
    for at in range(count + 1):
        day = day_side_by_side([row[min(at, count - 1)] for row in days], groups)
        params = params_of(ARRAYS, middle, deviations)
        for name, value in shown(ARRAYS, gear, params, day, water).items():
            sights[name].append(np.broadcast_to(value, shape))
        mass.append(
            sum((c * w for c, w in zip(gear.counts, water.weights, strict=True)), np.zeros(shape))
        )
        air = gases(ARRAYS, gear, params, day, water, PEAK).oxygen
        lowest.append(np.broadcast_to(air, shape))
        if at < count:
            water, deviations = day_after(
                ARRAYS, gear, middle, day, water, deviations, lambda: rng.standard_normal(shape)
            )
            feed.append(np.broadcast_to(water.eaten, shape))
    feed.append(feed[-1])
    return Course(
        {name: np.stack(values) for name, values in sights.items()},
        np.stack(mass), np.stack(feed), np.stack(lowest),
    )  # fmt: skip


def read_off(course: Course, steps: dict[str, Array], *, seed: int = 3) -> dict[str, Array]:
    """Return measurand -> (3, days, systems): the range in which a *reading* will lie.

    Each member gets one error of kit and hour for the whole course, and its place within the kit's
    step; ``steps``: measurand -> width of the steps by system.
    """
    rng = np.random.default_rng(seed)
    found = {}
    for name, values in course.sights.items():
        error, shape = ERRORS[name], values.shape[1:]
        off = error.units * rng.standard_normal(shape)
        share = error.share * rng.standard_normal(shape)
        step = steps[name][:, None] * rng.uniform(-0.5, 0.5, shape)
        seen = np.maximum(values * (1 + share) + off + step, 0.0)
        found[name] = np.quantile(seen, (LOW, MIDDLE, HIGH), axis=2)
        found[name][1] = np.median(values, axis=2)
    return found
