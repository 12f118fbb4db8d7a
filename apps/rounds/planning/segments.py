"""Pieces of a round that can be joined in constant time.

A segment is ``(duration, early, late)`` [s]: the least time it takes, and the earliest and the
latest begin with which it takes no longer. Source: Vidal, Crainic, Gendreau and Prins (2013), "A
hybrid genetic algorithm with adaptive diversity management for a large class of vehicle routing
problems with time-windows", without their time warp: a piece that cannot be on time is None.

Where the lunch goes is a choice among few: each choice changes one activity of the round or adds
one, so that a round with lunch is again a row of segments.
"""

from typing import NamedTuple

from apps.rounds.planning.problem import DAY, Shift, Stop, Window

Segment = tuple[int, int, int]


class Visit(NamedTuple):
    """A stop of a round with the window that it is to be done in."""

    stop: str
    window: Window


class LunchTimes(NamedTuple):
    """A shift's lunch on the axis: how long, and the earliest and latest begin [s]."""

    seconds: int
    earliest: int
    latest: int
    inside_from: int


def lunch_times(shift: Shift) -> LunchTimes | None:
    """Return the lunch of a shift on the axis; None where none is set."""
    if shift.lunch is None:
        return None
    dawn, lunch = shift.day * DAY, shift.lunch
    return LunchTimes(
        lunch.seconds,
        dawn + lunch.earliest,
        dawn + lunch.latest - lunch.seconds,
        lunch.inside_from,
    )


def joined(first: Segment, driving: int, second: Segment) -> Segment | None:
    """Return both in a row with ``driving`` [s] between; None where the second would be late."""
    reach = first[0] + driving
    if first[1] + reach > second[2]:
        return None
    wait = max(second[1] - reach - first[2], 0)
    early = max(second[1] - reach, first[1]) - wait
    late = min(second[2] - reach, first[2])
    return reach + second[0] + wait, early, late


def work(stop: Stop, window: Window) -> Segment:
    """Return a stop's time on site, begun within the window."""
    return stop.on_site, window.start, window.end


def work_with_lunch(stop: Stop, window: Window, lunch: LunchTimes) -> Segment | None:
    """Return a stop's time on site with lunch during the service; None where that cannot be."""
    if stop.service < lunch.inside_from:
        return None
    early = max(window.start, lunch.earliest - stop.service)
    late = min(window.end, lunch.latest)
    return (stop.on_site + lunch.seconds, early, late) if early <= late else None


def rest(lunch: LunchTimes) -> Segment:
    """Return the break by itself."""
    return lunch.seconds, lunch.earliest, lunch.latest


def leaving(shift: Shift, lunch: LunchTimes | None = None) -> Segment | None:
    """Return the begin of a round; with ``lunch``, after a break at home."""
    early = shift.start if lunch is None else max(shift.start, lunch.earliest + lunch.seconds)
    late = shift.end + shift.overtime
    return (0, early, late) if early <= late else None


def coming_home(shift: Shift, lunch: LunchTimes | None = None) -> Segment | None:
    """Return the end of a round; with ``lunch``, before a break at home."""
    late = shift.end + shift.overtime
    late = late if lunch is None else min(late, lunch.latest)
    return (0, shift.start, late) if shift.start <= late else None


def price(shift: Shift, per_second: int, paid: int) -> int | None:
    """Return what ``paid`` [s] of a shift cost; None where that is more than it may have."""
    over = max(paid - shift.regular, 0)
    if over > shift.overtime:
        return None
    return per_second * paid + shift.overtime_per_second * over
