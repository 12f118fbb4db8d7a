"""Where a rising function crosses zero."""

from collections.abc import Callable

# halved so often, a stretch of the pH scale is nearly straight
_HALVINGS = 9
_STEPS = 40


def rising_root(
    excess: Callable[[float], float], low: float, high: float, settled: float = 1e-13
) -> float:
    """Return where ``excess``, which rises from ``low`` to ``high``, crosses zero.

    Halving first, then false position with the Illinois weights (Dowell and Jarratt 1971), until
    the ends are ``settled`` apart or the function is exactly zero. An end is returned where the
    function does not cross.

    >>> round(rising_root(lambda x: x * x - 2, 0, 2), 12)
    1.414213562373
    """
    at_low, at_high = excess(low), excess(high)
    if at_low >= 0:
        return low
    if at_high <= 0:
        return high
    for _ in range(_HALVINGS):
        middle = (low + high) / 2
        here = excess(middle)
        if here < 0:
            low, at_low = middle, here
        else:
            high, at_high = middle, here
    side = 0
    for _ in range(_STEPS):
        if high - low <= settled:
            break
        middle = (low * at_high - high * at_low) / (at_high - at_low)
        here = excess(middle)
        if here == 0:
            return middle
        if here < 0:
            if side < 0:
                at_high /= 2
            if middle - low <= settled:
                return middle
            low, at_low, side = middle, here, -1
        else:
            if side > 0:
                at_low /= 2
            if high - middle <= settled:
                return middle
            high, at_high, side = middle, here, 1
    return (low + high) / 2
