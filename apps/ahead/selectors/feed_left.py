"""Until when the feed at a system's place lasts: its last count, and the feeding that forecasts go by.

A day that was written down counts as it was written. From the forecast's first day on its feed
counts, which knows the warmth, the growth and who is away; before it, and where there is none, the
middle of what was written down in the last thirty days, as the forecast itself has it.
"""

import datetime as dt
from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from statistics import median
from uuid import UUID

from django.utils import timezone

from apps.ahead.codec import VERSION
from apps.ahead.models import LoopForecast
from apps.ahead.selectors.gathering import FEED_DAYS
from apps.batches.selectors import fish_now
from apps.calc.away import CARER_SHARE
from apps.calc.feed_left import Fed, Lasts, feed_lasts
from apps.care.models import FeedCount
from apps.care.selectors import feed_counts
from apps.clients.models import TimeAway
from apps.clients.selectors import days_of, times_away
from apps.systems.models import Loop
from apps.visits.selectors import readings_counting

# further ahead nobody says that they are away
AWAY_AHEAD = dt.timedelta(days=366)


@dataclass
class LoopFeed:
    """What one loop is fed [g]: on days that were noted, by the forecast, and on a usual day."""

    noted: dict[dt.date, float] = field(default_factory=dict)
    planned: dict[dt.date, float] | None = None
    usual: float = 0.0

    def on(self, day: dt.date, share: float) -> Fed:
        """Return what is fed on a day; `share`: of the usual, where the household is away."""
        if day in self.noted:
            return Fed(self.noted[day], noted=True)
        planned = self.planned or {}
        if day in planned:
            # it knows of the time away itself
            return Fed(planned[day])
        beyond = planned and day > max(planned)
        return Fed((self.later if beyond else self.usual) * share)

    @property
    def later(self) -> float:
        """What is fed a day beyond the forecast: the mean of its days on which anything is fed."""
        if self.planned is None:
            return self.usual
        given = [grams for grams in self.planned.values() if grams > 0]
        return sum(given) / len(given) if given else 0.0

    @property
    def known_until(self) -> dt.date:
        """The last day of which more is known than the usual."""
        return max((*self.noted, *(self.planned or ())), default=dt.date.min)


@dataclass
class SystemFeed:
    """What a system is fed, loop by loop; `away`: the share of the usual on days away."""

    loops: dict[UUID, LoopFeed]
    away: dict[dt.date, float]

    @property
    def a_day(self) -> float:
        """What is fed a day from now on [g/day]; 0 where nobody knows, or nothing is fed."""
        return sum(loop.later for loop in self.loops.values())

    def lasts(self, count: FeedCount) -> Lasts | None:
        """Return how long what was counted lasts, in days from the day of the count."""
        counted = timezone.localdate(count.counted_at)
        known = [loop.known_until for loop in self.loops.values()] + list(self.away)
        length = max(0, (max(known, default=counted) - counted).days)
        first = [self._on(counted + dt.timedelta(days=n)) for n in range(1, length + 1)]
        return feed_lasts(count.amount_g, first, self.a_day)

    def _on(self, day: dt.date) -> Fed:
        parts = [loop.on(day, self.away.get(day, 1.0)) for loop in self.loops.values()]
        return Fed(sum(part.grams for part in parts), noted=all(part.noted for part in parts))


def feeding_of(
    systems: Mapping[UUID, UUID], since: dt.date, on: dt.date, at: dt.datetime
) -> dict[UUID, SystemFeed]:
    """Return what systems are fed from a day on: six queries. `systems`: system -> place."""
    loops = dict(Loop.objects.filter(system_id__in=list(systems)).values_list("pk", "system_id"))
    fed: dict[UUID, LoopFeed] = {pk: LoopFeed() for pk in loops}
    _note(fed, since, on, at)
    _plan(fed)
    living = {row.batch.loop_id for row in fish_now(list(loops), on) if row.count}
    away = times_away(systems.values(), since, on + AWAY_AHEAD)
    return {
        system: SystemFeed(
            # of fish that are gone neither a forecast nor a habit speaks any more
            {pk: fed[pk] for pk, of in loops.items() if of == system and pk in living},
            _shares(row for row in away if row.place_id == place),
        )
        for system, place in systems.items()
    }


def _note(fed: Mapping[UUID, LoopFeed], since: dt.date, on: dt.date, at: dt.datetime) -> None:
    """Fill in what was written down, and what of it is usual."""
    recent = on - dt.timedelta(days=FEED_DAYS)
    first = dt.datetime.combine(min(since, recent), dt.time(), timezone.get_current_timezone())
    rows = readings_counting().filter(
        loop_id__in=list(fed), measurand="feed", trusted=True, taken_at__gte=first, taken_at__lte=at
    )
    lately: dict[UUID, list[float]] = defaultdict(list)
    for row in rows.order_by("taken_at", "id"):
        day = timezone.localdate(row.taken_at)
        noted = fed[row.loop_id].noted
        noted[day] = noted.get(day, 0.0) + row.value
        if day >= recent:
            lately[row.loop_id].append(row.value)
    for pk, values in lately.items():
        fed[pk].usual = float(median(values))


def _plan(fed: Mapping[UUID, LoopFeed]) -> None:
    """Fill in what forecasts feed: what they say is needed, from one day to the next."""
    rows = LoopForecast.objects.filter(loop_id__in=list(fed), version=VERSION)
    for pk, first, needs in rows.values_list("loop_id", "from_day", "outlook__needs"):
        loop = fed[pk]
        loop.planned = _by_day(first, needs or [])
        loop.usual = loop.usual or loop.later


def _by_day(first: dt.date, needs: Iterable[dict[str, float]]) -> dict[dt.date, float]:
    """Return what is fed on each day, from what is needed until some of them."""
    planned: dict[dt.date, float] = {}
    number, grams = 0, 0.0
    for need in needs:
        last = int(need["day"])
        for ahead in range(number, last):
            each = max(0.0, need["feed_g"] - grams) / (last - number)
            planned[first + dt.timedelta(days=ahead)] = each
        number, grams = last, need["feed_g"]
    return planned


def _shares(rows: Iterable[TimeAway]) -> dict[dt.date, float]:
    return {
        day: CARER_SHARE if row.carer_name else 0.0 for row in rows for day in days_of(row)
    }  # fmt: skip


def feed_left(
    systems: Mapping[UUID, UUID], on: dt.date, at: dt.datetime
) -> dict[UUID, tuple[FeedCount, Lasts | None]]:
    """Return of each system that has one its last count of feed, and how long it lasts: seven queries.

    `systems`: system -> place.
    """
    counts: dict[UUID, FeedCount] = {}
    for count in feed_counts(systems):
        counts.setdefault(count.system_id, count)
    if not counts:
        return {}
    since = min(timezone.localdate(count.counted_at) for count in counts.values())
    feeding = feeding_of({pk: systems[pk] for pk in counts}, since, on, at)
    return {pk: (count, feeding[pk].lasts(count)) for pk, count in counts.items()}
