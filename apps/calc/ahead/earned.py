"""Which forecast has earned its place: a loop's own record, leaning on what was measured elsewhere.

A loop with few readings says little, so its own ratio of errors is weighed against the ratio over
many loops, which counts as twenty readings: what a visit reads stands at one point of the rhythm of
doses and visits, and favours the last reading. Skill is a ratio of mean absolute errors to those of
'steady', so 'steady' has 1.
"""

from collections.abc import Mapping, Sequence

from apps.calc.ahead.outlook import METHODS
from apps.calc.ahead.priors import ERRORS
from apps.calc.ahead.scores import Score

LEAN = 20.0
FINE = 0.2  # of the kit's error: errors smaller than that are alike
FEW = 5  # readings below which no hit rate is stated
Record = Mapping[str, Score]  # method -> score

# Ratio of mean errors to those of 'steady' over all horizons, by measurand: measured on the invented
# loops whose seeds are for tuning (``python -m demo.water --earned``).
ELSEWHERE: dict[str, dict[str, float]] = {
    "do": {"balance": 0.86, "trend": 1.07, "steady": 1.0},
    "ec": {"balance": 0.84, "trend": 1.23, "steady": 1.0},
    "k": {"balance": 0.8, "trend": 0.92, "steady": 1.0},
    "no3": {"balance": 0.63, "trend": 1.23, "steady": 1.0},
    "ph": {"balance": 0.57, "trend": 1.11, "steady": 1.0},
    "alk": {"balance": 0.87, "trend": 1.11, "steady": 1.0},
    "no2": {"balance": 0.9, "trend": 0.92, "steady": 1.0},
    "tan": {"balance": 1.05, "trend": 0.89, "steady": 1.0},
}
_UNKNOWN = {"balance": 1.1, "trend": 1.1, "steady": 1.0}


def ratios(
    measurand: str, own: Record, elsewhere: Mapping[str, Mapping[str, float]] | None = None
) -> dict[str, float]:
    """Return for each method its error against that of 'steady', own record and others together."""
    known = dict(_UNKNOWN) | dict((elsewhere or ELSEWHERE).get(measurand, {}))
    plain = own.get("steady", Score())
    found = {}
    for method in METHODS:
        mine = own.get(method, Score())
        if not mine.judged or not plain.judged:
            found[method] = known[method]
            continue
        fine = FINE * ERRORS[measurand].units if measurand in ERRORS else 0.0
        ratio = (mine.mean_error + fine) / max(plain.mean_error + fine, 1e-12)
        found[method] = (mine.judged * ratio + LEAN * known[method]) / (mine.judged + LEAN)
    return found


def best(
    measurand: str,
    own: Record,
    elsewhere: Mapping[str, Mapping[str, float]] | None = None,
    among: Sequence[str] = METHODS,
) -> str:
    """Return which of some methods has earned its place; at a tie the one that stands first.

    >>> best("tan", {"balance": Score(9, 9.0, 7.0), "steady": Score(9, 3.0, 7.0)}, {"x": {}})
    'steady'
    """
    found = ratios(measurand, own, elsewhere)
    return min(among, key=lambda method: found[method])


def stated(own: Record, method: str) -> tuple[float | None, int]:
    """Return (hit rate, readings judged) of a method on a loop's own record."""
    mine = own.get(method, Score())
    return (mine.hit_rate if mine.judged >= FEW else None), mine.judged
