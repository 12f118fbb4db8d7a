"""Cases to judge forecasts by, from invented loops. Seeds for tuning and for judging never meet."""

from collections.abc import Iterable

from apps.ahead.engine.backtest import HORIZONS, Case
from demo.water.records import Record, facts_at, origins, record_of

TUNING = range(1000, 1060)
JUDGING = range(8000, 8060)


def cases(seeds: Iterable[int], count: int = 3) -> list[Case]:
    """Return cases of ``count`` visits of each loop, read again after each horizon."""
    found = []
    for seed in seeds:
        record = record_of(seed)
        found += [_case(record, today) for today in origins(record, count)]
    return found


def _case(record: Record, today: int) -> Case:
    facts = facts_at(record, today)
    known = {seen.measurand for seen in facts.observed} - {"temp"}
    later = []
    for horizon in HORIZONS:
        for code in sorted(known):
            seen = record.read(today + 1 + horizon + 0.5, code)
            later.append(type(seen)(horizon + 0.5, code, seen.value, seen.low, seen.high))
    return Case(facts, tuple(later))
