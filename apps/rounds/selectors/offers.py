"""Times to offer to a client: the calendar as it stands is the plan, and one visit is looked for."""

import datetime as dt
from collections.abc import Iterable
from dataclasses import dataclass, replace
from uuid import UUID

from django.db.models import QuerySet

from apps.accounts.models import User
from apps.clients.models import Place
from apps.rounds.choices import OfferState
from apps.rounds.models import MOST_DAYS, RoundPlan, TimesOffered
from apps.rounds.planning.insertion import STEP, Slot, slots
from apps.rounds.planning.plan import Plan
from apps.rounds.planning.problem import Problem, Window
from apps.rounds.selectors.axis import moment_of
from apps.rounds.selectors.facts import Facts, facts_of, settings_current
from apps.rounds.selectors.gathering import laid_out
from apps.rounds.selectors.kept import Note
from apps.rounds.selectors.shown import PlanShown
from apps.rounds.selectors.standing import plan_standing, rounds_standing
from apps.rounds.selectors.stops import Work, visit_key
from apps.visits.choices import Answer
from apps.visits.models import Visit

ANSWERING_DAYS = 1
"""How many days at least the client has before the first day offered is settled."""


def visits_offered() -> set[UUID]:
    """Return the visits for which times are offered now: one query."""
    rows = TimesOffered.objects.filter(state=OfferState.OPEN)
    return set(rows.values_list("visit_id", flat=True))


def visits_asked_anew(visits: Iterable[Visit]) -> set[UUID]:
    """Return those visits whose clients want another time and were offered some: one query."""
    wished = [visit.pk for visit in visits if visit.client_answer == Answer.OTHER_TIME]
    rows = TimesOffered.objects.filter(visit__in=wished)
    return set(rows.values_list("visit_id", flat=True))


@dataclass(frozen=True)
class AsItStands:
    """The days to come as they are booked, without the visit ``stop`` that times are looked for."""

    first: dt.date
    problem: Problem
    plan: Plan
    stop: str
    work: dict[str, Work]
    notes: tuple[Note, ...]
    latest: int | None

    @property
    def length(self) -> dt.timedelta:
        """How long the visit takes."""
        return dt.timedelta(seconds=self.problem.by_stop[self.stop].on_site)

    def late(self, day: int) -> bool:
        """Whether a day lies after the care of the visit was due at the latest."""
        return self.latest is not None and day > self.latest


@dataclass(frozen=True)
class Time:
    """A time that could be offered: of the visit, of the window to tell, and what it costs.

    `extra` counts ten-thousandths of the firm's currency. `late`: the care is late by then.
    """

    start: dt.datetime
    end: dt.datetime
    told_from: dt.datetime
    told_until: dt.datetime
    technicians: tuple[str, ...]
    extra: int
    metres: int
    late: bool

    @property
    def key(self) -> str:
        """What names this time among the others: when, and who."""
        start = self.start.astimezone(dt.UTC)
        return f"{start:%Y-%m-%dT%H:%MZ}/{'+'.join(sorted(self.technicians))}"


def times_ahead(
    visit: Visit, on: dt.date, now: dt.datetime, count: int
) -> tuple[AsItStands, list[Time]]:
    """Return the cheapest times for a visit in the days that the firm plans ahead, and those days.

    Where they have no room for so many, it is looked further ahead, up to a month. Raises
    ValueError where the settings cannot be meant.
    """
    days = settings_current().days_ahead
    while True:
        stands = as_it_stands(visit, on, now, days)
        times = times_of(stands, count)
        if len(times) >= count or days >= MOST_DAYS:
            return stands, times
        days = min(2 * days, MOST_DAYS)


def as_it_stands(visit: Visit, on: dt.date, now: dt.datetime, days: int) -> AsItStands:
    """Return some days in which times can be offered for a visit, as they are booked.

    They begin once the frozen days are over and a day is left for the answer. Nothing that stands
    or is held for another client moves. Raises ValueError where the settings cannot be meant.
    """
    first = on + dt.timedelta(days=settings_current().frozen_days + ANSWERING_DAYS)
    facts = facts_of(first, days, on, now=now, asked=visit.pk)
    problem, made, notes, _shifts = laid_out(facts)
    rounds, crowded = rounds_standing(problem, made)
    # what is booked there cannot be driven, so nothing more is offered into that day
    shifts = tuple(s for s in problem.shifts if (s.technician, s.day) not in crowded)
    rest = replace(problem, shifts=shifts)
    work = {name: row.work for name, row in made.planned.items()}
    return AsItStands(
        first,
        rest,
        plan_standing(rest, rounds),
        visit_key(visit.pk),
        work,
        notes,
        _latest(facts, visit),
    )


