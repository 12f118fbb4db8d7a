"""Least squares with no negative amounts (Lawson & Hanson 1974, chapter 23)."""

from collections.abc import Sequence

_SMALL = 1e-11
_ROUNDS_PER_COLUMN = 10


def least_squares(columns: Sequence[Sequence[float]], wanted: Sequence[float]) -> list[float]:
    """Return x >= 0, one for each column, for which the columns times x come closest to ``wanted``.

    ``columns``: each as long as ``wanted``; a column of zeros gets 0. Meant for a few dozen
    columns of like size: scale them first. References: lawson_hanson1974.

    >>> least_squares([[1, 0], [0, 1]], [2, -3])
    [2.0, 0.0]
    """
    amounts = [0.0] * len(columns)
    inside: list[int] = []
    for _ in range(_ROUNDS_PER_COLUMN * len(columns)):
        gain = _gradient(columns, wanted, amounts)
        outside = [j for j in range(len(columns)) if j not in inside and gain[j] > _SMALL]
        if not outside:
            break
        inside.append(max(outside, key=lambda j: gain[j]))
        _settle(columns, wanted, amounts, inside)
    return amounts


def _gradient(
    columns: Sequence[Sequence[float]], wanted: Sequence[float], amounts: Sequence[float]
) -> list[float]:
    left = [
        want - sum(column[i] * x for column, x in zip(columns, amounts, strict=True))
        for i, want in enumerate(wanted)
    ]
    return [_dot(column, left) for column in columns]


def _settle(
    columns: Sequence[Sequence[float]],
    wanted: Sequence[float],
    amounts: list[float],
    inside: list[int],
) -> None:
    """Move to the best amounts of the columns inside; those that would turn negative leave."""
    while inside:
        best = _free([columns[j] for j in inside], wanted)
        if all(x > 0 for x in best):
            for j, x in zip(inside, best, strict=True):
                amounts[j] = x
            return
        way = min(
            amounts[j] / (amounts[j] - x) for j, x in zip(inside, best, strict=True) if x <= 0
        )
        for j, x in zip(inside, best, strict=True):
            amounts[j] += way * (x - amounts[j])
        leaving = [j for j in inside if amounts[j] <= _SMALL]
        for j in leaving:
            amounts[j] = 0.0
            inside.remove(j)


def _free(columns: Sequence[Sequence[float]], wanted: Sequence[float]) -> list[float]:
    """Return the unconstrained amounts by Gram and Schmidt, twice for the sake of digits."""
    units: list[list[float]] = []
    upper: list[list[float]] = []
    for column in columns:
        rest, row = [float(v) for v in column], [0.0] * len(units)
        for _ in range(2):
            for i, unit in enumerate(units):
                part = _dot(unit, rest)
                row[i] += part
                rest = [r - part * u for r, u in zip(rest, unit, strict=True)]
        length = _dot(rest, rest) ** 0.5
        units.append([r / length for r in rest] if length > _SMALL else [0.0] * len(rest))
        upper.append([*row, length])
    heights = [_dot(unit, wanted) for unit in units]
    found = [0.0] * len(columns)
    for i in reversed(range(len(columns))):
        rest_of = heights[i] - sum(upper[j][i] * found[j] for j in range(i + 1, len(columns)))
        found[i] = rest_of / upper[i][i] if upper[i][i] > _SMALL else 0.0
    return found


def _dot(a: Sequence[float], b: Sequence[float]) -> float:
    return sum(x * y for x, y in zip(a, b, strict=True))
