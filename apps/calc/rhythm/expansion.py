"""The days of a calendar rule, found period by period and never further than asked.

Each period (day, week, month, year) gives its days that every part allows; parts that are
missing come from the first day, as RFC 5545 section 3.3.10 says. A rule that never comes up ends
at the bound instead of being sought for to the end of the calendar.
"""

import calendar
import datetime as dt
from collections.abc import Iterator
from dataclasses import replace
from functools import lru_cache
from itertools import islice

from apps.calc.rhythm.recurrence import Recurrence

FIRST_YEARS = 5
MOST_HITS = 200
# past the longest gap between two 29ths of February
SEARCH_DAYS = 9 * 366
_SPAN_DAYS = {"DAILY": 1, "WEEKLY": 7, "MONTHLY": 31, "YEARLY": 366}


@lru_cache(maxsize=512)
def _completed(rule: Recurrence, start: dt.date) -> Recurrence:
    """Return the rule with the parts that the first day stands for."""
    if rule.by_week or rule.by_year_day or rule.by_month_day or rule.by_day:
        return rule
    if rule.freq == "YEARLY":
        return replace(rule, by_month=rule.by_month or (start.month,), by_month_day=(start.day,))
    if rule.freq == "MONTHLY":
        return replace(rule, by_month_day=(start.day,))
    if rule.freq == "WEEKLY":
        return replace(rule, by_day=((0, start.weekday()),))
    return rule


def _week_first(day: dt.date, week_start: int) -> dt.date:
    return day - dt.timedelta(days=(day.weekday() - week_start) % 7)


