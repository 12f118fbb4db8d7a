"""Between moments and the planner's axis: seconds of the date-based local clock from the first day on.

Day ``d`` begins at ``d * 86400`` whatever the clocks do, so that a change to or from summer time
moves no window; how long work takes is counted in real time.
"""

import datetime as dt

from django.utils import timezone

from apps.rounds.planning.problem import DAY

STEP = 300
"""What is planned begins on a full five minutes, as it is written to clients."""


def axis_of(first: dt.date, moment: dt.datetime) -> int:
    """Return a moment as seconds on the axis of the days from ``first`` on."""
    local = timezone.localtime(moment)
    return (local.date() - first).days * DAY + seconds_of(local.time())


def moment_of(first: dt.date, seconds: int) -> dt.datetime:
    """Return the moment in UTC that the local clock shows ``seconds`` after the first midnight.

    An hour that the clocks leave out is counted on as if they had not; of one that comes twice the
    first counts.
    """
    naive = dt.datetime.combine(first, dt.time()) + dt.timedelta(seconds=seconds)
    return timezone.make_aware(naive).astimezone(dt.UTC)


def gap_of(on: dt.date) -> tuple[int, int] | None:
    """Return from when to when [s of the day] the clocks leave time out on a day; None: not at all."""
    zone = timezone.get_current_timezone()
    midnights = (dt.datetime.combine(on + dt.timedelta(days=n), dt.time(), zone) for n in (0, 1))
    before, after = (moment.utcoffset() or dt.timedelta() for moment in midnights)
    if after <= before:
        return None
    jump = round((after - before).total_seconds())
    for begin in range(0, DAY, STEP):
        naive = dt.datetime.combine(on, dt.time()) + dt.timedelta(seconds=begin)
        there = naive.replace(tzinfo=zone).astimezone(dt.UTC).astimezone(zone)
        if there.replace(tzinfo=None) != naive:
            return begin, begin + jump
    return None


def seconds_of(time: dt.time) -> int:
    """Return a time of day as whole seconds from midnight."""
    return time.hour * 3600 + time.minute * 60 + time.second


def stepped(seconds: float) -> int:
    """Return seconds, up to the next full step.

    >>> stepped(0), stepped(1), stepped(300), stepped(301)
    (0, 300, 300, 600)
    """
    return -int(-seconds // STEP) * STEP
