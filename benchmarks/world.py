"""A small world to measure in."""

import datetime as dt
from typing import Any
from uuid import uuid4

from apps.accounts.models import User
from apps.accounts.services import token_issue
from apps.catalogue.selectors import catalogue_current
from apps.core import clock
from apps.flows import visit_booking, visit_closing
from apps.office.api.shapes import visit_shape
from apps.reports.services.reports import version_prepare
from apps.visits.models import Visit
from apps.visits.selectors import visits_full
from tests import factories
from tests.api.conftest import GOOD, submission


class World:
    """One system; visits to it on as many days as asked."""

    def __init__(self) -> None:
        factories.NOW = clock.now()
        factories.firm()
        self.office = factories.user("office", "office")
        self.actor = factories.actor(self.office, factories.NOW)
        self.ana: User = factories.user("ana")
        self.built = factories.system(factories.place(factories.client("Bench")))
        self.token = token_issue(user=self.office, name="bench", at=factories.NOW)
        self.number = 0

    def visit(self) -> Visit:
        """Book one more visit."""
        self.number += 1
        start = factories.NOW - dt.timedelta(hours=2 * self.number)
        visit = visit_booking.pencil(
            place=self.built.system.place, systems=[self.built.system], start=start,
            end=start + dt.timedelta(hours=1), technicians=[self.ana], by=self.actor,
            at=factories.NOW,
        )  # fmt: skip
        return visit_booking.step(visit=visit, to="booked", by=self.actor, at=factories.NOW)

    def body(self, visit: Visit) -> dict[str, Any]:
        """Return a whole submission for it."""
        row = visits_full(Visit.objects.filter(pk=visit.pk)).get()
        shape = visit_shape(row, catalogue_current())
        return submission(shape, self.built, **{**GOOD, "alk": 27, "no2": 0.6})


def written_up() -> dict[str, Any]:
    """Return the snapshot of a written-up visit."""
    world = World()
    visit = world.visit()
    visit_closing.submit(
        visit=visit, body=world.body(visit), key=str(uuid4()), by=world.actor, at=factories.NOW
    )
    visit.refresh_from_db()
    sheet = visit.sheets.select_related("system__place__client").get()
    sheet.visit = visit
    return version_prepare(sheet, reason="", at=factories.NOW)[1]
