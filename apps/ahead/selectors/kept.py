"""The forecasts that are kept, and how earlier ones fared against later readings."""

import datetime as dt
from bisect import bisect_left
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import NamedTuple
from uuid import UUID

from apps.ahead.codec import VERSION, fan_read, outlook_read, record_read
from apps.ahead.models import LoopForecast, PastForecast
from apps.calc.ahead.earned import Records
from apps.calc.ahead.outlook import Fan, Outlook
from apps.core.scoping import Actor


@dataclass(frozen=True)
class Kept:
    """A loop's forecast with its outlook read; `loop_id` names the loop."""

    row: LoopForecast
    outlook: Outlook

    @property
    def loop_id(self) -> UUID:
        """The loop's key."""
        return self.row.loop_id

    def day(self, number: float) -> dt.date:
        """Return the date of a day counted from the forecast's first."""
        return self.row.from_day + dt.timedelta(days=int(number // 1))


def forecasts_of(actor: Actor, system_id: UUID) -> dict[UUID, Kept]:
    """Return the newest forecasts of a system's loops, by loop: one query.

    One that was kept in an older shape is left out: it is made anew at night.
    """
    rows = LoopForecast.objects.visible_to(actor).filter(loop__system_id=system_id)
    return {
        row.loop_id: Kept(row, outlook_read(row.outlook)) for row in rows if row.version == VERSION
    }


class Later(NamedTuple):
    """A reading on its local day; at the end of a kit's scale it is `at_least` so much."""

    day: dt.date
    measurand: str
    value: float
    at_least: bool = False


def inside_of(past: Sequence[PastForecast], seen: Iterable[Later]) -> dict[str, tuple[int, int]]:
    """Return, by measurand, how many later readings lay inside the 80 % ranges, and of how many.

    `past`: of one loop, oldest first. Each reading is held against the last forecast that was made
    before its day; one at the end of a scale lies inside where the range reaches up to it.
    """
    starts = [row.from_day for row in past]
    fans = [{fan.measurand: fan for fan in map(fan_read, row.fans)} for row in past]
    found: dict[str, tuple[int, int]] = {}
    for day, measurand, value, at_least in seen:
        place = bisect_left(starts, day) - 1
        fan = fans[place].get(measurand) if place >= 0 else None
        span = range_on(fan, (day - starts[place]).days) if fan else None
        if span is not None:
            hits, judged = found.get(measurand, (0, 0))
            inside = value <= span[1] and (at_least or span[0] <= value)
            found[measurand] = (hits + inside, judged + 1)
    return found


def range_on(fan: Fan, day: float) -> tuple[float, float] | None:
    """Return the 80 % range on a day between those of the fan; None beyond its end."""
    if not fan.days or day > fan.days[-1] or day < fan.days[0]:
        return None
    after = bisect_left(fan.days, day)
    before = max(0, after - 1)
    width = fan.days[after] - fan.days[before]
    share = (day - fan.days[before]) / width if width else 0.0
    low, high = (
        values[before] + share * (values[after] - values[before]) for values in (fan.low, fan.high)
    )
    return low, high


def past_of(loop_ids: Iterable[UUID]) -> Mapping[UUID, list[PastForecast]]:
    """Return what is kept to be judged, by loop, oldest first: one query."""
    found: dict[UUID, list[PastForecast]] = {}
    rows = PastForecast.objects.filter(loop_id__in=list(loop_ids), version=VERSION)
    for row in rows.order_by("from_day"):
        found.setdefault(row.loop_id, []).append(row)
    return found


def records_read() -> dict[UUID, Records]:
    """Return how forecasts fared on the readings of each loop of active systems: one query."""
    rows = LoopForecast.objects.filter(loop__system__active=True).order_by("loop_id")
    return {pk: record_read(kept) for pk, kept in rows.values_list("loop_id", "record")}
