"""Until when the feed at a client's place lasts, from a count and what is fed on each day.

A count says what is left once the fish of that day have eaten, so that its own day takes nothing.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass

SPREAD = 0.2
"""A household's level scoop gives so much more or less than was worked out (own choice)."""
LONGEST_DAYS = 730
"""No feed keeps for longer than that, so no later day is named (own choice)."""
MOST_G = 1_000_000.0
"""More grams than that are no household's (own choice)."""
ODD_DAYS = (0.5, 366)
"""Feed for fewer days than that, or for more, was perhaps typed in another unit (own choice)."""
ODD_G = 50_000.0
"""So many grams are looked at twice where nobody knows what is fed a day (own choice)."""


@dataclass(frozen=True)
class Fed:
    """What is fed on one day [g]; ``noted``: somebody wrote it down, so that it is sure."""

    grams: float
    noted: bool = False


@dataclass(frozen=True)
class Lasts:
    """The last day on which there is feed for all of it, in days from the count.

    ``soonest`` and ``latest`` go by feeding that is a fifth above and below what was worked out.
    """

    days: int
    soonest: int
    latest: int


def feed_lasts(amount_g: float, first: Sequence[Fed], after_g_day: float) -> Lasts | None:
    """Return for how many days after its count an amount of feed lasts; None where no day can be named.

    Parameters: what was counted [g], 0 to ``MOST_G``; what is fed on the first days after that of
    the count, in order; what is fed on each day after those [g/day], 0 or more. None where nothing is
    fed any more before it is used up, and beyond ``LONGEST_DAYS``. Errors: ValueError outside.
    References: amount / feed a day; the interval is an own choice (``SPREAD``).

    >>> feed_lasts(1000, [], 40)
    Lasts(days=25, soonest=20, latest=31)
    >>> feed_lasts(100, [Fed(30, noted=True), Fed(30, noted=True)], 20)
    Lasts(days=4, soonest=3, latest=4)
    >>> feed_lasts(1000, [], 0) is None
    True
    """
    _checked("amount_g", amount_g, MOST_G)
    _checked("after_g_day", after_g_day, math.inf)
    for day in first:
        _checked("first", day.grams, math.inf)
    middle = _whole_days(amount_g, first, after_g_day, 1.0)
    if middle is None or middle > LONGEST_DAYS:
        return None
    soonest = _whole_days(amount_g, first, after_g_day, 1 + SPREAD)
    latest = _whole_days(amount_g, first, after_g_day, 1 - SPREAD)
    return Lasts(
        middle,
        middle if soonest is None else soonest,
        LONGEST_DAYS if latest is None else min(latest, LONGEST_DAYS),
    )


def _checked(name: str, value: float, most: float) -> None:
    if not 0 <= value <= most or math.isnan(value):
        message = f"{name} must be from 0 to {most:g} g, not {value}"
        raise ValueError(message)


def _whole_days(
    amount_g: float, first: Sequence[Fed], after_g_day: float, factor: float
) -> int | None:
    """Return on how many days in a row all that is fed is there; None without an end."""
    left = amount_g
    for number, day in enumerate(first):
        given = day.grams if day.noted else day.grams * factor
        if given > left:
            return number
        left -= given
    usual = after_g_day * factor
    if usual <= 0 or left / usual > 2 * LONGEST_DAYS:
        return None
    # a sum of days that comes out even is not lost to the last bit of a float
    return len(first) + math.floor(left / usual + 1e-9)


def is_odd(amount_g: float, feed_g_day: float | None) -> bool:
    """Tell whether an amount of feed [g] is looked at twice before it counts.

    ``feed_g_day``: what is fed a day [g/day]; None or 0 where nobody knows. Nothing left at all is
    not odd. Valid range: 0 to ``MOST_G``; ValueError outside. References: own choice.

    >>> is_odd(2, 40), is_odd(2000, 40), is_odd(20000, 40), is_odd(0, 40)
    (True, False, True, False)
    """
    _checked("amount_g", amount_g, MOST_G)
    if not amount_g:
        return False
    if not feed_g_day:
        return amount_g > ODD_G
    return not ODD_DAYS[0] <= amount_g / feed_g_day <= ODD_DAYS[1]
