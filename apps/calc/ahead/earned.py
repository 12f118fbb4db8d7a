"""Which forecast has earned its place: a loop's own record, leaning on what was measured elsewhere.

A loop with few readings says little, so its own ratio of errors is weighed against the ratio over
many loops, which counts as twenty readings: what a visit reads stands at one point of the rhythm of
doses and visits, and favours the last reading. Skill is a ratio of mean absolute errors to those of 'steady', so 'steady'
has 1. Each of four horizons has its own choice; days between two blend them, so that no line jumps.
"""

import math
from collections.abc import Mapping, Sequence
from itertools import pairwise, product

from apps.calc.ahead.outlook import METHODS
from apps.calc.ahead.priors import ERRORS
from apps.calc.ahead.scores import Score, total

HORIZONS = (3, 7, 14, 28)
LEAN = 20.0
FINE = 0.2  # of the kit's error: errors smaller than that are alike
FEW = 5  # readings below which no hit rate is stated
# a reading at another horizon tells of this one by so much, per step between them
TELLS_OF_NEXT = 0.25
# what another forecast has to be better by, so that it takes over between two horizons
TURN = 0.05
MOST_RATIO = 5.0  # one reading that 'steady' met by luck says no more than that

Ratios = Mapping[str, Mapping[int, Mapping[str, float]]]  # measurand -> horizon -> method -> ratio
Record = Mapping[int, Mapping[str, Score]]  # horizon -> method -> score
Records = Mapping[str, Record]  # by measurand
Choice = tuple[str, ...]  # a method for each of HORIZONS

# Ratio of mean errors to those of 'steady', by measurand, and by method at each horizon: measured on
# the invented loops whose seeds are for tuning (``python -m demo.water --earned``).
_MEASURED: dict[str, dict[str, tuple[float, ...]]] = {
    "do": {"balance": (0.9, 0.9, 0.89, 0.86), "trend": (1.01, 0.98, 1.08, 1.16)},
    "ec": {"balance": (0.56, 0.82, 0.99, 1.0), "trend": (1.4, 1.37, 1.14, 1.0)},
    "k": {"balance": (0.4, 0.64, 0.96, 1.22), "trend": (0.98, 0.94, 0.9, 0.87)},
    "no3": {"balance": (0.52, 0.53, 0.69, 0.77), "trend": (1.13, 1.17, 1.24, 1.36)},
    "ph": {"balance": (0.48, 0.59, 0.59, 0.68), "trend": (0.97, 1.0, 1.12, 1.36)},
    "alk": {"balance": (0.71, 0.97, 0.82, 0.95), "trend": (1.09, 1.09, 1.09, 1.15)},
    "no2": {"balance": (1.09, 0.83, 0.77, 0.87), "trend": (1.1, 0.78, 0.85, 0.95)},
    "tan": {"balance": (0.97, 1.08, 1.07, 0.99), "trend": (0.78, 0.9, 0.95, 0.94)},
}
ELSEWHERE: Ratios = {
    measurand: {
        horizon: {method: ratios[place] for method, ratios in methods.items()} | {"steady": 1.0}
        for place, horizon in enumerate(HORIZONS)
    }
    for measurand, methods in _MEASURED.items()
}
UNKNOWN = {"balance": 1.1, "trend": 1.1, "steady": 1.0}


def horizon_of(day: float) -> int:
    """Return the horizon that a reading so many days later tells of most: the nearest in ratio."""
    return min(HORIZONS, key=lambda horizon: abs(math.log(max(day, 0.5) / horizon)))


def ratios(
    measurand: str, horizon: int, own: Record, elsewhere: Ratios | None = None
) -> dict[str, float]:
    """Return for each method its error against that of 'steady' so many days ahead.

    The loop's own record at that horizon, less so at the others, and other loops together.
    """
    known = dict(UNKNOWN)
    known |= (ELSEWHERE if elsewhere is None else elsewhere).get(measurand, {}).get(horizon, {})
    nearby = _nearby(horizon, own)
    found = {}
    for method in METHODS:
        ratio = ratio_of(measurand, nearby, method)
        count = nearby[method].judged if ratio is not None else 0.0
        found[method] = (count * (ratio or 0.0) + LEAN * known[method]) / (count + LEAN)
    return found


