"""What a kit's steps leave open: the interval in which a reading's true value lies."""

import math
from collections.abc import Sequence
from itertools import pairwise

# The widest step of the kits in use, in the catalogue's unit: drops and strips (common practice,
# as the catalogue's own column has them). Meters are finer, which their readings show.
WIDEST: dict[str, float] = {
    "temp": 0.5, "ph": 0.5, "alk": 18, "gh": 18, "tan": 0.25, "no2": 0.25, "no3": 5, "k": 10,
    "ca": 10, "mg": 10, "po4": 0.5, "fe": 0.1, "ec": 0.05, "do": 0.5, "na": 10, "cl": 10,
}  # fmt: skip
ENOUGH = 6


def step_of(measurand: str, values: Sequence[float], decimals: int) -> float:
    """Return the step in which readings of one method come, in their unit.

    The smallest gap between different readings, once there are six; never finer than their
    decimals and never wider than the kits' widest step, which holds where too few are known.
    Source: common practice.

    >>> step_of("no2", [0.05, 0.1, 0.1, 0.25, 0.05, 0.15], 2)
    0.05
    >>> step_of("no2", [0.1], 2)
    0.25
    """
    finest = 10.0**-decimals
    widest = max(WIDEST.get(measurand, finest), finest)
    different = sorted(set(values))
    if len(values) < ENOUGH or len(different) < 2:
        return widest
    gap = min(after - before for before, after in pairwise(different))
    return min(widest, max(finest, round(gap, decimals)))


def left_open(measurand: str, value: float, step: float) -> tuple[float, float]:
    """Return the lowest and the highest value that a kit would have read so.

    Half a step to either side; concentrations are not below zero.

    >>> left_open("no2", 0.0, 0.1)
    (0.0, 0.05)
    """
    low = value - step / 2
    if measurand != "temp":
        low = max(0.0, low)
    return low, math.inf if math.isinf(value) else value + step / 2
