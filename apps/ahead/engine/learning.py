"""Learning a loop from its readings: an ensemble Kalman filter over water and parameters.

Why this one. Sequential: each reading moves the water *and* the parameters that it speaks of, a
capacity that drifts is followed, and the state on day 0 is learnt rather than assumed. Importance
sampling on 200 members degenerates with a dozen parameters and fifty readings; an iterated smoother
gives fixed parameters whose ranges are too narrow once the real ones wander, and takes four passes
for one. Readings are taken one at a time, without perturbed observations (Whitaker and Hamill 2002,
Mon. Weather Rev. 130:1913-1924, from memory), so that 200 members add no noise of their own;
logarithms keep all above zero; a table keeps a reading from what it cannot speak of (localisation).

A reading is an interval: its middle, with the interval's variance added to that of kit and hour. At
the end of a scale only a member's side of the end counts. A reading far off everything widens the
members first, up to a limit, so that a loop that has changed is followed; beyond it the reading is
believed less, so that no single slip turns a loop.
"""

import math
from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np

from apps.ahead.engine.arrays import (
    ARRAYS,
    Array,
    chosen,
    day_side_by_side,
    gear_side_by_side,
    params_side_by_side,
    water_side_by_side,
)
from apps.ahead.engine.hourly import at_their_hours
from apps.calc.ahead.drive import Drive, drive_of, gear_of
from apps.calc.ahead.facts import LoopFacts, MakeUp, Observed
from apps.calc.ahead.members import (
    beginning,
    day_after,
    earlier_weights,
    middle_of,
    params_of,
    shown,
)
from apps.calc.ahead.priors import BELIEFS, CONVERSION, ERRORS, FITTED
from apps.calc.ahead.step import Gear, Params, Water
from apps.calc.quantities import MEASURANDS

MEMBERS = 200
DOUBTFUL = 2.5  # standard deviations from which on a reading is a surprise
WIDEST = 2.0  # times by which one surprise widens the members at most
BEGIN_SPREAD = 0.5
LEAST = 5e-3  # mg/L, below which nothing is told apart
ON_A_LINE = frozenset({"ph", "do"})  # read as they are; all else by its logarithm
IN_WATER = ("tan", "no2", "no3", "alk", "tds", "k", "ca")
SPEAKS_OF: dict[str, tuple[str, ...]] = {
    "tan": ("tan", "first", "half_first", "no2", "feed"),
    "no2": ("no2", "second", "half_second", "no3"),
    "no3": ("no3", "uptake", "loss", "feed"),
    "alk": ("alk", "base", "stripping"),
    "ph": ("stripping", "other_co2", "alk"),
    "do": ("aeration",),
    "ec": ("tds", "salts"),
    "k": ("k",),
    "ca": ("ca",),
}


@dataclass
class Learnt:
    """Loops side by side on day 0, and as some of them stood on days before its readings."""

    facts: Sequence[LoopFacts]
    gears: list[Gear]
    drives: list[Drive]
    middles: list[Params]
    water: Water
    deviations: tuple[Array, ...]
    stood: dict[tuple[int, int], tuple[Water, tuple[Array, ...]]] = field(default_factory=dict)


def learn(
    facts: Sequence[LoopFacts],
    *,
    members: int = MEMBERS,
    seed: int = 1,
    keep: Sequence[Sequence[int]] = (),
    inflows: Sequence[Sequence[MakeUp] | None] | None = None,
) -> Learnt:
    """Return what the readings teach of each loop.

    ``keep``: for each loop the days (below 0) on whose beginning it is to be remembered.
    """
    rng = np.random.default_rng(seed)
    gears = [gear_of(one) for one in facts]
    inflows = inflows or [None] * len(facts)
    drives = [drive_of(one, inflow=comes) for one, comes in zip(facts, inflows, strict=True)]
    middles = [
        middle_of(one, gear, drive) for one, gear, drive in zip(facts, gears, drives, strict=True)
    ]
    begin = min(drive.first for drive in drives)
    waters = [_before(*row) for row in zip(facts, gears, drives, middles, strict=True)]
    gear, middle = gear_side_by_side(gears), params_side_by_side(middles)
    groups, shape = len(gear.counts), (len(facts), members)
    water = water_side_by_side(waters, groups, members)
    water = water._replace(
        **{
            name: getattr(water, name) * np.exp(BEGIN_SPREAD * rng.standard_normal(shape))
            for name in (*IN_WATER, "ss")
        }
    )
    deviations = tuple(BELIEFS[name].spread * rng.standard_normal(shape) for name in FITTED)
    learnt = Learnt(facts, gears, drives, middles, water, deviations)
    by_day = _by_day(facts)
    kept = defaultdict(list)
    for row, days in enumerate(keep):
        for on in days:
            kept[on].append(row)
    for on in range(begin, 1):
        day = day_side_by_side([drive.at(on) for drive in drives], groups)
        for row in kept.get(on, ()):
            rows = np.array([row])
            learnt.stood[row, on] = (
                chosen(water, rows),
                tuple(away[rows].copy() for away in deviations),
            )
        for seen in by_day.get(on, ()):
            params = params_of(ARRAYS, middle, deviations)
            sights = shown(ARRAYS, gear, params, day, water)
            sights = at_their_hours(seen, facts, gear, params, water, sights)
            water, deviations = _taught(seen, sights, water, deviations)
        if on < 0:
            water, deviations = day_after(
                ARRAYS, gear, middle, day, water, deviations, lambda: rng.standard_normal(shape)
            )
    learnt.water = water._replace(weights=_today(learnt.facts, groups, members))
    learnt.deviations = deviations
    return learnt


