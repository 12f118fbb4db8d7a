"""The planner's stops, from visits that stand or may be moved and from systems that are due."""

import datetime as dt
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from typing import Any
from uuid import UUID

from django.utils import timezone

from apps.clients.models import Place
from apps.clients.selectors import lets_in
from apps.rounds.choices import Kind
from apps.rounds.models import Hold
from apps.rounds.planning.prizes import lone_trip
from apps.rounds.planning.problem import (
    DAY,
    MONEY,
    Costs,
    Former,
    Promise,
    Shift,
    Stop,
    Travel,
    Window,
    whole,
    windows_on,
)
from apps.rounds.selectors.axis import STEP, axis_of, seconds_of, stepped
from apps.rounds.selectors.facts import Facts
from apps.rounds.selectors.people import BASE
from apps.rounds.selectors.worth import Wanted, prizes_of, wanted
from apps.visits.choices import Answer
from apps.visits.models import Sheet, Visit
from apps.visits.services.lines import lines_wanted, visit_minutes

DISINFECTING = 20 * 60
"""Boots, nets and tools after a place where disease is suspected [s]; common practice."""


@dataclass(frozen=True)
class Work:
    """What a stop of the problem is: a visit as it stands, or systems that are due.

    `late`: the last day on which none of their care is late; `booked`: how long the visit stood on
    the calendar when this was planned [min].
    """

    kind: str
    place: UUID
    systems: tuple[UUID, ...]
    visit: UUID | None = None
    rev: int = 0
    late: dt.date | None = None
    booked: int | None = None


@dataclass(frozen=True)
class Planned:
    """A stop with what it is."""

    stop: Stop
    work: Work


@dataclass(frozen=True)
class Frame:
    """What stops are made within: the shifts, what driving takes, what things cost."""

    facts: Facts
    shifts: Sequence[Shift]
    travel: Travel
    costs: Costs

    def prizes(self, stop: Stop, wish: Wanted) -> dict[int, int]:
        """Return what a stop is worth on each day; where nobody can drive, at least something."""
        trip = 0
        if stop.place in self.travel.index:
            trip = lone_trip(
                stop.place, stop.on_site, self.shifts, self.travel, self.costs, stop.people
            )
        return prizes_of(wish, trip, self.facts.days)

    def in_its_area(self, stop: Stop, area: str) -> Stop:
        """Return a stop with who is in its area when, worth more on these days."""
        facts = self.facts
        days = {day: facts.first + dt.timedelta(days=day) for day in stop.prizes}
        there = {day: facts.staff.in_area(area, on) for day, on in days.items()}
        more = whole(facts.settings.area_day * MONEY)
        prizes = {d: worth + (more if there[d] else 0) for d, worth in stop.prizes.items()}
        return replace(stop, prizes=prizes, in_area={d: who for d, who in there.items() if who})


def place_key(pk: UUID) -> str:
    """Return the planner's name of a place."""
    return f"place:{pk}"


def visit_key(pk: UUID) -> str:
    """Return the planner's name of a visit."""
    return f"visit:{pk}"


def stops_of(frame: Frame) -> list[Planned]:
    """Return all stops: what stands, what may be moved, what is due."""
    found: list[Planned] = []
    for visit in frame.facts.visits:
        if frame.facts.kind(visit) == Kind.FIXED:
            found += fixed(frame, visit)
        else:
            found += movable(frame, visit)
    for row in frame.facts.held:
        found += offered(frame, row)
    for place_id in sorted(frame.facts.due, key=str):
        found.append(due(frame, place_id))
    return found


def fixed(frame: Frame, visit: Visit) -> list[Planned]:
    """Return a visit that stands where it is: its time and its people, whatever skills they have.

    One stop for each who goes, so that the others' time is held should one of them be away.
    """
    facts, people = frame.facts, _people(visit)
    length = max(int((visit.end - visit.start).total_seconds()), STEP)
    begin = axis_of(facts.first, visit.start)
    work = _work(Kind.FIXED, visit)
    wish = wanted(facts, work.systems, timezone.localdate(visit.start))
    found = []
    for number, name in enumerate(people):
        key = visit_key(visit.pk) + (f"/{number}" if number else "")
        stop = Stop(
            key, place_key(visit.place_id), length, (), {},
            promise=Promise(Window(begin, begin), (name,)),
        )  # fmt: skip
        found.append(Planned(replace(stop, prizes=frame.prizes(stop, wish)), work))
    return found + _held(frame, visit, people, begin, length)


