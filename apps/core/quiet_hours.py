"""Hours in which nobody wants a letter, on the wall clock of whoever gets it."""

import datetime as dt
from dataclasses import dataclass
from functools import cache
from zoneinfo import ZoneInfo, available_timezones

_MINUTE = dt.timedelta(minutes=1)
_DAY = dt.timedelta(days=1)


@cache
def zone_names() -> frozenset[str]:
    """Return the time zones that there are, by their names in the IANA database."""
    return frozenset(available_timezones())


@dataclass(frozen=True)
class QuietHours:
    """From one time of day until another, over midnight where the second is the earlier one.

    Both the same: there are none.
    """

    starts: dt.time
    ends: dt.time

    def holds(self, wall: dt.time) -> bool:
        """Whether a time of day lies within."""
        if self.starts <= self.ends:
            return self.starts <= wall < self.ends
        return wall >= self.starts or wall < self.ends

    def over_at(self, at: dt.datetime, zone: ZoneInfo) -> dt.datetime:
        """Return the first moment from `at` on (aware) that is not within, in UTC.

        Where the clocks leave the end out it is the moment at which they jump past it; where they
        show it twice, the first from `at` on.
        """
        if not self.holds(at.astimezone(zone).time()):
            return at.astimezone(dt.UTC)
        day = at.astimezone(zone).date()
        # both readings of a time that the clocks show twice, or leave out
        shown = [
            dt.datetime.combine(on, self.ends, zone).replace(fold=fold).astimezone(dt.UTC)
            for on in (day, day + _DAY)
            for fold in (0, 1)
        ]
        moment = min(end for end in shown if end >= at)
        while self.holds(moment.astimezone(zone).time()):
            moment += _MINUTE
        # a jump that leaves the end out lies at most an hour or so before either reading of it
        while moment - _MINUTE >= at and not self.holds((moment - _MINUTE).astimezone(zone).time()):
            moment -= _MINUTE
        return moment
