"""When somebody should come next, by what a forecast sees."""

from collections.abc import Iterable

from apps.calc.ahead.outlook import Crossing, Fan, Outlook

# of the time until a limit may be passed, what is kept in hand; and the span of a proposal
# (common practice)
SAFETY = 0.2
SOONEST_DAYS, LATEST_DAYS = 3, 42
# A forecast moves a date only where its record is known and bears it out: four times in five it
# should hold, and what holds less than three times in five sends nobody (common practice).
ENOUGH_JUDGED, ENOUGH_HITS = 5, 0.6


def has_earned(fan: Fan) -> bool:
    """Tell whether later readings have borne a forecast out, so that it may move a date.

    >>> has_earned(Fan("no2", "trend", (), (), (), (), None, 2))
    False
    """
    return fan.hit_rate is not None and fan.judged >= ENOUGH_JUDGED and fan.hit_rate >= ENOUGH_HITS


def crossings_that_count(outlook: Outlook) -> tuple[Crossing, ...]:
    """Return the crossings of those forecasts that have earned it."""
    earned = {fan.measurand for fan in outlook.fans if has_earned(fan)}
    return tuple(row for row in outlook.crossings if row.measurand in earned)


def likely_to_come(crossings: Iterable[Crossing]) -> list[Crossing]:
    """Return the crossings that are more likely than not within the forecast, and not past yet."""
    return [row for row in still_to_come(crossings) if row.middle is not None]


def still_to_come(crossings: Iterable[Crossing]) -> list[Crossing]:
    """Return the crossings that are not more likely past already: of those the readings tell."""
    return [row for row in crossings if row.middle is None or row.middle >= 1]


def first_crossing(crossings: Iterable[Crossing]) -> Crossing | None:
    """Return the crossing that may come first; None where no limit is in sight.

    >>> first_crossing([Crossing("no3", "above", 100, None, None, None)]) is None
    True
    """
    seen = [row for row in crossings if row.soonest is not None]
    return min(seen, key=lambda row: (row.soonest, row.measurand, row.level), default=None)


def next_visit_day(crossings: Iterable[Crossing]) -> int | None:
    """Return the day by which somebody should come, counted from the forecast's first.

    The earliest day on which a limit may be passed (one chance in ten), less a fifth of the time
    until then, not before the 3rd day and not after the 42nd; None where no limit is in sight.
    Source: common practice.

    >>> next_visit_day([Crossing("no2", "above", 0.5, 20.0, 24.0, 30.0)])
    16
    """
    first = first_crossing(crossings)
    if first is None or first.soonest is None:
        return None
    return min(LATEST_DAYS, max(SOONEST_DAYS, int(first.soonest * (1 - SAFETY))))
