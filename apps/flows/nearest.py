"""Who could be at a place soonest, and which visits would have to wait for it."""

import datetime as dt
import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from uuid import UUID

from django.utils import timezone

from apps.accounts.models import User
from apps.accounts.selectors import technicians
from apps.catalogue.choices import EntryKind
from apps.catalogue.selectors import Catalogue
from apps.clients.models import Place
from apps.core.scoping import Actor
from apps.rounds.models import Crew
from apps.rounds.planning.travel import Speeds, great_circle_m
from apps.visits.choices import HOLDING, State
from apps.visits.models import Assignment, Visit

# common practice: planned where nobody knows from where somebody comes
UNKNOWN_DRIVE = dt.timedelta(minutes=30)
QUARTER = 15
GRID = 5 * 60
SPEEDS = Speeds()
# where somebody is known to be: at a visit, where the last one ended, where the next one is, unknown
AT, LAST, NEXT, UNKNOWN = "at", "last", "next", ""


@dataclass(frozen=True)
class Late:
    """A visit that would have to wait: until `now`, or without this technician where `now` is None."""

    visit: Visit
    was: dt.datetime
    now: dt.datetime | None

    @property
    def minutes(self) -> int:
        """By how many minutes it comes later."""
        return round((self.now - self.was).total_seconds() / 60) if self.now else 0


@dataclass(frozen=True)
class Candidate:
    """A technician who could be sent.

    `seconds` of driving is None where nobody knows from where; `lacks`: the skills that are wanted
    and that they do not have.
    """

    user: User
    whence: str
    place: Place | None
    metres: float | None
    seconds: int | None
    start: dt.datetime
    end: dt.datetime
    leaves: Visit | None
    late: tuple[Late, ...]
    visits: int
    lacks: tuple[str, ...] = ()

    @property
    def minutes(self) -> int | None:
        """The drive in minutes, rounded up."""
        return None if self.seconds is None else math.ceil(self.seconds / 60)


def emergency_minutes(catalogue: Catalogue) -> int:
    """Return how long an emergency visit is planned for: its pattern's tasks and fixed minutes."""
    pattern = catalogue.get(EntryKind.PATTERN, "emergency") or {}
    tasks = [catalogue.task(str(code)) or {} for code in pattern.get("tasks", [])]
    minutes = int(pattern.get("fixed_minutes") or 30) + sum(
        int(task.get("minutes") or 0) for task in tasks
    )
    return math.ceil(minutes / QUARTER) * QUARTER


def candidates(
    actor: Actor, place: Place, minutes: int, skills: Sequence[str] = ()
) -> list[Candidate]:
    """Return all active technicians: who has the most of the skills first, of those the soonest.

    Those of whom nothing is known come last of their kind. Five queries, however many there are.
    """
    people = list(technicians(actor))
    days, held = days_of(actor, people), _skills_of(people)
    found = [
        replace(
            _candidate(user, days[user.pk], place, minutes, actor.at),
            lacks=tuple(code for code in skills if code not in held.get(user.pk, ())),
        )
        for user in people
    ]
    return sorted(
        found,
        key=lambda one: (len(one.lacks), one.seconds is None, one.seconds or 0, str(one.user)),
    )


def _skills_of(people: Sequence[User]) -> dict[UUID, frozenset[str]]:
    """Return the skills of technicians; how somebody wrote them in capitals does not matter."""
    rows = Crew.objects.filter(user__in=people).values_list("user_id", "skills")
    return {pk: frozenset(str(word).casefold() for word in words) for pk, words in rows}


def candidate_of(actor: Actor, user: User, place: Place, minutes: int) -> Candidate:
    """Return one technician as :func:`candidates` has them."""
    return _candidate(user, days_of(actor, [user])[user.pk], place, minutes, actor.at)


def days_of(actor: Actor, people: Sequence[User]) -> dict[UUID, list[Assignment]]:
    """Return today's assignments of technicians in the order of the day, and what is under way."""
    first = timezone.localtime(actor.at).replace(hour=0, minute=0, second=0, microsecond=0)
    rows = (
        Assignment.objects.visible_to(actor)
        .filter(user__in=people, start__gte=first, start__lt=first + dt.timedelta(days=1))
        .exclude(visit__state=State.CALLED_OFF)
        .select_related("visit__place__client")
        .prefetch_related("visit__assignments")
        .order_by("start", "id")
    )
    found: dict[UUID, list[Assignment]] = {user.pk: [] for user in people}
    for row in rows:
        found[row.user_id].append(row)
    return found


def _candidate(
    user: User, day: list[Assignment], place: Place, minutes: int, now: dt.datetime
) -> Candidate:
    whence, here = _whereabouts(day)
    metres, seconds = _drive(here, place)
    drive = UNKNOWN_DRIVE if seconds is None else dt.timedelta(seconds=seconds)
    start = _up(now + drive, 60)
    end = start + dt.timedelta(minutes=minutes)
    leaves = next((row.visit for row in day if row.visit.state == State.UNDER_WAY), None)
    return Candidate(
        user, whence, here, metres, seconds, start, end, leaves, _late(day, place, end, now),
        len(day),
    )  # fmt: skip


def _whereabouts(day: Sequence[Assignment]) -> tuple[str, Place | None]:
    at = next((row.visit for row in day if row.visit.state == State.UNDER_WAY), None)
    if at is not None:
        return AT, at.place
    ended = [row.visit for row in day if row.visit.finished_at is not None]
    if ended:
        return LAST, max(ended, key=lambda visit: visit.finished_at or visit.end).place
    ahead = next((row.visit for row in day if row.visit.state in HOLDING), None)
    return (NEXT, ahead.place) if ahead is not None else (UNKNOWN, None)


def _drive(here: Place | None, there: Place) -> tuple[float | None, int | None]:
    """Return road metres and seconds between two places; None where one is not on the map."""
    if here is None or here.latitude is None or here.longitude is None:
        return None, None
    if there.latitude is None or there.longitude is None:
        return None, None
    straight = great_circle_m((here.latitude, here.longitude), (there.latitude, there.longitude))
    metres = straight * SPEEDS.detour
    return metres, SPEEDS.seconds(metres)


def _late(
    day: Sequence[Assignment], place: Place, end: dt.datetime, now: dt.datetime
) -> tuple[Late, ...]:
    """Return the visits not begun that wait for an emergency, one after the other."""
    found, free, here = [], end, place
    for row in day:
        visit = row.visit
        waits = visit.state in (State.PENCILLED, State.BOOKED) and row.holds
        if not waits or visit.end <= now:
            continue
        shared = len(visit.assignments.all()) > 1
        seconds = _drive(here, visit.place)[1]
        drive = UNKNOWN_DRIVE if seconds is None else dt.timedelta(seconds=seconds)
        there = free + drive
        can = _up(there, GRID) if there > visit.start else visit.start
        if can > visit.start and shared:
            found.append(Late(visit, visit.start, None))
            continue
        if can > visit.start:
            found.append(Late(visit, visit.start, can))
        free, here = can + (visit.end - visit.start), visit.place
    return tuple(found)


def _up(moment: dt.datetime, grid: int) -> dt.datetime:
    """Return the next whole minute, or the next of a grid of seconds."""
    over = moment.timestamp() % grid
    return moment if not over else moment + dt.timedelta(seconds=grid - over)
