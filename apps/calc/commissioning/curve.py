"""What ammonia, nitrite and nitrate are expected to do while a filter is brought in without fish."""

from dataclasses import dataclass
from functools import lru_cache

from apps.calc.advice.cycling import DOSE_BELOW_NO2, DOSE_BELOW_TAN, DOSE_TO_TAN
from apps.calc.quantities import require_between

DAYS = 70
WITHIN = 0.3  # the days hold within this share
_STEPS = 48  # a day
_HALF = 0.5  # mg/L N at which bacteria grow at half their pace
_CEILING = 4.0  # mg/L N a day that the filter comes to
_AMMONIA = (0.38, 1.09, 0.02)  # growth a day at 25 °C, factor a °C, capacity at the start
_NITRITE = (0.36, 1.07, 0.012)
MEASURANDS = ("tan", "no2", "no3")


@dataclass(frozen=True)
class Expected:
    """The expected value of one measurand on each whole day, from the first dose, with its range."""

    measurand: str
    low: tuple[float, ...]
    middle: tuple[float, ...]
    high: tuple[float, ...]


@lru_cache(maxsize=64)
def curve(temp_c: float) -> tuple[Expected, ...]:
    """Return what to expect of total ammonia, nitrite and nitrate [mg/L N], days 0 to 70.

    Two groups of bacteria grow by Monod's law; the filter is dosed to 2 mg/L ammonia N while
    ammonia is under 0.5 and nitrite under 5. A computed model, not a measurement: its range is
    what it gives on days up to 30 % sooner or later. Its ends agree with 25 to 40 days at 25 to
    28 °C. Valid range: 10 to 32 °C; ValueError outside. References: fao589, practice.

    >>> [round(row.middle[19], 1) for row in curve(25.0)]
    [0.0, 5.8, 1.3]
    """
    require_between("temp_c", temp_c, 10.0, 32.0)
    rows = _days(temp_c)
    return tuple(
        _ranged(code, [row[place] for row in rows]) for place, code in enumerate(MEASURANDS)
    )


def _days(temp_c: float) -> list[tuple[float, float, float]]:
    """Return (ammonia, nitrite, nitrate) at the end of each day, as far as the range reaches."""
    tan, no2, no3 = DOSE_TO_TAN, 0.0, 0.0
    growths = [rate * factor ** (temp_c - 25) for rate, factor, _start in (_AMMONIA, _NITRITE)]
    eaters, movers = _AMMONIA[2], _NITRITE[2]
    found, step = [(tan, no2, no3)], 1 / _STEPS
    for number in range(1, round(DAYS / (1 - WITHIN)) * _STEPS + 1):
        share, onward = tan / (tan + _HALF), no2 / (no2 + _HALF)
        made, moved = min(tan, eaters * share * step), min(no2, movers * onward * step)
        tan, no2, no3 = tan - made, no2 + made - moved, no3 + moved
        eaters = min(_CEILING, eaters * (1 + growths[0] * share * step))
        movers = min(_CEILING, movers * (1 + growths[1] * onward * step))
        if number % _STEPS == 0:
            found.append((tan, no2, no3))
            if tan < DOSE_BELOW_TAN and no2 < DOSE_BELOW_NO2:
                tan = DOSE_TO_TAN
    return found


def _ranged(measurand: str, values: list[float]) -> Expected:
    low, high = [], []
    for day in range(DAYS + 1):
        first, last = int(day * (1 - WITHIN)), -int(-day * (1 + WITHIN) // 1)
        near = values[first : min(last, len(values) - 1) + 1]
        low.append(min(near))
        high.append(max(near))
    return Expected(measurand, tuple(low), tuple(values[: DAYS + 1]), tuple(high))


def as_expected(row: Expected, day: float, value: float, step: float) -> int:
    """Return -1, 0 or 1: the reading of a day lies below, inside or above what is expected.

    ``step``: the step of its kit, which counts for it. Days beyond the curve count as its last.

    >>> as_expected(curve(25.0)[1], 10, 12.0, 0.25)
    1
    """
    place = min(max(round(day), 0), DAYS)
    return (value > row.high[place] + step) - (value < row.low[place] - step)
