"""From what the database holds to what the planner plans."""

import datetime as dt
from collections.abc import Collection, Mapping
from dataclasses import dataclass, replace
from uuid import UUID

from django.utils import timezone

from apps.rounds.choices import Kind
from apps.rounds.planning.plan import Plan
from apps.rounds.planning.problem import (
    MONEY,
    Costs,
    Place,
    Problem,
    Settings,
    Shift,
    Travel,
    whole,
)
from apps.rounds.selectors.basis import fingerprint
from apps.rounds.selectors.facts import Facts, facts_of
from apps.rounds.selectors.kept import Kept, Note, kept
from apps.rounds.selectors.people import base_of, homes, shifts_of
from apps.rounds.selectors.roads import roads, unmeasured
from apps.rounds.selectors.stops import Frame, Work, place_key, stops_of
from apps.rounds.selectors.worth import late_by


@dataclass(frozen=True)
class Gathered:
    """A problem for the planner, what each of its stops is, and what the office should know.

    ``holding``: visits that may be moved, can be driven to and hold somebody's time in these days.
    """

    first: dt.date
    days: int
    problem: Problem
    work: Mapping[str, Work]
    notes: tuple[Note, ...]
    basis: str
    holding: frozenset[UUID]


def gather(
    first: dt.date,
    days: int,
    on: dt.date,
    settled: Collection[UUID] = frozenset(),
    travel: Travel | None = None,
    now: dt.datetime | None = None,
) -> Gathered:
    """Return the problem of planning ``days`` days from ``first`` on, as of the day ``on``.

    Visits pencilled in and untold may be moved; all others stand where they are, as does every
    visit of a frozen day and those in ``settled``. Places with systems that are due and have no
    visit are stops as well. ``travel``: what driving takes, where that is known already; ``now``:
    before it nothing new begins.
    Raises ValueError where the settings cannot be meant.
    """
    facts = facts_of(first, days, on, settled, now)
    problem, made, notes, shifts = laid_out(facts, travel)
    work = {
        name: replace(row.work, late=late_by(facts, row.work.systems))
        for name, row in made.planned.items()
    }
    basis = _basis(facts, shifts, work, facts.frozen)
    holding = frozenset(
        visit.pk
        for visit in facts.visits
        if facts.kind(visit) == Kind.MOVABLE
        and not facts.overdue(visit)
        and place_key(visit.place_id) in problem.travel.index
    )
    return Gathered(first, days, problem, work, notes, basis, holding)


def laid_out(
    facts: Facts, travel: Travel | None = None
) -> tuple[Problem, Kept, tuple[Note, ...], list[Shift]]:
    """Return the problem that facts make, what was done so that all fits, notes, plain shifts."""
    costs = Costs.of(facts.settings.per_km, facts.settings.per_hour)
    shifts = _shifts(facts, costs)
    places, assumed = _places(facts)
    travel = travel or roads(places, facts.settings)
    frame = Frame(facts, shifts, travel, costs)
    made = kept(frame, stops_of(frame))
    problem = Problem(
        tuple(places), tuple(row.stop for row in made.planned.values()),
        tuple(sorted(made.shifts.values(), key=lambda shift: (shift.day, shift.technician))),
        travel, costs,
        Settings(
            sticky=whole(facts.settings.keeping_a_day * MONEY), frozen_days=facts.frozen,
            own_area=whole(facts.settings.area_technician * MONEY),
        ),
    )  # fmt: skip
    notes = [Note("base_assumed")] if assumed else []
    notes += [*unmeasured(travel), *made.notes]
    return problem, made, tuple(notes), shifts


def basis_now(
    first: dt.date, days: int, on: dt.date, work: Mapping[str, Work], frozen: Collection[int]
) -> str:
    """Return the fingerprint of a plan's basis as it is now; another one tells that it is stale.

    ``work`` and ``frozen`` are those of the plan.
    """
    facts = facts_of(first, days, on)
    costs = Costs.of(facts.settings.per_km, facts.settings.per_hour)
    return _basis(facts, _shifts(facts, costs), work, frozen)


def _shifts(facts: Facts, costs: Costs) -> list[Shift]:
    return shifts_of(facts.staff, facts.first, facts.days, facts.firm, facts.settings, costs)


def _places(facts: Facts) -> tuple[list[Place], bool]:
    """Return base, homes and the places of all stops; and whether the base is assumed."""
    stops = [
        Place(place_key(row.pk), row.latitude, row.longitude)
        for row in sorted(facts.places.values(), key=lambda row: str(row.pk))
    ]
    base, assumed = base_of(facts.settings, stops)
    return [base, *homes(facts.staff), *stops], assumed


def _basis(
    facts: Facts, shifts: list[Shift], work: Mapping[str, Work], frozen: Collection[int]
) -> str:
    """Return the fingerprint of what a plan may change: nothing of its frozen days."""
    due = {pk for row in work.values() if row.kind == Kind.DUE for pk in row.systems}
    moved = {row.visit for row in work.values() if row.kind == Kind.MOVABLE}
    free = set(range(facts.days)) - set(frozen)
    visits = [
        visit
        for visit in facts.visits
        for day in (_day_of(facts, visit.start),)
        if day in free or (visit.pk in moved and day not in frozen)
    ]
    held = [row for row in facts.held if _day_of(facts, row.start) in free]
    return fingerprint(visits, [shift for shift in shifts if shift.day in free], due, held)


def _day_of(facts: Facts, moment: dt.datetime) -> int:
    return (timezone.localdate(moment) - facts.first).days


def stuck(gathered: Gathered, plan: Plan) -> set[UUID]:
    """Return the visits that hold somebody's time in these days and got no place in a plan.

    They must stay where they are: nobody else may be planned into their time.
    """
    visits = {gathered.work[left.stop].visit for left in plan.left_out}
    return {pk for pk in gathered.holding if pk in visits}
