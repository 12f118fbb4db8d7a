"""A place to look after: a bare system, an office that books, a technician."""

import datetime as dt
from dataclasses import dataclass

import pytest

from apps.accounts.models import User
from apps.care.models import CareTask, VisitDay, VisitDayPlan
from apps.care.services import task_save
from apps.clients.models import Place
from apps.core import outbox
from apps.flows import visit_booking
from apps.flows.visit_days import visit_days_make
from apps.systems.models import System
from apps.visits.models import Visit
from tests import factories

TODAY, NOW = factories.TODAY, factories.NOW  # a Thursday


def on(days: int) -> dt.date:
    return TODAY + dt.timedelta(days=days)


@dataclass
class Yard:
    """A place with a bare system, an office and a technician."""

    place: Place
    system: System
    office: User
    ana: User

    def task(
        self, code: str, due: int, every: int = 365, slack: int = 0, **more: object
    ) -> CareTask:
        values = {
            "system": self.system, "code": code, "mode": "after_done", "every_n": every,
            "anchor": on(due), "minutes": 10, "early_min_days": slack, "early_max_days": slack,
            "late_min_days": slack, "late_max_days": slack,
        }  # fmt: skip
        return task_save(task=CareTask(**(values | more)), at=NOW)

    def book(self, days: int, hour: int = 9) -> Visit:
        start = dt.datetime.combine(on(days), dt.time(hour), dt.UTC)
        actor = factories.actor(self.office)
        visit = visit_booking.pencil(
            place=self.place, systems=[self.system], start=start,
            end=start + dt.timedelta(hours=1), technicians=[self.ana], by=actor, at=NOW,
        )  # fmt: skip
        return visit_booking.step(visit=visit, to="booked", by=actor, at=NOW)

    def plan(self, at: dt.datetime = NOW) -> VisitDayPlan:
        row = visit_days_make(place_id=self.place.pk, at=at)
        assert row is not None
        return row

    @property
    def days(self) -> list[int]:
        held = VisitDay.objects.filter(place=self.place).order_by("on")
        return [(day.on - TODAY).days for day in held]


@pytest.fixture
def yard(db: None, monkeypatch: pytest.MonkeyPatch) -> Yard:
    monkeypatch.setattr(outbox, "poke", lambda *_args: None)
    factories.firm()
    place = factories.place(factories.client("Okafor"))
    system = System.objects.create(place=place, name="Patio", kind="coupled")
    return Yard(place, system, factories.user("office", "office"), factories.user("ana"))
