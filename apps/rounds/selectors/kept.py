"""What stands already must fit: people booked it, so the day is stretched for it and that is said.

The planner leaves out what cannot be; a visit that stands would then be driven over by another.
"""

import datetime as dt
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field, replace

from apps.rounds.planning.problem import DAY, Problem, Settings, Shift, Stop, Window
from apps.rounds.planning.schedule import scheduled
from apps.rounds.planning.segments import Visit
from apps.rounds.selectors.facts import Facts
from apps.rounds.selectors.people import Hours, home_of, shift_of
from apps.rounds.selectors.stops import Frame, Planned

LEAST = 60
"""A stop that is cut short for the drive to the next keeps this much [s]."""


@dataclass(frozen=True)
class Note:
    """Something that the office should know of a plan: a code with what fills its sentence."""

    code: str
    params: dict[str, object] = field(default_factory=dict)


@dataclass
class Kept:
    """Stops and shifts, with what was done to them so that all that stands fits.

    ``standing``: what stands on each technician's day, in order.
    """

    planned: dict[str, Planned]
    shifts: dict[tuple[str, int], Shift]
    notes: list[Note]
    standing: dict[tuple[str, int], list[str]] = field(default_factory=dict)


def kept(frame: Frame, planned: Sequence[Planned]) -> Kept:
    """Return stops and shifts in which all fits that stands and can be driven to."""
    made = Kept(
        {row.stop.id: row for row in planned},
        {(shift.technician, shift.day): shift for shift in frame.shifts},
        [],
    )
    for row in planned:
        _cut(frame.facts, made, row.stop)
    for (name, day), stops in sorted(_standing(frame, planned).items()):
        made.standing[name, day] = [stop.id for stop in stops]
        _day(frame, made, name, day, [made.planned[stop.id].stop for stop in stops])
    return made


def _cut(facts: Facts, made: Kept, stop: Stop) -> None:
    """Let somebody who is away when a booked visit begins start work after it would have ended.

    Their name still stands on it, and until the office has seen to that its time is theirs.
    """
    if stop.promise is None:
        return
    window = stop.promise.window
    on, end = facts.first + dt.timedelta(days=window.day), window.start + stop.on_site
    for name in stop.promise.technicians:
        shift = made.shifts.get((name, window.day))
        away = not facts.staff.at_work(name, on, window.start % DAY)
        if shift is None or not away or not window.start <= shift.start < end:
            continue
        if end < shift.end:
            made.shifts[name, window.day] = replace(shift, start=end)
        else:
            del made.shifts[name, window.day]


def _standing(frame: Frame, planned: Iterable[Planned]) -> dict[tuple[str, int], list[Stop]]:
    """Return what stands on each technician's day, in order; nothing of who is away or has left."""
    found: dict[tuple[str, int], list[Stop]] = {}
    for row in planned:
        stop = row.stop
        people = _people(frame.facts, stop)
        if stop.place not in frame.travel.index or not people:
            continue
        for name in people:
            found.setdefault((name, _begin(stop).day), []).append(stop)
    return {key: sorted(stops, key=_start) for key, stops in found.items()}


def _people(facts: Facts, stop: Stop) -> list[str]:
    """Return who goes to what stands: to a promise whoever is at work; on a frozen day all or none."""
    promise, former = stop.promise, stop.former
    names: tuple[str, ...] = ()
    if promise is not None:
        names = promise.technicians
    elif former is not None and former.day in facts.frozen:
        names = former.technicians
    if not names:
        return []
    begin = _begin(stop)
    on = facts.first + dt.timedelta(days=begin.day)
    there = [name for name in names if facts.staff.at_work(name, on, begin.start % DAY)]
    return there if promise is not None or len(there) == len(names) else []


def _begin(stop: Stop) -> Window:
    """Return when what stands begins."""
    if stop.promise is not None:
        return stop.promise.window
    return next(w for w in stop.windows if stop.former is not None and w.day == stop.former.day)


def _start(stop: Stop) -> tuple[int, str]:
    return (_begin(stop).start, stop.id)


def _day(frame: Frame, made: Kept, name: str, day: int, stops: list[Stop]) -> None:
    shift = made.shifts.get((name, day)) or _extra(frame, name, day, stops)
    stops = _shortened(frame, made, name, day, stops)
    shift = _stretched(frame, made, shift, stops)
    made.shifts[name, day] = _with_lunch(frame, made, shift, stops)
    _ends(frame.facts, made, stops)


