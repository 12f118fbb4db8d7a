"""Dates that are forecast: held still against small moves."""

import datetime as dt

from apps.calc.rhythm.model import Dates

MOVE_DAYS = 1
MOVE_SHARE = 0.1


def settled(held: Dates, fresh: Dates, on: dt.date) -> Dates:
    """Return the fresh window where it has moved enough, else the one that is held.

    Enough is more than a day, or more than a tenth of the time that remained on the day `on`:
    else bookings and letters would follow each small change of a forecast.

    >>> def june(*days: int) -> Dates:
    ...     return Dates(*(dt.date(2026, 6, day) for day in days))
    >>> settled(june(18, 20, 22), june(18, 21, 22), dt.date(2026, 6, 1)).due
    datetime.date(2026, 6, 20)
    """
    pairs = ((held.open, fresh.open), (held.due, fresh.due), (held.late, fresh.late))
    if held.due is None or any(a is None or b is None for a, b in pairs):
        return fresh
    moved = max(abs((b - a).days) for a, b in pairs if a is not None and b is not None)
    remaining = max(0, (held.due - on).days)
    return fresh if moved > MOVE_DAYS or moved > MOVE_SHARE * remaining else held
