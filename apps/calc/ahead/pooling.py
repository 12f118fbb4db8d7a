"""What a firm's other loops tell of which forecast is the better one, with the invented loops.

A firm reads at its visits, before it doses: that favours the last reading, which stands at the same
point of the rhythm, while limits are passed at any hour. The invented loops are judged at any hour,
so however much a firm has read, it counts for no more than a third. Both figures are those that did
best on the seeds for tuning, half of them as the firm.
"""

from collections.abc import Iterable, Mapping

from apps.calc.ahead.earned import ELSEWHERE, HORIZONS, UNKNOWN, Ratios, Records, ratio_of
from apps.calc.ahead.outlook import METHODS

# the invented loops count as many readings beside the firm's own, at each horizon; and the most that
# the firm's count for
INVENTED = 1000.0
MOST = 1 / 3
# (measurand, horizon, method) -> readings, and the sum of the ratios of errors over them
Sums = Mapping[tuple[str, int, str], tuple[float, float]]


def sums_of(loops: Iterable[Records]) -> Sums:
    """Return the ratios of errors of loops, each loop's counted by its readings."""
    found: dict[tuple[str, int, str], tuple[float, float]] = {}
    for records in loops:
        for measurand, record in records.items():
            for horizon, scores in record.items():
                for method in METHODS:
                    ratio = ratio_of(measurand, scores, method)
                    if ratio is not None:
                        key, count = (measurand, horizon, method), scores[method].judged
                        before = found.get(key, (0.0, 0.0))
                        found[key] = before[0] + count, before[1] + count * ratio
    return found


def pooled(firm: Sums, own: Sums, invented: Ratios | None = None) -> Ratios:
    """Return the ratios over other loops: the firm's but for ``own``, and the invented ones.

    >>> both = {("tan", 7, "balance"): (250.0, 125.0), ("tan", 7, "steady"): (250.0, 250.0)}
    >>> pooled(both, {}, {"tan": {7: {"balance": 1.0}}})["tan"][7]["balance"]
    0.9
    """
    known = ELSEWHERE if invented is None else invented
    found: dict[str, dict[int, dict[str, float]]] = {}
    for measurand in sorted({*known, *(key[0] for key in firm)}):
        found[measurand] = {}
        for horizon in HORIZONS:
            believed = UNKNOWN | dict(known.get(measurand, {}).get(horizon, {}))
            found[measurand][horizon] = {}
            for method in METHODS:
                key = measurand, horizon, method
                (count, summed), (less, minus) = firm.get(key, (0, 0)), own.get(key, (0, 0))
                told = max(0.0, count - less)
                share = min(MOST, told / (told + INVENTED))
                ratio = max(0.0, summed - minus) / told if told else 0.0
                found[measurand][horizon][method] = share * ratio + (1 - share) * believed[method]
    return found
