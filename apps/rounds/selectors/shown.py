"""A plan of rounds with the names of its places, systems and people: a few queries a plan."""

import datetime as dt
from dataclasses import dataclass, field
from uuid import UUID

from apps.accounts.models import User
from apps.clients.models import Place
from apps.rounds.codec import plan_of, problem_of, work_of
from apps.rounds.models import RoundPlan
from apps.rounds.planning.plan import Plan
from apps.rounds.planning.problem import Problem, Stop
from apps.rounds.selectors import Work
from apps.systems.models import System


@dataclass(frozen=True)
class PlanShown:
    """A stored plan read back, with what its ids are called."""

    row: RoundPlan
    plan: Plan | None
    problem: Problem | None
    work: dict[str, Work] = field(default_factory=dict)
    places: dict[UUID, Place] = field(default_factory=dict)
    systems: dict[UUID, System] = field(default_factory=dict)
    people: dict[str, str] = field(default_factory=dict)

    def day(self, number: int) -> dt.date:
        """Return a day of the plan by its number, the first 0."""
        return self.row.first + dt.timedelta(days=number)

    def person(self, name: str) -> str:
        """Return how a technician is called."""
        return self.people.get(name, name)

    def place(self, stop: str) -> str:
        """Return how a stop's place is called."""
        work = self.work.get(stop)
        row = self.places.get(work.place) if work else None
        return row.name if row else stop

    def systems_at(self, stop: str) -> list[System]:
        """Return the systems that a stop is for, by name."""
        work = self.work.get(stop)
        rows = [self.systems[pk] for pk in work.systems if pk in self.systems] if work else []
        return sorted(rows, key=lambda row: (row.name, str(row.pk)))

    def stop(self, name: str) -> Stop | None:
        """Return a stop as it was planned."""
        return self.problem.by_stop.get(name) if self.problem else None


def plan_shown(row: RoundPlan) -> PlanShown:
    """Return a plan with its names; without rounds while it is being made."""
    if row.plan is None or row.problem is None:
        return PlanShown(row, None, None)
    problem, work = problem_of(row.problem), work_of(row.work)
    names = {shift.technician for shift in problem.shifts}
    for stop in problem.stops:
        names |= set(stop.promise.technicians if stop.promise else ())
        names |= set(stop.former.technicians if stop.former else ())
    users = User.objects.in_bulk([UUID(name) for name in names])
    places = Place.objects.select_related("client").in_bulk({item.place for item in work.values()})
    systems = System.objects.in_bulk({pk for item in work.values() for pk in item.systems})
    people = {str(pk): str(user) for pk, user in users.items()}
    return PlanShown(row, plan_of(row.plan), problem, work, places, systems, people)