def _latest(facts: Facts, visit: Visit) -> int | None:
    """Return the last day on which the care of a visit is not late yet; None where none has a date."""
    systems = [sheet.system_id for sheet in visit.sheets.all()]
    tasks = [task for pk in systems for task in facts.tasks.get(pk, ())]
    dates = [task.next_late or task.next_due for task in tasks]
    dates += [facts.soon.get(pk) for pk in systems]
    known = [day for day in dates if day is not None]
    return (min(known) - facts.first).days if known else None


def times_of(stands: AsItStands, count: int) -> list[Time]:
    """Return the cheapest times for the visit, soonest first, each on a day of its own.

    Those before its care is late come first; only where they are too few, later ones are taken too.
    """
    stop = stands.problem.by_stop[stands.stop]
    timely = tuple(window for window in stop.windows if not stands.late(window.day))
    found = _slots(stands, timely, count)
    days = {slot.day for slot in found}
    if len(found) < count:
        later = tuple(w for w in stop.windows if w not in timely and w.day not in days)
        found += _slots(stands, later, count - len(found))
    return [_time(stands, slot) for slot in sorted(found, key=lambda slot: slot.start)]


def _slots(stands: AsItStands, windows: tuple[Window, ...], count: int) -> list[Slot]:
    """Return the cheapest slots of the visit within some windows alone."""
    if not windows:
        return []
    stops = tuple(
        replace(stop, windows=windows) if stop.id == stands.stop else stop
        for stop in stands.problem.stops
    )
    return slots(replace(stands.problem, stops=stops), stands.plan, stands.stop, count)


def _time(stands: AsItStands, slot: Slot) -> Time:
    start, stop = moment_of(stands.first, slot.start), stands.problem.by_stop[stands.stop]
    open_then = next(w for w in stop.windows if w.start <= slot.start <= w.end)
    told = told_of(open_then, slot.start, stop.on_site, stands.problem.settings.offer)
    return Time(
        start, start + stands.length, moment_of(stands.first, told.start),
        moment_of(stands.first, told.end), slot.technicians, slot.extra, slot.metres,
        stands.late(slot.day),
    )  # fmt: skip


def told_of(window: Window, start: int, on_site: int, length: int) -> Window:
    """Return what a client is told: ``length`` [s] from the half-hour on in which the work begins.

    The time itself is settled, so the window need only lie within the hours in which somebody may
    be there: from when ``window`` opens until work begun at its end is done.

    >>> told_of(Window(28800, 53700), 37200, 3600, 7200)  # 10:20: 10:00 to 12:00
    Window(start=36000, end=43200)
    >>> told_of(Window(28800, 53700), 53700, 3600, 7200)  # 14:55, gone by 15:55: 13:30 to 15:30
    Window(start=48600, end=55800)
    """
    closes = window.end + on_site
    latest = closes - length
    begin = max(min(start - start % STEP, latest - latest % STEP), window.start)
    return Window(begin, min(begin + length, closes))


def shown(stands: AsItStands, visit: Visit) -> PlanShown:
    """Return the days as they stand with what their ids are called, for their notes in words."""
    row = RoundPlan(first=stands.first, days=1)
    places = {item.place for item in stands.work.values()} | {visit.place_id}
    users = {shift.technician for shift in stands.problem.shifts}
    people = User.objects.in_bulk([UUID(name) for name in users])
    return PlanShown(
        row, stands.plan, stands.problem, stands.work, Place.objects.in_bulk(places), {},
        {str(pk): str(user) for pk, user in people.items()},
    )  # fmt: skip


def offers_of(visit: Visit) -> QuerySet[TimesOffered]:
    """Return what was offered for a visit, the latest first, with its times and who would come."""
    return (
        TimesOffered.objects.filter(visit=visit)
        .prefetch_related("times__holds__user")
        .order_by("-made_at", "id")
    )
