"""Who could make the booked visits of somebody who is away, each at the time that was promised."""

import datetime as dt
from collections.abc import Iterable
from dataclasses import dataclass, replace
from typing import NamedTuple
from uuid import UUID

from django.utils import timezone

from apps.rounds.choices import Part
from apps.rounds.models import MOST_DAYS, Absence
from apps.rounds.planning.draft import Draft, Offer, draft_of
from apps.rounds.planning.plan import LeftOut, Plan
from apps.rounds.planning.problem import NOON, Problem, Promise, Stop
from apps.rounds.planning.reasons import left_out
from apps.rounds.selectors.axis import seconds_of
from apps.rounds.selectors.facts import NO_VISIT, Facts, facts_of
from apps.rounds.selectors.gathering import laid_out
from apps.rounds.selectors.people import Staff
from apps.rounds.selectors.standing import rounds_standing
from apps.rounds.selectors.stops import Work, skills_of, visit_key
from apps.visits.choices import State
from apps.visits.models import Assignment, Visit


@dataclass(frozen=True)
class DaysWithout:
    """The days of an absence as they are booked, and by stop the visits that lost somebody."""

    first: dt.date
    draft: Draft
    work: dict[str, Work]
    lost: dict[str, Visit]

    @property
    def problem(self) -> Problem:
        """What the days are made of."""
        return self.draft.problem

    def stop_of(self, visit: Visit) -> str | None:
        """Return the stop of a visit that lost somebody; None for any other."""
        return next((name for name, row in self.lost.items() if row.pk == visit.pk), None)

    def offer(self, stop: str, technician: str) -> Offer | None:
        """Return what it costs that somebody makes a stop as the days stand; None: they cannot."""
        shifts = self.problem.shifts
        theirs = [n for n, shift in enumerate(shifts) if shift.technician == technician]
        return self.draft.best(self.problem.by_stop[stop], theirs)


class StandIn(NamedTuple):
    """Somebody who makes a visit instead, and what their round costs and drives more."""

    visit: Visit
    technician: str
    extra: int
    metres: int


def visits_lost(absence: Absence, now: dt.datetime) -> list[Visit]:
    """Return the booked visits still to come that somebody who is away was to make, in order."""
    rows = Visit.objects.filter(
        state=State.BOOKED, start__gt=now, assignments__user=absence.user_id,
        start__date__gte=absence.first, start__date__lte=absence.last,
    ).select_related("place__client").prefetch_related("assignments")  # fmt: skip
    return [visit for visit in rows.order_by("start", "id") if _away_at(absence, visit.start)]


def absences_with_visits(absences: Iterable[Absence], now: dt.datetime) -> list[Absence]:
    """Return the absences of which booked visits wait for somebody else: one query."""
    held = list(absences)
    booked = Assignment.objects.filter(
        visit__state=State.BOOKED, start__gt=now, user_id__in={row.user_id for row in held}
    ).values_list("user_id", "start")  # fmt: skip
    starts = list(booked)
    return [
        row
        for row in held
        if any(
            user == row.user_id
            and row.first <= timezone.localdate(start) <= row.last
            and _away_at(row, start)
            for user, start in starts
        )
    ]


def lacks_hands(visit: Visit) -> bool:
    """Whether somebody who is to make a visit is away then."""
    return bool(visits_lacking([visit]))


def visits_lacking(visits: Iterable[Visit]) -> set[UUID]:
    """Return those visits of which somebody who is to make them is away then: one query.

    One more for each visit whose assignments were not read with it.
    """
    going = {visit: {row.user_id for row in visit.assignments.all()} for visit in visits}
    days = [timezone.localdate(visit.start) for visit in going]
    if not days:
        return set()
    rows = list(Absence.objects.filter(
        user__in=set().union(*going.values()), first__lte=max(days), last__gte=min(days)
    ))  # fmt: skip
    return {
        visit.pk
        for visit, people in going.items()
        if any(
            row.user_id in people
            and row.first <= timezone.localdate(visit.start) <= row.last
            and _away_at(row, visit.start)
            for row in rows
        )
    }


def _away_at(absence: Absence, moment: dt.datetime) -> bool:
    early = seconds_of(timezone.localtime(moment).time()) < NOON
    return absence.part in (Part.WHOLE, Part.MORNING if early else Part.AFTERNOON)


