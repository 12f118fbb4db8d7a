"""How a series of readings behaves: its trend, what is usual for it, what stands apart, what is stuck."""

from collections.abc import Sequence
from dataclasses import dataclass, field, replace

from apps.calc.control import STUCK, Limits, control_limits, ewma, ewma_limits, stuck
from apps.calc.statistics import hampel_outliers, kendall, theil_sen

LEAST_FOR_TREND = 5
LEAST_FOR_LIMITS = 8
RECENT = 5  # readings in which a drift is looked for
CHANCE = 0.05
_D2 = 1.128
_STEEPER = 3.0
# what is judged by eye in whole steps: it has an order, and no distances
SCORES = frozenset({"feed_response"})


@dataclass(frozen=True)
class Behaviour:
    """What is known of a series; what too few readings cannot tell is None, 0 or empty.

    ``slope``: per day, where it is more than chance, else 0. ``usual``: the
    control limits of the earlier readings, of a series without a trend; ``last_outside``: -1 or 1
    where the last reading lies below or above them. ``drift``: -1 or 1 where the last five
    together lie lower or higher than those before, of which ``usual`` then speaks. ``apart``: the places of readings that stand
    apart from the others. ``leads``: -1 or 1 where scores go down or up. ``stuck``: the last five readings of a meter are all the same.
    """

    count: int
    slope: float = 0.0
    usual: Limits | None = None
    last_outside: int = 0
    drift: int = 0
    leads: int = 0
    apart: tuple[int, ...] = field(default=())
    stuck: bool = False


def score_behaviour(days: Sequence[float], values: Sequence[float]) -> Behaviour:
    """Return how scores behave: by their ranks alone, whether they go up or down.

    A score is no measure: it has no pace, no limits and none that stands apart.
    References: mann1945.

    >>> score_behaviour(range(0, 56, 7), [3, 3, 3, 2, 2, 2, 1, 1]).leads
    -1
    """
    found = Behaviour(len(values))
    if len(values) < LEAST_FOR_TREND:
        return found
    ranked = kendall(days, values)
    return replace(found, leads=(ranked.tau > 0) - (ranked.tau < 0)) if ranked.p < CHANCE else found


def behaviour(
    days: Sequence[float], values: Sequence[float], step: float, *, meter: bool = False
) -> Behaviour:
    """Return how readings behave; ``days`` rise, ``step`` is the smallest step of their kit.

    Readings apart are found around the Theil–Sen line (Hampel) and left out of the rest. A drift is
    the exponentially weighted mean of the last five outside its limits. A trend
    needs five readings, a Kendall test below 5 % and more than one step over the whole time;
    limits need eight earlier readings (common practice: such early limits are provisional).
    ``meter``: the readings come from a probe, which may be stuck.
    References: mann1945, sen1968, hampel1974, nist, practice.

    >>> found = behaviour(range(0, 63, 7), [60, 57, 55, 52, 49, 46, 43, 40, 37], 1)
    >>> round(found.slope * 7, 1), found.usual
    (-3.0, None)
    """
    apart = _apart(days, values, step)
    kept = [place for place in range(len(values)) if place not in apart]
    found = Behaviour(len(values), apart=apart, stuck=meter and stuck(values, STUCK))
    if len(kept) < LEAST_FOR_TREND:
        return found
    known_days, known = [days[n] for n in kept], [values[n] for n in kept]
    slope = _slope(known_days[:-RECENT], known[:-RECENT], step)
    shifted = None if slope else _shifted(known, step)
    if shifted:
        return replace(found, usual=shifted[0], drift=shifted[1])
    slope = _slope(known_days, known, step)
    if slope:
        return replace(found, slope=slope)
    last = len(values) - 1
    return _with_limits(found, [values[n] for n in kept if n != last], values[last], step)


def _slope(days: Sequence[float], values: Sequence[float], step: float) -> float:
    """Return the Theil–Sen slope where it is more than chance and more than the kit, else 0."""
    if len(values) < LEAST_FOR_TREND or kendall(days, values).p >= CHANCE:
        return 0.0
    slope, _level = theil_sen(days, values)
    return slope if abs(slope) * (days[-1] - days[0]) > step else 0.0


def _shifted(values: Sequence[float], step: float) -> tuple[Limits, int] | None:
    """Return what was usual and -1 or 1, where the last five together lie lower or higher."""
    if len(values) < LEAST_FOR_LIMITS + RECENT:
        return None
    before = _not_finer(control_limits(values[:-RECENT]), step)
    low, high = ewma_limits(before.centre, (before.high - before.centre) / 3)
    mean = ewma(values[-RECENT:], before.centre)[-1]
    side = (mean > high) - (mean < low)
    return (before, side) if side else None


def _apart(days: Sequence[float], values: Sequence[float], step: float) -> tuple[int, ...]:
    if len(set(days)) < LEAST_FOR_TREND:
        return ()
    slope, level = theil_sen(days, values)
    rest = [value - level - slope * day for day, value in zip(days, values, strict=True)]
    far = hampel_outliers(rest, resolution=step)
    return tuple(sorted(place for run in _runs(far) for place in _off(run, days, values)))


def _runs(places: Sequence[int]) -> list[list[int]]:
    """Return places in runs of neighbours."""
    found: list[list[int]] = []
    for place in places:
        if found and place == found[-1][-1] + 1:
            found[-1].append(place)
        else:
            found.append([place])
    return found


def _off(run: Sequence[int], days: Sequence[float], values: Sequence[float]) -> Sequence[int]:
    """Return which readings of a run far from the line do not go on as their neighbours do.

    Where the course bends, as with fish that grow, readings between two others lie between them; at
    an end they lead on the same way, none more than three times as steep as the one before it
    (common practice).
    """
    first, last, count = run[0], run[-1], len(values)
    if first > 0 and last < count - 1:
        low, high = sorted((values[first - 1], values[last + 1]))
        return () if all(low <= values[place] <= high for place in run) else run
    outwards = list(run) if last == count - 1 else list(reversed(run))
    step = 1 if last == count - 1 else -1
    before = [outwards[0] - 2 * step, outwards[0] - step]
    if not all(0 <= place < count for place in before):
        return run
    pace = _pace(before[0], before[1], days, values)
    for number, place in enumerate(outwards):
        now = _pace(place - step, place, days, values)
        if pace * now <= 0 or now / pace > _STEEPER:
            return outwards[number:]
        pace = now
    return ()


def _pace(one: int, other: int, days: Sequence[float], values: Sequence[float]) -> float:
    """Return the change a day from one reading to the next outwards; 0 within a day."""
    apart = abs(days[other] - days[one])
    return (values[other] - values[one]) / apart if apart else 0.0


def _with_limits(found: Behaviour, earlier: Sequence[float], last: float, step: float) -> Behaviour:
    if len(earlier) < LEAST_FOR_LIMITS:
        return found
    usual = _not_finer(control_limits(earlier), step)
    side = (last > usual.high) - (last < usual.low)
    if side:
        apart = tuple(place for place in found.apart if place != found.count - 1)
        return replace(found, usual=usual, last_outside=side, apart=apart)
    return replace(found, usual=usual)


def _not_finer(limits: Limits, step: float) -> Limits:
    """Return limits that are no narrower than the kit's own step allows."""
    reach = max(limits.high - limits.centre, 3 * step / _D2)
    return replace(limits, low=limits.centre - reach, high=limits.centre + reach)
