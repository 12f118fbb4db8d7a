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
# Where colour cards and strips end, in the catalogue's unit: as nitrogen, beside those that name the
# ion (NH4 1.288, NO2 3.284 and NO3 4.427 to the nitrogen; common practice).
ENDS: dict[str, tuple[float, ...]] = {
    "tan": (3, 4, 5, 6, 6.21, 8, 10),
    "no2": (0.91, 1, 1.52, 2, 3, 3.04, 5),
    "no3": (11.3, 20, 22.6, 25, 36.1, 45.2, 50, 56.5, 90, 100, 113),
    "fe": (1, 2, 3, 5),
}
_SAME = 0.01  # of a figure: 160 mg/L of the ion become 36.1 or 36.14 as nitrogen
_CLOSE = 0.75  # of the end: a card's last colours stand further apart, a meter's figures do not


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


def end_of(measurand: str, values: Sequence[float]) -> float:
    """Return where the scale of readings of one method ends; infinite where none shows.

    The highest of them, where cards usually end there and none lies in the last quarter below it.
    Source: common practice.

    >>> end_of("tan", [0.25, 4.0, 8.0]), end_of("tan", [0.25, 7.2, 8.0])
    (8.0, inf)
    """
    top = max(values, default=0.0)
    usual = any(abs(top - end) <= _SAME * end for end in ENDS.get(measurand, ()))
    close = any(_CLOSE * top < value < (1 - _SAME) * top for value in values)
    return top if usual and not close else math.inf


def left_open(
    measurand: str, value: float, step: float, end: float = math.inf
) -> tuple[float, float]:
    """Return the lowest and the highest value that a kit would have read so.

    Half a step to either side; concentrations are not below zero. At the end of the kit's scale
    the highest is infinite.

    >>> left_open("no2", 0.0, 0.1)
    (0.0, 0.05)
    >>> left_open("tan", 8.0, 4.0, 8.0)
    (6.0, inf)
    """
    low = value - step / 2
    if measurand != "temp":
        low = max(0.0, low)
    return low, math.inf if math.isinf(value) or value >= end else value + step / 2