def offered(frame: Frame, row: Hold) -> list[Planned]:
    """Return a time that a client may still pick: it stands as if it were booked."""
    visit, name = row.time.offer.visit, str(row.user_id)
    length = max(int((row.end - row.start).total_seconds()), STEP)
    begin = axis_of(frame.facts.first, row.start)
    work = _work(Kind.OFFERED, visit)
    on_map = place_key(visit.place_id) in frame.travel.index
    stop = Stop(
        f"offer:{row.pk}", place_key(visit.place_id) if on_map else BASE, length, (), {},
        promise=Promise(Window(begin, begin), (name,)),
    )  # fmt: skip
    wish = wanted(frame.facts, work.systems, timezone.localdate(row.start))
    return [Planned(replace(stop, prizes=frame.prizes(stop, wish)), work)]


def _held(
    frame: Frame, visit: Visit, people: tuple[str, ...], begin: int, length: int
) -> list[Planned]:
    """Return the time that a visit holds whose place nobody can drive to: nothing else goes there."""
    if place_key(visit.place_id) in frame.travel.index:
        return []
    day = range(frame.facts.days)
    stops = [
        Stop(
            f"held:{visit.pk}/{number}", BASE, length, (), dict.fromkeys(day, 10_000),
            promise=Promise(Window(begin, begin), (name,)),
        )
        for number, name in enumerate(people)
    ]  # fmt: skip
    return [Planned(stop, _work(Kind.FIXED, visit)) for stop in stops]


def movable(frame: Frame, visit: Visit) -> list[Planned]:
    """Return a visit that may be moved: by day, hour and people.

    On a frozen day it begins when it stands there, and lasts as long; should those who go be away,
    others may take it over then, or another day.
    """
    facts, work = frame.facts, _work(Kind.MOVABLE, visit)
    people, own = _people(visit), timezone.localdate(visit.start)
    overdue, held_on = facts.overdue(visit), facts.holds_on(visit)
    begin = axis_of(facts.first, visit.start)
    kept = 0 if overdue else max(int((visit.end - visit.start).total_seconds()), STEP)
    minutes = getattr(visit, "minutes_planned", 0) or 0
    service = kept if held_on is not None else max(_service(minutes), stepped(kept))
    stop = Stop(
        visit_key(visit.pk), place_key(visit.place_id), service, (), {},
        skills=skills_of(facts, work.systems, max(own, facts.first)),
        people=2 if len(people) > 1 else 1, former=_former(facts, visit, people),
    )  # fmt: skip
    wish = wanted(facts, work.systems, own)
    stop = _placed(frame, stop, work, wish)
    if visit.client_answer == Answer.OTHER_TIME:
        stop = _another_day(stop, (own - facts.first).days)
    elif held_on is not None:
        others = tuple(window for window in stop.windows if window.day != held_on)
        stop = replace(stop, windows=(Window(begin, begin), *others), disinfecting=0)
        prizes = frame.prizes(stop, wish)
        # whoever takes it over may have to wait for its hour
        stop = replace(stop, prizes={**prizes, held_on: 2 * prizes[held_on]})
    held = [] if overdue else _held(frame, visit, people, begin, kept)
    return [Planned(stop, work), *held]


def _another_day(stop: Stop, own_day: int) -> Stop:
    """Return the visit of a client who wants another time: another day, where there is one."""
    others = tuple(window for window in stop.windows if window.day != own_day)
    return replace(stop, windows=others or stop.windows, former=None)


def due(frame: Frame, place_id: UUID) -> Planned:
    """Return the visit that a place's due systems want together."""
    facts = frame.facts
    systems = tuple(sorted((row.pk for row in facts.due[place_id]), key=str))
    wish = wanted(facts, systems)
    day = facts.first + dt.timedelta(days=min(max(wish.due, 0), facts.days - 1))
    stop = Stop(
        f"due:{place_id}", place_key(place_id), _service(_minutes(facts, systems, day)), (), {},
        skills=skills_of(facts, systems, day),
    )  # fmt: skip
    work = Work(Kind.DUE, place_id, systems)
    return Planned(_placed(frame, stop, work, wish), work)


