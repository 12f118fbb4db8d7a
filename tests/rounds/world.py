"""A small firm whose rounds are planned: a base, two technicians, gardens around it."""

import datetime as dt
from dataclasses import dataclass, field
from typing import Any

from apps.accounts.models import User
from apps.care.models import CareTask, Standing
from apps.core.scoping import Actor
from apps.flows import visit_booking
from apps.flows.rounds import plan_now
from apps.rounds.models import PlanningSettings, RoundPlan
from apps.rounds.planning.effort import Effort
from apps.visits.models import Visit
from tests import factories

TODAY = factories.TODAY  # a Thursday
MONDAY = dt.date(2026, 6, 15)
BASE = (50.50, 4.50)
EFFORT = Effort(iterations=40)


@dataclass
class Town:
    """The firm with its people, and the gardens that were added to it."""

    office: User
    ana: User
    marek: User
    by: Actor
    gardens: dict[str, factories.Built] = field(default_factory=dict)

    def garden(self, name: str, north_km: float = 2.0, **more: Any) -> factories.Built:
        """Add a client with one quiet system, so many kilometres north of the base."""
        values = {"latitude": BASE[0] + north_km / 111.2, "longitude": BASE[1]} | more
        place = factories.place(factories.client(name), name=f"{name}'s garden", **values)
        built = factories.system(place, f"{name}'s system")
        calm(built)
        self.gardens[name] = built
        return built

    def pencil(
        self, built: factories.Built, day: dt.date, hour: float, *people: User, minutes: int = 60
    ) -> Visit:
        """Pencil a visit in at an hour of a day."""
        start = dt.datetime.combine(day, dt.time(), dt.UTC) + dt.timedelta(hours=hour)
        return visit_booking.pencil(
            place=built.system.place, systems=[built.system], start=start,
            end=start + dt.timedelta(minutes=minutes), technicians=list(people) or [self.ana],
            by=self.by, at=factories.NOW,
        )  # fmt: skip

    def book(self, visit: Visit) -> Visit:
        """Book a visit that was pencilled in."""
        return visit_booking.step(visit=visit, to="booked", by=self.by, at=factories.NOW)

    def plan(self, first: dt.date = MONDAY, days: int = 1, **more: Any) -> RoundPlan:
        """Plan some days here and now."""
        return plan_now(
            first=first, days=days, effort=EFFORT, today=TODAY, by=self.by, at=factories.NOW, **more
        )


def town() -> Town:
    """Return the firm: Ana and Marek start from the base."""
    factories.firm()
    PlanningSettings.objects.create(id=1, base_latitude=BASE[0], base_longitude=BASE[1])
    office, ana, marek = (
        factories.user("office", "office"), factories.user("ana"), factories.user("marek"),
    )  # fmt: skip
    return Town(office, ana, marek, factories.actor(office))


def calm(built: factories.Built) -> None:
    """Let a system want nobody."""
    factories.quiet(built)
    Standing.objects.update_or_create(
        system=built.system,
        defaults={"due_from": None, "due_by": None, "late_a_from": None, "fixed_class": 9},
    )


def wants(
    built: factories.Built, due: dt.date, *, early: int = 2, late: int = 2, **more: Any
) -> CareTask:
    """Let a system want one task around a day, as its standing then says."""
    task = CareTask.objects.filter(system=built.system).order_by("code").first()
    assert task is not None
    values = {
        "next_open": due - dt.timedelta(days=early), "next_due": due,
        "next_late": due + dt.timedelta(days=late), "who": "technician", **more,
    }  # fmt: skip
    CareTask.objects.filter(pk=task.pk).update(**values)
    Standing.objects.filter(system=built.system).update(due_from=due, due_by=values["next_late"])
    task.refresh_from_db()
    return task
