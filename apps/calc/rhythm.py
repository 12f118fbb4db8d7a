"""When a care task is open, due and late: plain date arithmetic on local dates.

A rule is replayable: the dates follow from the rule and the last completion alone, so a late or
doubled report from a phone gives the same answer in whatever order it arrives.
"""

import calendar
import datetime as dt
from dataclasses import dataclass

MAX_STEPS = 2000


@dataclass(frozen=True)
class Rhythm:
    """How often a task comes round.

    mode: after_done | fixed | once | every_visit | condition. every_n counts `unit`s (day, week,
    month). Tolerances are days: early or late by a share of the interval, held between a floor
    and a cap. A season runs from `season_from` to `season_to` as (month, day), and may wrap the
    year; outside it a task waits for the opening (hold) or lets the occurrence go (skip).
    """

    mode: str
    every_n: int = 1
    unit: str = "day"
    anchor: dt.date | None = None
    early_share: float = 0.0
    early_min_days: int = 0
    early_max_days: int = 0
    late_share: float = 0.0
    late_min_days: int = 0
    late_max_days: int = 0
    month_end: str = "clamp"
    season_from: tuple[int, int] | None = None
    season_to: tuple[int, int] | None = None
    off_season: str = "hold"


@dataclass(frozen=True)
class Dates:
    """The next window of a task; due is None where the task is dormant."""

    open: dt.date | None
    due: dt.date | None
    late: dt.date | None


DORMANT = Dates(None, None, None)


def add(day: dt.date, count: int, unit: str, month_end: str = "clamp") -> dt.date | None:
    """Return the day `count` units later.

    A month without that day gives its last day (clamp), always the last day (last), or None (skip).

    Examples
    --------
    >>> add(dt.date(2026, 1, 31), 1, "month")
    datetime.date(2026, 2, 28)
    >>> add(dt.date(2026, 1, 31), 1, "month", "skip") is None
    True
    """
    if unit == "day":
        return day + dt.timedelta(days=count)
    if unit == "week":
        return day + dt.timedelta(weeks=count)
    if unit != "month":
        raise ValueError(f"unit {unit!r} is not day, week or month")
    index = day.year * 12 + day.month - 1 + count
    year, month = divmod(index, 12)
    last = calendar.monthrange(year, month + 1)[1]
    if month_end == "last":
        return dt.date(year, month + 1, last)
    if day.day > last and month_end == "skip":
        return None
    return dt.date(year, month + 1, min(day.day, last))


def interval_days(rhythm: Rhythm) -> int:
    """Return the length of one interval in days (a month counts 30)."""
    return rhythm.every_n * {"day": 1, "week": 7, "month": 30}[rhythm.unit]


def _slack(share: float, low: int, high: int, interval: int) -> dt.timedelta:
    return dt.timedelta(days=min(high, max(low, int(share * interval + 0.5))))


def in_season(day: dt.date, rhythm: Rhythm) -> bool:
    """Return True where the task is wanted at that time of the year."""
    if rhythm.season_from is None or rhythm.season_to is None:
        return True
    here = (day.month, day.day)
    if rhythm.season_from <= rhythm.season_to:
        return rhythm.season_from <= here <= rhythm.season_to
    return here >= rhythm.season_from or here <= rhythm.season_to


def season_opening(day: dt.date, rhythm: Rhythm) -> dt.date:
    """Return the first day of the next season on or after the day."""
    if rhythm.season_from is None:
        return day
    month, number = rhythm.season_from
    for year in (day.year, day.year + 1):
        opening = dt.date(year, month, min(number, calendar.monthrange(year, month)[1]))
        if opening >= day:
            return opening
    raise ValueError("a season opens every year")


def _occurrence(rhythm: Rhythm, after: dt.date | None) -> dt.date | None:
    """Return the first fixed occurrence after the given one, in season where it asks for it."""
    if rhythm.anchor is None:
        return None
    for step in range(MAX_STEPS):
        day = add(rhythm.anchor, step * rhythm.every_n, rhythm.unit, rhythm.month_end)
        if day is None or (after is not None and day <= after):
            continue
        if in_season(day, rhythm):
            return day
        if rhythm.off_season == "hold":
            return season_opening(day, rhythm)
    return None


def _due(
    rhythm: Rhythm,
    last_done: dt.date | None,
    last_occurrence: dt.date | None,
    raised_on: dt.date | None,
) -> dt.date | None:
    if rhythm.mode == "every_visit":
        return None
    if rhythm.mode == "condition":
        return raised_on if raised_on and (last_done is None or raised_on > last_done) else None
    if rhythm.mode == "once":
        return rhythm.anchor if last_done is None else None
    if rhythm.mode == "fixed":
        return _occurrence(rhythm, last_occurrence)
    if rhythm.mode != "after_done":
        raise ValueError(f"mode {rhythm.mode!r} is not known")
    day = rhythm.anchor if last_done is None else add(last_done, rhythm.every_n, rhythm.unit)
    if day is not None and not in_season(day, rhythm):
        return season_opening(day, rhythm)
    return day


def next_dates(
    rhythm: Rhythm,
    *,
    last_done: dt.date | None = None,
    last_occurrence: dt.date | None = None,
    raised_on: dt.date | None = None,
) -> Dates:
    """Return when the task opens, is due and is late.

    A fixed rule goes by the occurrence that was satisfied, every other by the day it was done.
    Raises ValueError for a mode or a unit that is not known.

    Examples
    --------
    >>> next_dates(Rhythm("after_done", 14, late_min_days=4, late_max_days=4),
    ...            last_done=dt.date(2026, 6, 1)).late
    datetime.date(2026, 6, 19)
    """
    due = _due(rhythm, last_done, last_occurrence, raised_on)
    if due is None:
        return DORMANT
    length = interval_days(rhythm)
    early = _slack(rhythm.early_share, rhythm.early_min_days, rhythm.early_max_days, length)
    late = _slack(rhythm.late_share, rhythm.late_min_days, rhythm.late_max_days, length)
    return Dates(due - early, due, due + late)