def _today(facts: Sequence[LoopFacts], groups: int, members: int) -> tuple[Array, ...]:
    found = np.ones((groups, len(facts), members))
    for row, one in enumerate(facts):
        for place, group in enumerate(one.fish):
            found[place, row] = group.weight_g
    return tuple(found)


def _before(facts: LoopFacts, gear: Gear, drive: Drive, middle: Params) -> Water:
    """Return the likely water on the first day, with the fish as small as they were."""
    weights = earlier_weights(facts, gear, drive.days[: -drive.first], CONVERSION)
    made = float(middle.first) / 2 * 1000 / facts.volume_l
    return beginning(facts, weights, made)


def _by_day(facts: Sequence[LoopFacts]) -> dict[int, list[dict[int, Observed]]]:
    """Return day -> rounds of readings, at most one of a loop in each round."""
    found: dict[int, dict[str, list[dict[int, Observed]]]] = defaultdict(dict)
    for row, one in enumerate(facts):
        for seen in one.observed:
            if seen.measurand not in SPEAKS_OF or seen.day >= 1:
                continue
            rounds = found[math.floor(seen.day)].setdefault(seen.measurand, [])
            free = next((r for r in rounds if row not in r), None)
            if free is None:
                rounds.append(free := {})
            free[row] = seen
    return {
        day: [r for rounds in by_name.values() for r in rounds] for day, by_name in found.items()
    }


def _taught(
    seen: dict[int, Observed],
    sights: dict[str, Array],
    water: Water,
    deviations: tuple[Array, ...],
) -> tuple[Water, tuple[Array, ...]]:
    """Return water and parameters after one reading of one measurand in each of some loops."""
    name = next(iter(seen.values())).measurand
    rows = np.fromiter(seen, dtype=np.int64)
    foreseen = np.broadcast_to(sights[name], water.tan.shape)[rows]
    if name not in ON_A_LINE:
        foreseen = np.log(np.maximum(foreseen, LEAST))
    mean = foreseen.mean(axis=1, keepdims=True)
    away = foreseen - mean
    spread = (away * away).mean(axis=1, keepdims=True)
    gap, noise, blown = _surprise(list(seen.values()), name, mean, spread)
    away, spread = away * blown, spread * blown * blown
    pull = gap / (spread + noise)
    less = 1.0 / (1.0 + np.sqrt(noise / (spread + noise)))
    for target in SPEAKS_OF[name]:
        logged = target in IN_WATER
        held = getattr(water, target) if logged else deviations[FITTED.index(target)]
        # as coarse as what is foreseen: the gain of a finer one would overshoot
        values = np.log(np.maximum(held[rows], LEAST)) if logged else held[rows]
        middle = values.mean(axis=1, keepdims=True)
        centred = (values - middle) * blown
        shared = (centred * away).mean(axis=1, keepdims=True)
        values = middle + centred + shared * (pull - less * away / (spread + noise))
        if logged:
            held[rows] = np.clip(
                np.exp(np.minimum(values, 10.0)), LEAST, 2 * MEASURANDS[target].high
            )
        else:
            held[rows] = np.clip(values, -4.0, 4.0)
    return water, deviations


def _surprise(
    seen: Sequence[Observed], name: str, mean: Array, spread: Array
) -> tuple[Array, Array, Array]:
    """Return how far each reading lies from what was foreseen, its variance, and a widening.

    The widening is how many times further apart the members ought to have been.
    """
    gap, noise, blown = np.empty_like(mean), np.empty_like(mean), np.ones_like(mean)
    for row, one in enumerate(seen):
        expected, own = float(mean[row, 0]), float(spread[row, 0])
        level, kit = _plain(one) if name in ON_A_LINE else _logarithm(one, expected)
        off = level - expected
        if np.isinf(one.high):
            off = max(0.0, off)
            kit = kit if off else 1e12  # beyond the end of the scale it says nothing more
        lacking = off * off / DOUBTFUL**2 - own - kit
        if lacking > 0:
            wider = min(lacking, (WIDEST**2 - 1) * own)
            blown[row, 0] = np.sqrt(1 + wider / max(own, 1e-12))
            kit += lacking - wider
        gap[row, 0], noise[row, 0] = off, max(kit, 1e-12)
    return gap, noise, blown


def _plain(seen: Observed) -> tuple[float, float]:
    """Return the middle of a reading's interval, and its variance with the kit's."""
    error = ERRORS[seen.measurand]
    if np.isinf(seen.high):
        return seen.low, error.units**2
    return (seen.low + seen.high) / 2, error.units**2 + (seen.high - seen.low) ** 2 / 12


def _logarithm(seen: Observed, expected: float) -> tuple[float, float]:
    """Return the same of the logarithm; an interval from zero is a wide one below its end."""
    error = ERRORS[seen.measurand]
    high = max(seen.low if np.isinf(seen.high) else seen.high, 2 * LEAST)
    low = max(seen.low, 0.2 * high)
    level = 0.5 * (math.log(low) + math.log(high))
    size = max(math.exp(level), math.exp(min(expected, 9.0)))
    kit = (error.units / size) ** 2 + error.share**2
    return level, kit + math.log(high / low) ** 2 / 12
