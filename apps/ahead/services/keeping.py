"""Keeps the forecasts of loops: the newest of each, what is judged later, and the dates it gives."""

import datetime as dt
import math
from collections.abc import Sequence
from dataclasses import replace
from typing import Any, NamedTuple
from uuid import UUID

from django.db import transaction
from django.utils import timezone

from apps.ahead.codec import VERSION, outlook_kept
from apps.ahead.models import LoopForecast, PastForecast
from apps.ahead.selectors.gathering import Gathered
from apps.ahead.selectors.kept import Later, inside_of, past_of
from apps.ahead.selectors.rows import limit_tasks, limits_of_task
from apps.calc.ahead.next_visit import (
    ENOUGH_JUDGED,
    SOONEST_DAYS,
    crossings_that_count,
    first_crossing,
    likely_to_come,
    next_visit_day,
)
from apps.calc.ahead.outlook import Crossing, Outlook
from apps.calc.quantities import MEASURANDS
from apps.calc.rhythm import DORMANT, Dates, settled
from apps.care.models import Standing
from apps.care.services import forecasts_set, standing_ahead_set

# how many days of readings are kept to be judged
MOST_PAST = 60


class Made(NamedTuple):
    """A loop's facts, what is forecast from them, what was learnt, and its record, as they are kept."""

    found: Gathered
    outlook: Outlook
    learnt: dict[str, Any]
    record: dict[str, Any] = {}


@transaction.atomic
def forecasts_keep(*, made: Sequence[Made], on: dt.date, at: dt.datetime) -> list[LoopForecast]:
    """Put the forecasts of whole systems in the place of the last ones, and their dates on tasks.

    The same again changes nothing. A forecast is also kept to be judged where readings have come
    since the last one that is. Dates are moved only by what has earned it. Raises ValueError for a number that is not finite; nothing is kept.
    """
    past = past_of(item.found.loop.pk for item in made)
    rows, judged = [], []
    for item in made:
        found, known = item.found, past.get(item.found.loop.pk, [])
        outlook = _judged(found, item.outlook, known, on)
        judged.append(item._replace(outlook=outlook))
        rows.append(_newest(judged[-1], on, at))
        _past_keep(found, outlook, known, on)
    _dates_give(judged, on, at)
    return rows


