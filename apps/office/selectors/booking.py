"""What somebody who books looks at: two weeks, who is where, and a time that fits."""

import datetime as dt
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from typing import Any
from uuid import UUID

from django.utils import timezone
from django.utils.translation import gettext as _

from apps.accounts.models import Firm, User
from apps.care.models import CareTask, StandingAppointment
from apps.care.selectors import appointment_days, open_tasks
from apps.catalogue.selectors import Catalogue
from apps.clients.models import Place
from apps.core.scoping import Actor
from apps.rounds.models import Hold
from apps.systems.models import System
from apps.visits.models import Assignment
from apps.visits.services.lines import visit_minutes

Taken = Assignment | Hold
"""What takes somebody's time: a visit, or a time that a client may still choose."""
WEEKS = 2
QUARTER = 15


@dataclass
class Day:
    """One day of the calendar."""

    on: dt.date
    closed: bool = False
    past: bool = False
    today: bool = False
    chosen: bool = False
    hours: str = ""
    stops: list[Taken] = field(default_factory=list)


@dataclass(frozen=True)
class Work:
    """What is to be done on a day, and how long it takes."""

    tasks: list[tuple[CareTask, str]]
    minutes: int


def first_day(on: dt.date) -> dt.date:
    """Return the Monday of a day's week."""
    return on - dt.timedelta(days=on.weekday())


def taken_between(actor: Actor, first: dt.date, days: int) -> list[Taken]:
    """Return who is where, or is held for a client who may still choose: two queries."""
    start = timezone.make_aware(dt.datetime.combine(first, dt.time()))
    end = start + dt.timedelta(days=days)
    booked = Assignment.objects.visible_to(actor).select_related("user", "visit__place__client")
    held = Hold.objects.visible_to(actor).select_related(
        "user", "time__offer__visit__place__client"
    )
    rows: list[Taken] = [
        row
        for kind in (booked, held)
        for row in kind.filter(holds=True, start__gte=start, start__lt=end)
    ]
    return sorted(rows, key=lambda row: (row.start, row.user.first_name))


def calendar(
    place: Place, taken: Iterable[Taken], first: dt.date, today: dt.date, chosen: dt.date
) -> list[list[Day]]:
    """Return two weeks as rows of days, with what stands on each."""
    hours: dict[int, list[Any]] = {}
    for row in place.hours.all():
        hours.setdefault(row.weekday, []).append(row)
    days = [
        Day(
            on=on, closed=bool(hours) and on.isoweekday() not in hours, past=on < today,
            today=on == today, chosen=on == chosen,
            hours=", ".join(
                f"{row.opens:%H:%M}–{row.closes:%H:%M}"
                for row in sorted(hours.get(on.isoweekday(), []), key=lambda row: row.opens)
            ),
        )
        for on in (first + dt.timedelta(days=offset) for offset in range(7 * WEEKS))
    ]  # fmt: skip
    by_day = {day.on: day for day in days}
    for stop in taken:
        day = by_day.get(timezone.localdate(stop.start))
        if day is not None:
            day.stops.append(stop)
    return [days[week : week + 7] for week in range(0, len(days), 7)]


def work_on(systems: Sequence[System], on: dt.date, catalogue: Catalogue) -> dict[UUID, Work]:
    """Return the firm's tasks of each system that may be done on a day: one query a system."""
    found = {}
    for system in systems:
        tasks = open_tasks(system.pk, on)
        named = sorted(
            ((task, _(catalogue.name("tasks", task.code))) for task in tasks),
            key=lambda pair: (pair[0].next_due or dt.date.max, pair[1]),
        )
        found[system.pk] = Work(named, sum(task.minutes for task in tasks))
    return found


def first_open(place: Place, on: dt.date, today: dt.date) -> dt.date:
    """Return the first day from tomorrow on at which somebody may come."""
    days = {row.weekday for row in place.hours.all()}
    start = max(on, today)
    for offset in range(14):
        day = start + dt.timedelta(days=offset)
        if (not days and day.isoweekday() <= 5) or day.isoweekday() in days:
            return day
    return start


def suggest(
    place: Place,
    on: dt.date,
    minutes: int,
    people: Sequence[User],
    taken: Sequence[Taken],
    firm: Firm | None,
) -> dict[str, Any]:
    """Return a time that fits the place's hours and somebody's day: who, from, to.

    The technician of the place's area goes first. Without a gap the opening hour stands, and the
    form will say who is elsewhere.
    """
    length = -(-visit_minutes(minutes) // QUARTER) * QUARTER
    spans = _spans(place, on, firm)
    in_order = sorted(people, key=lambda user: (not place.area or user.area != place.area,))
    for user in in_order:
        own = [row for row in taken if row.user_id == user.pk]
        for opens, closes in spans:
            start = _gap(own, on, opens, closes, length)
            if start is not None:
                return _values(start, length, [user])
    return _values(dt.datetime.combine(on, spans[0][0]), length, in_order[:1])


def agreed(actor: Actor, place: Place, on: dt.date, people: Iterable[User]) -> dict[str, Any]:
    """Return the times of a standing appointment of a place on a day, with who comes, if any."""
    for row in StandingAppointment.objects.visible_to(actor).filter(place=place).order_by("pk"):
        if on in appointment_days(row, on, on):
            who = [row.technician_id] if row.technician in set(people) else None
            times = {"start": row.starts, "end": row.ends}
            return times | ({"technicians": who} if who else {})
    return {}


def _values(start: dt.datetime, length: int, users: Sequence[User]) -> dict[str, Any]:
    end = start + dt.timedelta(minutes=length)
    last = end.time() if end.date() == start.date() else dt.time(23, 59)
    return {
        "day": start.date(), "start": start.time(), "end": last,
        "technicians": [user.pk for user in users],
    }  # fmt: skip


def _spans(place: Place, on: dt.date, firm: Firm | None) -> list[tuple[dt.time, dt.time]]:
    own = sorted(
        (row.opens, row.closes) for row in place.hours.all() if row.weekday == on.isoweekday()
    )
    if own:
        return own
    return [(firm.day_start, firm.day_end) if firm else (dt.time(8), dt.time(18))]


def _gap(
    taken: Sequence[Taken], on: dt.date, opens: dt.time, closes: dt.time, length: int
) -> dt.datetime | None:
    start, limit = dt.datetime.combine(on, opens), dt.datetime.combine(on, closes)
    busy = sorted(
        (timezone.make_naive(row.start), timezone.make_naive(row.end))
        for row in taken
        if timezone.localdate(row.start) == on
    )
    for begins, ends in busy:
        if start + dt.timedelta(minutes=length) <= begins:
            break
        start = max(start, _next_quarter(ends))
    return start if start + dt.timedelta(minutes=length) <= limit else None


def _next_quarter(moment: dt.datetime) -> dt.datetime:
    over = moment.minute % QUARTER
    whole = moment.replace(second=0, microsecond=0)
    return whole + dt.timedelta(minutes=QUARTER - over) if over else whole
