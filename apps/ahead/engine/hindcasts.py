"""How each forecast would have done on a loop's own record, from the visits of the last weeks.

From each such visit the members that the filter held *then* are carried on with what was known then:
habits, feed and levels of the days before, nothing recorded later. The middle of the belief and the
temperature of the days that followed are taken as they are known now, which flatters the balance a
little; backtests on whole records do without.
"""

from collections import defaultdict
from collections.abc import Sequence

import numpy as np

from apps.ahead.engine.arrays import Array, chosen
from apps.ahead.engine.forecasting import carried_on, read_off
from apps.ahead.engine.learning import Learnt
from apps.calc.ahead import baselines
from apps.calc.ahead.drive import Drive, drive_of, gear_of
from apps.calc.ahead.earned import horizon_of
from apps.calc.ahead.facts import LoopFacts, Observed, Weather, as_known
from apps.calc.ahead.priors import ERRORS
from apps.calc.ahead.scores import Score, score
from apps.calc.ahead.step import Water

MOST_ORIGINS = 4
REACH = 28
LEAST_BEFORE = 21  # days of record before an origin
FULL = 3  # measurands read on one day make a visit
MEMBERS = 60
Found = dict[str, dict[int, dict[str, Score]]]  # measurand -> horizon -> method -> score


def origins(facts: LoopFacts, most: int = MOST_ORIGINS) -> list[int]:
    """Return the days (below 0) that follow the last visits with readings after them."""
    by_day: dict[int, set[str]] = defaultdict(set)
    for seen in facts.observed:
        by_day[int(np.floor(seen.day))].add(seen.measurand)
    visits = sorted(day for day, names in by_day.items() if len(names) >= FULL)
    if not visits:
        return []
    found = [day + 1 for day in visits[:-1] if day - visits[0] >= LEAST_BEFORE and day < -4]
    return found[-most:]


def records(learnt: Learnt, *, seed: int = 5) -> list[Found]:
    """Return the scores of each forecast on each loop's own later readings."""
    found: list[Found] = [{} for _ in learnt.facts]
    pairs = sorted(learnt.stood)
    if not pairs:
        return found
    then = [facts_then(learnt.facts[row], learnt.drives[row], day) for row, day in pairs]
    members = min(MEMBERS, learnt.water.tan.shape[1])
    stood = [learnt.stood[pair] for pair in pairs]
    course = carried_on(
        [gear_of(facts) for facts in then],
        [learnt.middles[row] for row, _ in pairs],
        [drive_of(facts, REACH, first=0).days for facts in then],
        _stacked([chosen(water, slice(None)) for water, _ in stood], learnt, members),
        tuple(
            np.concatenate([away[place][:, :members] for _, away in stood])
            for place in range(len(stood[0][1]))
        ),
        seed=seed,
    )
    steps = {name: np.full(len(pairs), ERRORS[name].step) for name in ERRORS}
    bands = read_off(course, steps, seed=seed + 1)
    for place, ((row, day), facts) in enumerate(zip(pairs, then, strict=True)):
        for seen in learnt.facts[row].observed:
            after = seen.day - day
            if not 0 < after <= REACH or seen.measurand not in bands:
                continue
            then_seen = Observed(after, seen.measurand, seen.value, seen.low, seen.high)
            _judge(found[row], facts, bands[seen.measurand][:, :, place], then_seen)
    return found


def facts_then(facts: LoopFacts, drive: Drive, day: int) -> LoopFacts:
    """Return what was known of a loop on a day, with the temperatures of the days after it."""
    usual = facts.weather[0] if facts.weather else Weather(20.0, 3.0, 0.0)
    weather = tuple(
        Weather(
            drive.temps[min(day - drive.first + on, len(drive.temps) - 1)],
            usual.et0_mm,
            usual.rain_mm,
            usual.wet,
        )
        for on in range(REACH)
    )
    return as_known(facts, day, weather)


def _stacked(waters: Sequence[Water], learnt: Learnt, members: int) -> Water:
    groups = len(learnt.water.weights)
    parts = {
        name: np.concatenate([getattr(water, name)[:, :members] for water in waters])
        for name in Water._fields
        if name != "weights"
    }
    weights = tuple(
        np.concatenate([water.weights[group][:, :members] for water in waters])
        for group in range(groups)
    )
    return Water(**parts, weights=weights)


def _judge(own: Found, then: LoopFacts, band: Array, seen: Observed) -> None:
    """Add what each method said of one reading; 'trend' says what 'steady' says where it is none."""
    name = seen.measurand
    readings = baselines.recent(then.observed, name)
    if not readings:
        return
    steady = baselines.steady(name, readings, [seen.day])[0]
    trend = baselines.trend(name, readings, [seen.day])
    below = min(int(seen.day), band.shape[1] - 2)
    share = seen.day - below
    low, middle, high = (band[:, below] + share * (band[:, below + 1] - band[:, below])).tolist()
    mine = own.setdefault(name, {}).setdefault(horizon_of(seen.day), defaultdict(Score))
    mine["balance"] += score(low, middle, high, seen)
    mine["trend"] += score(*(trend[0] if trend else steady), seen)
    mine["steady"] += score(*steady, seen)