def _placed(frame: Frame, stop: Stop, work: Work, wish: Wanted) -> Stop:
    """Return a stop with its order in the day, its windows and what it is worth."""
    facts = frame.facts
    sick = any(pk in facts.sick for pk in work.systems)
    fish = [facts.fish[pk] for pk in work.systems if pk in facts.fish]
    stop = replace(
        stop, last_of_day=sick, disinfecting=DISINFECTING if sick else 0,
        first_of_day=bool(fish),
    )  # fmt: skip
    days: Iterable[int] = range(max(wish.opens, 0), facts.days)
    if fish:
        # they are ordered for a day
        days = [day for day in days if facts.first + dt.timedelta(days=day) == min(fish)]
    place = facts.places[work.place]
    windows = windows_of(facts, place, stop.on_site, days)
    stop = replace(stop, windows=windows, prizes=frame.prizes(stop, wish))
    return frame.in_its_area(stop, place.area)


def windows_of(facts: Facts, place: Place, on_site: int, days: Iterable[int]) -> tuple[Window, ...]:
    """Return when work of ``on_site`` [s] may begin: within the place's hours, gone by closing.

    A place without hours takes visits in the firm's day. No window lies on a closed day, on one on
    which the household is away and nobody may come in, or in the past.
    """
    rows = list(place.hours.all())
    now = 0 if facts.now is None else max(stepped(axis_of(facts.first, facts.now)), 0)
    found: list[Window] = []
    for day in days:
        on = facts.first + dt.timedelta(days=day)
        if on in facts.staff.closed or not lets_in(place, on):
            continue
        spans = [(row.opens, row.closes) for row in rows if row.weekday == on.isoweekday()]
        if not rows:
            spans = [(facts.firm.day_start, facts.firm.day_end)]
        hours = [(seconds_of(opens), seconds_of(closes) - on_site) for opens, closes in spans]
        opened = [(max(a, now - day * DAY), b) for a, b in sorted(hours)]
        found += windows_on([day], [(a, b) for a, b in opened if a <= b])
    return tuple(found)


def _former(facts: Facts, visit: Visit, people: tuple[str, ...]) -> Former | None:
    day = (timezone.localdate(visit.start) - facts.first).days
    if not 0 <= day < facts.days or facts.overdue(visit):
        return None
    return Former(day, people[:2], axis_of(facts.first, visit.start))


def _people(visit: Visit) -> tuple[str, ...]:
    return tuple(str(row.user_id) for row in visit.assignments.all())


def _work(kind: str, visit: Visit) -> Work:
    systems = tuple(sorted((sheet.system_id for sheet in visit.sheets.all()), key=str))
    booked = int((visit.end - visit.start).total_seconds()) // 60
    return Work(kind, visit.place_id, systems, visit.pk, visit.rev, booked=booked)


def _service(minutes: int) -> int:
    return stepped(visit_minutes(minutes) * 60)


def _minutes(facts: Facts, systems: Iterable[UUID], on: dt.date) -> int:
    """Return what the checklists of systems would take on a day [min]."""
    total = 0
    for pk in systems:
        tasks = [task for task in facts.tasks.get(pk, ()) if _open(task, on)]
        lines = lines_wanted(Sheet(system_id=pk), tasks, facts.catalogue)
        total += sum(line.minutes_planned for line in lines)
    return total


def skills_of(facts: Facts, systems: Iterable[UUID], on: dt.date) -> frozenset[str]:
    """Return the skills that the tasks of systems ask for that may be done on a day."""
    tasks = [task for pk in systems for task in facts.tasks.get(pk, ()) if _open(task, on)]
    return frozenset(task.skill for task in tasks if task.skill)


def _open(task: Any, on: dt.date) -> bool:
    """Whether a task belongs on the checklist of a day."""
    return task.mode == "every_visit" or (task.next_open is not None and task.next_open <= on)