def _judged(
    found: Gathered, outlook: Outlook, past: Sequence[PastForecast], on: dt.date
) -> Outlook:
    """Return the forecast with the hit rates that the kept ones have earned, where they are many."""
    seen = [
        Later(
            on + dt.timedelta(days=int(row.day // 1)),
            row.measurand,
            row.low if math.isinf(row.high) else row.value,
            math.isinf(row.high),
        )
        for row in found.facts.observed
    ]
    inside = inside_of([row for row in past if row.from_day < on], seen)
    fans = []
    for fan in outlook.fans:
        hits, count = inside.get(fan.measurand, (0, 0))
        known = count >= ENOUGH_JUDGED
        fans.append(replace(fan, hit_rate=hits / count, judged=count) if known else fan)
    return replace(outlook, fans=tuple(fans))


def _newest(made: Made, on: dt.date, at: dt.datetime) -> LoopForecast:
    found, outlook = made.found, made.outlook
    day = next_visit_day(crossings_that_count(outlook))
    row, _made = LoopForecast.objects.update_or_create(
        loop=found.loop,
        defaults={
            "from_day": on, "made_at": at, "version": VERSION, "outlook": outlook_kept(outlook),
            "learnt": made.learnt, "record": made.record, "assumed": list(found.assumed), "readings_until": found.readings_until,
            "next_visit": None if day is None else on + dt.timedelta(days=day),
        },
    )  # fmt: skip
    return row


def _past_keep(
    found: Gathered, outlook: Outlook, past: Sequence[PastForecast], on: dt.date
) -> None:
    last = past[-1].from_day if past else None
    read = timezone.localdate(found.readings_until) if found.readings_until else None
    if read is None or (last is not None and last >= read and last != on):
        return
    fans = outlook_kept(Outlook(outlook.fans, (), (), ()))["fans"]
    PastForecast.objects.update_or_create(
        loop=found.loop, from_day=on, defaults={"version": VERSION, "fans": fans}
    )
    old = [row.pk for row in past if row.from_day != on][: -(MOST_PAST - 1)]
    PastForecast.objects.filter(pk__in=old).delete()


def _date(on: dt.date, day: float | None) -> dt.date | None:
    return None if day is None else on + dt.timedelta(days=max(0, int(day // 1)))


def _window(on: dt.date, seen: Crossing) -> Dates:
    """Return when a task is due by a crossing: none where the limit is more likely kept."""
    due = _date(on, seen.middle)
    if due is None:
        return DORMANT
    late = _date(on, seen.latest) or on + dt.timedelta(days=42)
    return Dates(_date(on, seen.soonest) or due, due, max(due, late))


def _dates_give(made: Sequence[Made], on: dt.date, at: dt.datetime) -> None:
    systems: dict[UUID, list[Made]] = {}
    for item in made:
        systems.setdefault(item.found.loop.system_id, []).append(item)
    windows = {}
    for task in limit_tasks(list(systems)):
        limits = set(limits_of_task(task))
        crossed = [
            _window(on, row)
            for item in systems[task.system_id]
            if task.loop_id in (None, item.found.loop.pk)
            for row in crossings_that_count(item.outlook)
            if (row.measurand, row.side, row.level) in limits
        ]
        known = [window for window in crossed if window.due is not None]
        if known:
            windows[task.pk] = min(known, key=lambda window: (window.due, window.open))
    forecasts_set(system_ids=list(systems), windows=windows, on=on, at=at)
    standing_ahead_set(_first_crossings(systems, on), at)


def _first_crossings(
    systems: dict[UUID, list[Made]], on: dt.date
) -> dict[UUID, tuple[dict[str, object], dt.date | None]]:
    """Return the crossing that may come first in each system, held still against small moves.

    What is more likely kept than passed puts no system on the due list.
    """
    held = dict(Standing.objects.filter(system_id__in=list(systems)).values_list("pk", "ahead"))
    found: dict[UUID, tuple[dict[str, object], dt.date | None]] = {}
    for pk, loops in systems.items():
        seen = [
            (item.found, first)
            for item in loops
            if (first := first_crossing(likely_to_come(crossings_that_count(item.outlook))))
        ]
        if not seen:
            found[pk] = ({}, None)
            continue
        loop, first = min(seen, key=lambda item: (item[1].soonest, str(item[0].loop.pk)))
        found[pk] = _kept(loop, first, held.get(pk) or {}, on)
    return found


def _kept(
    found: Gathered, seen: Crossing, before: dict[str, str], on: dt.date
) -> tuple[dict[str, object], dt.date | None]:
    what: dict[str, Any] = {
        "loop": str(found.loop.pk), "measurand": seen.measurand, "side": seen.side,
        "level": seen.level, "unit": _unit(seen.measurand),
    }  # fmt: skip
    fresh = Dates(_date(on, seen.soonest), _date(on, seen.middle), _date(on, seen.latest))
    same = all(before.get(name) == value for name, value in what.items())
    dates = settled(_dates(before), fresh, on) if same else fresh
    day = next_visit_day([seen])
    named = (("soonest", dates.open), ("middle", dates.due), ("latest", dates.late))
    kept = what | {name: day_ and day_.isoformat() for name, day_ in named}
    # somebody should be there by the next visit that is proposed: known three days before
    since = None if day is None else on + dt.timedelta(days=day - SOONEST_DAYS)
    return kept, since


def _dates(before: dict[str, str]) -> Dates:
    days = [before.get(name) for name in ("soonest", "middle", "latest")]
    return Dates(*(dt.date.fromisoformat(day) if day else None for day in days))


def _unit(measurand: str) -> str:
    known = MEASURANDS.get(measurand)
    return known.unit if known else ""