def days_without(
    absence: Absence, visits: Iterable[Visit], on: dt.date, now: dt.datetime
) -> DaysWithout:
    """Return the days of an absence from ``on`` on, a month at most, with the ``visits`` that lost
    somebody free for whoever may make them, at their minute.

    All else stands. Raises ValueError where the settings cannot be meant.
    """
    first = max(absence.first, on)
    days = min(max((absence.last - first).days + 1, 1), MOST_DAYS)
    facts = facts_of(first, days, on, now=now, asked=NO_VISIT)
    problem, made, _notes, _shifts = laid_out(facts)
    rounds, crowded = rounds_standing(problem, made)
    lost = _lost(problem, absence, visits)
    stops = tuple(
        _freed(facts, stop, made.planned[stop.id].work, lost[stop.id]) if stop.id in lost else stop
        for stop in problem.stops
    )
    shifts = tuple(s for s in problem.shifts if (s.technician, s.day) not in crowded)
    rest = replace(problem, stops=stops, shifts=shifts)
    draft = draft_of(rest, Plan(tuple(rounds), (), 0, 0, False, "as it stands"))
    return DaysWithout(first, draft, {name: row.work for name, row in made.planned.items()}, lost)


def _lost(problem: Problem, absence: Absence, visits: Iterable[Visit]) -> dict[str, Visit]:
    """Return the visits by the stop that the absent one was to make."""
    away, found = str(absence.user_id), {}
    for visit in visits:
        key = visit_key(visit.pk)
        for stop in problem.stops:
            is_of_visit = stop.id == key or stop.id.startswith(f"{key}/")
            if is_of_visit and stop.promise is not None and away in stop.promise.technicians:
                found[stop.id] = visit
    return found


def _freed(facts: Facts, stop: Stop, work: Work, visit: Visit) -> Stop:
    """Return a stop for whoever has what it needs, at the promised time.

    The skills of a colleague who comes along do; a place with suspected disease stays the last of
    a day, one to which live fish go the first.
    """
    if stop.promise is None:
        raise AssertionError(f"{stop.id} is booked, so it has its time")
    on = timezone.localdate(visit.start)
    skills = skills_of(facts, work.systems, on)
    others = [str(row.user_id) for row in visit.assignments.all()]
    if any(skills <= _skills(facts.staff, name) for name in others
           if name not in stop.promise.technicians):  # fmt: skip
        skills = frozenset()
    return replace(
        stop, promise=Promise(stop.promise.window), skills=skills,
        last_of_day=any(pk in facts.sick for pk in work.systems),
        first_of_day=any(facts.fish.get(pk) == on for pk in work.systems),
    )  # fmt: skip


def _skills(staff: Staff, name: str) -> frozenset[str]:
    crew = staff.crews.get(name)
    return frozenset(crew.skills if crew else ())


def stand_ins(days: DaysWithout) -> tuple[list[StandIn], list[LeftOut]]:
    """Return who makes each visit for the least that their rounds cost more, and what nobody can.

    One visit at a time, the cheapest first or the one that the fewest can make first, whichever
    serves more visits for less.
    """
    tries = [_shared_out(days, scarce) for scarce in (False, True)]
    draft, taken = max(tries, key=lambda made: (len(made[1]), -made[0].cost))
    lines = [
        StandIn(visit, days.problem.shifts[offer.seats[0].shift].technician,
                offer.seats[0].fit.extra, offer.seats[0].fit.metres)
        for name, visit in days.lost.items()
        if (offer := taken.get(name)) is not None
    ]  # fmt: skip
    return lines, [row for row in left_out(draft) if row.stop in days.lost]


def _shared_out(days: DaysWithout, scarce: bool) -> tuple[Draft, dict[str, Offer]]:
    draft, taken = days.draft.copy(), dict[str, Offer]()
    waiting = [days.problem.by_stop[name] for name in days.lost]
    while True:
        found = {
            stop.id: offers
            for stop in waiting
            if stop.id not in taken and (offers := list(draft.offers(stop)))
        }
        if not found:
            return draft, taken
        ordered = sorted(
            (len(offers) if scarce else 0, offer.seats[0].fit.extra, name, offer.seats[0].shift)
            for name, offers in found.items()
            for offer in offers
        )
        _count, _extra, name, shift = ordered[0]
        offer = next(one for one in found[name] if one.seats[0].shift == shift)
        draft.take(name, offer)
        taken[name] = offer