def _nearby(horizon: int, own: Record) -> dict[str, Score]:
    """Return a record's scores by method, those at other horizons for a share each."""
    found = {method: Score() for method in METHODS}
    for other, scores in own.items():
        share = TELLS_OF_NEXT ** abs(HORIZONS.index(other) - HORIZONS.index(horizon))
        for method in METHODS:
            found[method] += scores.get(method, Score()).counting(share)
    return found


def ratio_of(measurand: str, scores: Mapping[str, Score], method: str) -> float | None:
    """Return a method's mean error against that of 'steady' on the same readings, None of none."""
    mine, plain = scores.get(method, Score()), scores.get("steady", Score())
    if not mine.judged or not plain.judged:
        return None
    fine = FINE * ERRORS[measurand].units if measurand in ERRORS else 0.0
    return min(MOST_RATIO, (mine.mean_error + fine) / max(plain.mean_error + fine, 1e-12))


def best(
    measurand: str, own: Record, elsewhere: Ratios | None = None, among: Sequence[str] = METHODS
) -> Choice:
    """Return which of some methods has earned its place at each horizon.

    The one with the least error, but none takes over between two horizons for less than ``TURN``;
    at a tie the one that stands first.

    >>> few = {3: {"balance": Score(9, 9.0, 7.0), "steady": Score(9, 3.0, 7.0)}}
    >>> best("tan", few, {}, ("balance", "steady"))
    ('steady', 'steady', 'steady', 'steady')
    """
    known = [ratios(measurand, horizon, own, elsewhere) for horizon in HORIZONS]

    def cost(choice: Choice) -> float:
        turns = sum(one != other for one, other in pairwise(choice))
        return sum(row[method] for row, method in zip(known, choice, strict=True)) + TURN * turns

    return min(product(among, repeat=len(HORIZONS)), key=cost)


def weights(choice: Choice, day: float) -> dict[str, float]:
    """Return how much of each method a day's forecast is: straight between two horizons.

    >>> weights(("steady", "steady", "balance", "balance"), 10.5)
    {'steady': 0.5, 'balance': 0.5}
    """
    if day <= HORIZONS[0]:
        return {choice[0]: 1.0}
    for place, (before, after) in enumerate(pairwise(HORIZONS)):
        if day <= after:
            share = (day - before) / (after - before)
            found = {choice[place]: 1.0 - share}
            found[choice[place + 1]] = found.get(choice[place + 1], 0.0) + share
            return found
    return {choice[-1]: 1.0}


Band = tuple[float, float, float]


def blended(
    choice: Choice, days: Sequence[float], bands: Mapping[str, Sequence[Band]]
) -> list[Band]:
    """Return (low, middle, high) by day, each method's band by its weight on that day."""
    found = []
    for place, day in enumerate(days):
        shares = weights(choice, day)
        low, middle, high = (
            sum(share * bands[method][place][part] for method, share in shares.items())
            for part in range(3)
        )
        found.append((low, middle, high))
    return found


def main_of(choice: Choice) -> str:
    """Return the method that a choice goes by for most of its days."""
    lasts = dict.fromkeys(choice, 0)
    for method, (before, after) in zip(choice, pairwise((0, *HORIZONS)), strict=True):
        lasts[method] += after - before
    return max(lasts, key=lambda method: lasts[method])


def stated(own: Record, choice: Choice) -> tuple[float | None, int]:
    """Return (hit rate, readings judged) of a choice on a loop's own record."""
    mine = total(
        own.get(horizon, {}).get(method, Score())
        for horizon, method in zip(HORIZONS, choice, strict=True)
    )
    judged = round(mine.judged)
    return (mine.hit_rate if judged >= FEW else None), judged


def turns_of(choice: Choice) -> tuple[tuple[float, str], ...]:
    """Return (day, method) from each day on that another method has begun to take over.

    >>> turns_of(("steady", "steady", "balance", "balance"))
    ((0.0, 'steady'), (7.0, 'balance'))
    """
    found = [(0.0, choice[0])]
    for place, method in enumerate(choice[1:]):
        if method != choice[place]:
            found.append((float(HORIZONS[place]), method))
    return tuple(found)