def _period(rule: Recurrence, start: dt.date, day: dt.date) -> int:
    """Return the number of the period that the day lies in or follows; the first is 0."""
    if rule.freq == "DAILY":
        passed = (day - start).days
    elif rule.freq == "WEEKLY":
        first = _week_first(start, rule.week_start)
        passed = (_week_first(day, rule.week_start) - first).days // 7
    elif rule.freq == "MONTHLY":
        passed = (day.year - start.year) * 12 + day.month - start.month
    else:
        passed = day.year - start.year
    return max(0, passed // rule.interval)


def _period_first(rule: Recurrence, start: dt.date, number: int) -> dt.date | None:
    """Return the first day of a period; None past the end of the calendar."""
    steps = number * rule.interval
    try:
        if rule.freq == "DAILY":
            return start + dt.timedelta(days=steps)
        if rule.freq == "WEEKLY":
            return _week_first(start, rule.week_start) + dt.timedelta(weeks=steps)
        if rule.freq == "MONTHLY":
            year, month = divmod(start.year * 12 + start.month - 1 + steps, 12)
            return dt.date(year, month + 1, 1)
        return dt.date(start.year + steps, 1, 1)
    except (OverflowError, ValueError):
        return None


def _week_numbers(day: dt.date, week_start: int) -> tuple[int, int]:
    """Return the number of the day's week, from the year's start and from its end.

    Week 1 is the first with four days or more in the year (ISO 8601 for weeks from Monday).
    """
    middle = _week_first(day, week_start) + dt.timedelta(days=3)
    number = (middle.timetuple().tm_yday - 1) // 7 + 1
    last = dt.date(middle.year, 12, 31)
    weeks = number + ((last - middle).days) // 7
    return number, number - weeks - 1


def _nth(rule: Recurrence, day: dt.date) -> tuple[int, int]:
    """Return which one of its weekday a day is, from the front and from the back."""
    if rule.freq == "MONTHLY" or rule.by_month:
        number, length = day.day, calendar.monthrange(day.year, day.month)[1]
    else:
        number, length = day.timetuple().tm_yday, 365 + calendar.isleap(day.year)
    return (number - 1) // 7 + 1, -((length - number) // 7 + 1)


def _allows(rule: Recurrence, day: dt.date) -> bool:
    """Tell whether each part but BYSETPOS allows the day."""
    if rule.by_month and day.month not in rule.by_month:
        return False
    if rule.by_month_day:
        length = calendar.monthrange(day.year, day.month)[1]
        if day.day not in rule.by_month_day and day.day - length - 1 not in rule.by_month_day:
            return False
    if rule.by_day:
        weekday = day.weekday()
        if (0, weekday) not in rule.by_day:
            front, back = _nth(rule, day)
            if (front, weekday) not in rule.by_day and (back, weekday) not in rule.by_day:
                return False
    if rule.by_year_day:
        number, length = day.timetuple().tm_yday, 365 + calendar.isleap(day.year)
        if number not in rule.by_year_day and number - length - 1 not in rule.by_year_day:
            return False
    return not rule.by_week or not set(rule.by_week).isdisjoint(_week_numbers(day, rule.week_start))


def _candidates(rule: Recurrence, first: dt.date) -> Iterator[dt.date]:
    """Yield the days of a period that may fit, in order."""
    if rule.freq == "DAILY":
        yield first
        return
    if rule.freq == "WEEKLY":
        for step in range(7):
            yield first + dt.timedelta(days=step)
        return
    months = (first.month,) if rule.freq == "MONTHLY" else rule.by_month or range(1, 13)
    for month in months:
        length = calendar.monthrange(first.year, month)[1]
        numbers = {n if n > 0 else length + 1 + n for n in rule.by_month_day}
        for number in sorted(numbers) if numbers else range(1, length + 1):
            if 1 <= number <= length:
                yield dt.date(first.year, month, number)


def _picked(rule: Recurrence, first: dt.date) -> list[dt.date]:
    days = [day for day in _candidates(rule, first) if _allows(rule, day)]
    if not rule.by_position:
        return days
    places = {at - 1 if at > 0 else len(days) + at for at in rule.by_position}
    return [day for place, day in enumerate(days) if place in places]


def _from_period(rule: Recurrence, start: dt.date, number: int, end: dt.date) -> Iterator[dt.date]:
    """Yield the days from a period on, up to and with `end`; COUNT is the caller's."""
    end = min(end, rule.until or end)
    while True:
        first = _period_first(rule, start, number)
        if first is None or first > end:
            return
        for day in _picked(rule, first):
            if start <= day <= end:
                yield day
        number += 1


def _bound(rule: Recurrence, day: dt.date, sign: int) -> dt.date:
    """Return the day beyond which a search ends."""
    reach = SEARCH_DAYS + 2 * rule.interval * _SPAN_DAYS[rule.freq]
    try:
        return day + dt.timedelta(days=sign * reach)
    except OverflowError:
        return dt.date.max if sign > 0 else dt.date.min


def hits(
    rule: Recurrence, start: dt.date, *, years: int = FIRST_YEARS, most: int = MOST_HITS
) -> list[dt.date]:
    """Return the first days of a rule from its start: at most `most` and within `years`.

    Source: RFC 5545 section 3.3.10.

    >>> from apps.calc.rhythm.recurrence import recurrence_of
    >>> hits(recurrence_of("FREQ=MONTHLY;BYMONTHDAY=-1"), dt.date(2026, 1, 31), most=2)
    [datetime.date(2026, 1, 31), datetime.date(2026, 2, 28)]
    """
    try:
        end = start + dt.timedelta(days=(years * 1461 + 3) // 4)
    except OverflowError:
        end = dt.date.max
    days = _from_period(_completed(rule, start), start, 0, end)
    return list(islice(days, min(most, rule.count or most)))


def hit_after(rule: Recurrence, start: dt.date, after: dt.date) -> dt.date | None:
    """Return the first day of a rule after the given one; None where it has ended."""
    full = _completed(rule, start)
    end = _bound(rule, max(start, after), 1)
    number = 0 if rule.count else _period(full, start, after)
    days = islice(_from_period(full, start, number, end), rule.count)
    return next((day for day in days if day > after), None)


def hit_before(rule: Recurrence, start: dt.date, before: dt.date) -> dt.date | None:
    """Return the last day of a rule before the given one; None before its first."""
    if before <= start:
        return None
    full = _completed(rule, start)
    if rule.count:
        days = islice(_from_period(full, start, 0, before - dt.timedelta(days=1)), rule.count)
        return max(days, default=None)
    return _back(full, start, before)


def _back(full: Recurrence, start: dt.date, before: dt.date) -> dt.date | None:
    stop = max(start, _bound(full, before, -1))
    last = min(before - dt.timedelta(days=1), full.until or before)
    number = _period(full, start, last)
    while number >= 0:
        first = _period_first(full, start, number)
        found = [day for day in _picked(full, first) if start <= day <= last] if first else []
        if found:
            return found[-1]
        if first is not None and first < stop:
            return None
        number -= 1
    return None
