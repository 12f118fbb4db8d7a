"""Days on which nobody works: holidays, closures, free weekdays, and where a visit goes instead.

Only the day of a visit moves. The day that a rule has named stays, else the rule would drift by
each holiday.
"""

import datetime as dt
from collections.abc import Callable, Collection

Closed = Collection[dt.date] | Callable[[dt.date], bool]

WAYS = ("keep", "next", "previous")
# nobody is closed for longer
FURTHEST_DAYS = 366
_ONE_DAY = dt.timedelta(days=1)


def is_open(day: dt.date, *closed: Closed) -> bool:
    """Tell whether a day is in none of the sets of days off and no predicate holds for it.

    >>> is_open(dt.date(2026, 12, 25), {dt.date(2026, 12, 25)})
    False
    >>> is_open(dt.date(2026, 12, 24), free_weekdays(5, 6))
    True
    """
    return not any(off(day) if callable(off) else day in off for off in closed)


def free_weekdays(*numbers: int) -> Callable[[dt.date], bool]:
    """Return the predicate of weekdays off, 0 Monday to 6 Sunday. Raises ValueError for others."""
    for number in numbers:
        if not 0 <= number <= 6:
            raise ValueError(f"weekday {number} must be between 0 for Monday and 6 for Sunday")
    return lambda day: day.weekday() in numbers


def shift(
    day: dt.date,
    closed: Closed | tuple[Closed, ...],
    way: str,
    *,
    earliest: dt.date | None = None,
    latest: dt.date | None = None,
) -> dt.date | None:
    """Return the day of the visit for a day that a rule has named.

    `closed`: one or several sets or predicates of days off. `way`: keep takes the day as it is,
    next and previous the nearest open day after or before; where that lies past `earliest` or
    `latest`, the nearest open day the other way. None where no day is open in that time, or for a
    year. Raises ValueError for another way.

    >>> shift(dt.date(2026, 12, 25), free_weekdays(4, 5, 6), "next")
    datetime.date(2026, 12, 28)
    >>> shift(dt.date(2026, 12, 25), free_weekdays(4, 5, 6), "next", latest=dt.date(2026, 12, 27))
    datetime.date(2026, 12, 24)
    """
    if way not in WAYS:
        raise ValueError(f"way {way!r} must be one of {', '.join(WAYS)}")
    if way == "keep":
        return day
    several = closed if isinstance(closed, tuple) else (closed,)
    first = _ONE_DAY if way == "next" else -_ONE_DAY
    for step in (first, -first):
        found = _nearest(day, several, step, earliest, latest)
        if found is not None:
            return found
        if earliest is None and latest is None:
            break
    return None


def _nearest(
    day: dt.date,
    closed: tuple[Closed, ...],
    step: dt.timedelta,
    earliest: dt.date | None,
    latest: dt.date | None,
) -> dt.date | None:
    """Return the first open day from `day` on in steps of a day, within the two ends."""
    for _again in range(FURTHEST_DAYS + 1):
        if (latest is not None and day > latest) or (earliest is not None and day < earliest):
            return None
        if is_open(day, *closed):
            return day
        day += step
    return None


def open_days(first: dt.date, last: dt.date, *closed: Closed) -> list[dt.date]:
    """Return the open days from the first to the last day, both included.

    >>> len(open_days(dt.date(2026, 6, 1), dt.date(2026, 6, 30), free_weekdays(5, 6)))
    22
    """
    span = (last - first).days + 1
    days = (first + dt.timedelta(days=n) for n in range(span))
    return [day for day in days if is_open(day, *closed)]
