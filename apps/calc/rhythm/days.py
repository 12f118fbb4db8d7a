"""Months, intervals and seasons on local dates."""

import calendar
import datetime as dt

from apps.calc.rhythm.model import Dates, Rhythm

UNIT_DAYS = {"day": 1, "week": 7, "month": 30}


def add(day: dt.date, count: int, unit: str, month_end: str = "clamp") -> dt.date | None:
    """Return the day `count` units later.

    A month without that day gives its last day (clamp), always the last day (last), or None (skip).
    Raises ValueError for another unit, OverflowError or ValueError past the year 9999.

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
    return rhythm.every_n * UNIT_DAYS[rhythm.unit]


def slack(rhythm: Rhythm, interval: int) -> tuple[int, int]:
    """Return how many days a task may be early and late: a share of the interval [days], bounded."""
    early = min(
        rhythm.early_max_days,
        max(rhythm.early_min_days, int(rhythm.early_share * interval + 0.5)),
    )
    late = min(
        rhythm.late_max_days, max(rhythm.late_min_days, int(rhythm.late_share * interval + 0.5))
    )
    return early, late


def _in_year(year: int, month_day: tuple[int, int]) -> dt.date:
    month, number = month_day
    return dt.date(year, month, min(number, calendar.monthrange(year, month)[1]))


def season_of(day: dt.date, rhythm: Rhythm) -> tuple[dt.date, dt.date] | None:
    """Return the first and last day of the season that the day lies in, else of the next one.

    None for a rule without a season. A 29 February is the 28th in a common year.

    Examples
    --------
    >>> winter = Rhythm("after_done", season_from=(11, 1), season_to=(2, 28))
    >>> season_of(dt.date(2026, 6, 1), winter)
    (datetime.date(2026, 11, 1), datetime.date(2027, 2, 28))
    """
    if rhythm.season_from is None or rhythm.season_to is None:
        return None
    wraps = rhythm.season_to < rhythm.season_from
    year = day.year - 1
    while True:
        closing = _in_year(year + wraps, rhythm.season_to)
        if closing >= day:
            return _in_year(year, rhythm.season_from), closing
        year += 1


def season_before(day: dt.date, rhythm: Rhythm) -> tuple[dt.date, dt.date] | None:
    """Return the first and last day of the last season that closed before the day."""
    if rhythm.season_from is None or rhythm.season_to is None:
        return None
    wraps = rhythm.season_to < rhythm.season_from
    year = day.year
    while True:
        closing = _in_year(year + wraps, rhythm.season_to)
        if closing < day:
            return _in_year(year, rhythm.season_from), closing
        year -= 1


def in_season(day: dt.date, rhythm: Rhythm) -> bool:
    """Return True where the task is wanted at that time of the year."""
    season = season_of(day, rhythm)
    return season is None or season[0] <= day


def season_opening(day: dt.date, rhythm: Rhythm) -> dt.date:
    """Return the first day of the next season on or after the day."""
    if rhythm.season_from is None:
        return day
    opening = _in_year(day.year, rhythm.season_from)
    return opening if opening >= day else _in_year(day.year + 1, rhythm.season_from)


def season_cut(dates: Dates, rhythm: Rhythm) -> Dates:
    """Return a window without what lies outside the season of its due day."""
    if dates.open is None or dates.due is None or dates.late is None:
        return dates
    season = season_of(dates.due, rhythm)
    if season is None or dates.due < season[0]:
        return dates
    return Dates(max(dates.open, season[0]), dates.due, min(dates.late, season[1]))