def _extra(frame: Frame, name: str, day: int, stops: Sequence[Stop]) -> Shift:
    """Return a shift on a day that is not worked, for what somebody booked there all the same."""
    facts, dawn = frame.facts, day * DAY
    hours = Hours(_start(stops[0])[0] - dawn, _start(stops[-1])[0] - dawn + 1, None)
    return shift_of(facts.staff, name, day, hours, facts.settings, frame.costs)


def _drive(frame: Frame, here: str, there: str) -> int:
    index = frame.travel.index
    return frame.travel.seconds[index[here]][index[there]]


def _shortened(frame: Frame, made: Kept, name: str, day: int, stops: list[Stop]) -> list[Stop]:
    """Return the stops with time for the drive from each to the next.

    Where no time at all is left for it, the next is planned as if it were at the same place: nobody
    can drive like that, but what is booked keeps its time.
    """
    found = list(stops)
    for n in range(len(found) - 1):
        here, there = found[n], found[n + 1]
        between = _start(there)[0] - _start(here)[0]
        room = between - _drive(frame, here.place, there.place)
        if room >= here.on_site:
            continue
        if room < LEAST:
            found[n + 1] = replace(there, place=here.place)
            room = between
        found[n] = replace(here, service=max(min(room, here.service), LEAST), disinfecting=0)
        params = {"technician": name, "day": day, "stop": here.id, "next": there.id}
        made.notes.append(Note("drive_too_short", params))
    for stop in found:
        made.planned[stop.id] = replace(made.planned[stop.id], stop=stop)
    return found


def _stretched(frame: Frame, made: Kept, shift: Shift, stops: list[Stop]) -> Shift:
    """Return the shift with the way to the first stop and the way back from the last."""
    home, dawn = home_of(frame.facts.staff, shift.technician), shift.day * DAY
    leave = _start(stops[0])[0] - _drive(frame, home, stops[0].place)
    back = _start(stops[-1])[0] + stops[-1].on_site + _drive(frame, stops[-1].place, home)
    start, end = max(min(shift.start, leave), dawn), min(max(shift.end, back), dawn + DAY)
    if (start, end) == (shift.start, shift.end):
        return shift
    params = {"technician": shift.technician, "day": shift.day, "start": start, "end": end}
    made.notes.append(Note("day_stretched", params))
    return replace(shift, start=start, end=end, overtime=min(shift.overtime, dawn + DAY - end))


def _with_lunch(frame: Frame, made: Kept, shift: Shift, stops: list[Stop]) -> Shift:
    """Return the shift, without its break where what stands leaves no time for it."""
    if shift.lunch is None or _possible(frame, shift, stops):
        return shift
    without = replace(shift, lunch=None)
    if not _possible(frame, without, stops):
        return shift
    made.notes.append(Note("no_lunch", {"technician": shift.technician, "day": shift.day}))
    return without


def _possible(frame: Frame, shift: Shift, stops: list[Stop]) -> bool:
    problem = Problem((), tuple(stops), (shift,), frame.travel, frame.costs, Settings())
    visits = [Visit(stop.id, _begin(stop)) for stop in stops]
    return scheduled(problem, shift, visits) is not None


def _ends(facts: Facts, made: Kept, stops: list[Stop]) -> None:
    """Let nothing follow a place with suspected disease, and nothing come before live fish.

    Where something that stands does so already, that is said.
    """
    for n, stop in enumerate(stops):
        row = made.planned[stop.id]
        sick = any(pk in facts.sick for pk in row.work.systems)
        on = facts.first + dt.timedelta(days=_begin(stop).day)
        fish = any(facts.fish.get(pk) == on for pk in row.work.systems)
        if sick and n < len(stops) - 1:
            made.notes.append(Note("disease_not_last", {"stop": stop.id}))
        if fish and n > 0:
            made.notes.append(Note("fish_not_first", {"stop": stop.id}))
        last, first = sick and n == len(stops) - 1, fish and n == 0
        changed = replace(stop, last_of_day=last, first_of_day=first)
        made.planned[stop.id] = replace(row, stop=changed)
