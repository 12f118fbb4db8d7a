"""The days of a rule that does not wait for the work: fixed intervals and calendar rules.

The n-th day of a fixed rule is counted from the anchor, never from the day before it: 31 January
and a month, and a month, is 31 March.
"""

import datetime as dt

from apps.calc.rhythm.days import UNIT_DAYS, add, season_before, season_of
from apps.calc.rhythm.expansion import hit_after, hit_before
from apps.calc.rhythm.model import Rhythm
from apps.calc.rhythm.recurrence import recurrence_of

SERIES = ("fixed", "calendar")
# a month that lacks the day comes round with it within 8 years
MOST_STEPS = 100
MOST_SEASONS = 40


def _step(rhythm: Rhythm, anchor: dt.date, number: int) -> dt.date | None:
    return add(anchor, number * rhythm.every_n, rhythm.unit, rhythm.month_end)


def _number(rhythm: Rhythm, anchor: dt.date, day: dt.date) -> int:
    """Return the number of a step near the day, at most one too early or too late."""
    if rhythm.unit in ("day", "week"):
        return (day - anchor).days // (rhythm.every_n * UNIT_DAYS[rhythm.unit])
    return ((day.year - anchor.year) * 12 + day.month - anchor.month) // rhythm.every_n


def _fixed_after(rhythm: Rhythm, anchor: dt.date, after: dt.date) -> dt.date | None:
    number = max(0, _number(rhythm, anchor, after) - 1)
    for at in range(number, number + MOST_STEPS):
        try:
            day = _step(rhythm, anchor, at)
        except (OverflowError, ValueError):
            return None
        if day is not None and day > after:
            return day
    return None


def _fixed_before(rhythm: Rhythm, anchor: dt.date, before: dt.date) -> dt.date | None:
    number = _number(rhythm, anchor, before) + 1
    for at in range(number, max(-1, number - MOST_STEPS), -1):
        try:
            day = _step(rhythm, anchor, at)
        except (OverflowError, ValueError):
            continue
        if day is not None and day < before:
            return day
    return None


def _raw_after(rhythm: Rhythm, after: dt.date) -> dt.date | None:
    if rhythm.anchor is None:
        return None
    if rhythm.mode == "calendar":
        return hit_after(recurrence_of(rhythm.rrule), rhythm.anchor, after)
    return _fixed_after(rhythm, rhythm.anchor, after)


def _raw_before(rhythm: Rhythm, before: dt.date) -> dt.date | None:
    if rhythm.anchor is None:
        return None
    if rhythm.mode == "calendar":
        return hit_before(recurrence_of(rhythm.rrule), rhythm.anchor, before)
    return _fixed_before(rhythm, rhythm.anchor, before)


def occurrence_after(rhythm: Rhythm, after: dt.date | None) -> dt.date | None:
    """Return the first day of a fixed or calendar rule after the given one; None: its first.

    A day outside the season gives way to the opening (hold) or is left out (skip). None without
    an anchor and where the rule has ended. Raises ValueError for a unit or a text not known.

    >>> monthly = Rhythm("fixed", 1, "month", anchor=dt.date(2026, 1, 31))
    >>> occurrence_after(monthly, dt.date(2026, 2, 28))
    datetime.date(2026, 3, 31)
    """
    if rhythm.anchor is None:
        return None
    floor = rhythm.anchor - dt.timedelta(days=1) if after is None else after
    day = _raw_after(rhythm, _scan_from(rhythm, floor))
    for _again in range(MOST_SEASONS):
        season = season_of(day, rhythm) if day is not None else None
        if day is None or season is None or season[0] <= day:
            return day
        if rhythm.off_season == "hold":
            return season[0]
        day = _raw_after(rhythm, season[0] - dt.timedelta(days=1))
    return None


def _scan_from(rhythm: Rhythm, floor: dt.date) -> dt.date:
    """Return where to look on from: a day held since before `floor` opens after it."""
    season = season_of(floor, rhythm)
    closed = season_before(floor, rhythm)
    if rhythm.off_season != "hold" or season is None or closed is None or season[0] <= floor:
        return floor
    return closed[1]


def occurrence_before(rhythm: Rhythm, before: dt.date) -> dt.date | None:
    """Return the last day of a fixed or calendar rule before the given one, as occurrence_after.

    >>> monthly = Rhythm("fixed", 1, "month", anchor=dt.date(2026, 1, 31))
    >>> occurrence_before(monthly, dt.date(2026, 3, 31))
    datetime.date(2026, 2, 28)
    """
    day = _raw_before(rhythm, before)
    for _again in range(MOST_SEASONS):
        season = season_of(day, rhythm) if day is not None else None
        if day is None or season is None or season[0] <= day:
            return day
        if rhythm.off_season == "hold" and season[0] < before:
            return season[0]
        closed = season_before(day, rhythm)
        day = _raw_before(rhythm, closed[1] + dt.timedelta(days=1)) if closed else None
    return None
