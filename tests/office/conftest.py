"""The office at its desk: a signed-in browser, a small firm, a clock that stands."""

import datetime as dt
from dataclasses import dataclass
from typing import Any
from uuid import uuid4

import pytest
from django.test import Client as Browser
from django.urls import reverse

from apps.accounts.models import User
from apps.advice.services import standing_refresh
from apps.core import clock, outbox
from apps.core.scoping import Actor
from apps.flows import visit_booking, visit_closing
from apps.incidents.models import Incident
from apps.incidents.services import incident_open
from apps.reports.models import ReportVersion
from apps.reports.services.reports import version_keep, version_prepare
from apps.visits.models import Sheet, Visit
from tests import factories

PDF = b"%PDF-1.7 a report"


@pytest.fixture(autouse=True)
def standing_clock(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(clock, "now", lambda: factories.NOW)


@pytest.fixture(autouse=True)
def no_broker(monkeypatch: pytest.MonkeyPatch) -> None:
    """Nothing is woken: what the office sees is what it wrote."""
    monkeypatch.setattr(outbox, "poke", lambda *_args: None)


@dataclass
class Desk:
    """The office, its firm and one household's system."""

    browser: Browser
    office: User
    ana: User
    marek: User
    built: factories.Built

    @property
    def actor(self) -> Actor:
        """The office as an actor."""
        return factories.actor(self.office)

    @property
    def place(self) -> Any:
        """The household's place."""
        return self.built.system.place

    def get(self, page: str, /, *args: Any, **query: str) -> Any:
        """Show a page."""
        return self.browser.get(reverse(f"office:{page}", args=args), query)

    def post(self, page: str, /, *args: Any, **data: Any) -> Any:
        """Send a form."""
        return self.browser.post(reverse(f"office:{page}", args=args), data)

    def pencil(self, start: dt.datetime | None = None, **more: Any) -> Visit:
        """Pencil a visit in."""
        values = {
            "place": self.place, "systems": [self.built.system], "technicians": [self.ana],
            "start": start or factories.NOW + dt.timedelta(days=1), "by": self.actor,
            "at": factories.NOW,
        }  # fmt: skip
        values |= more
        values.setdefault("end", values["start"] + dt.timedelta(minutes=60))
        return visit_booking.pencil(**values)

    def booked(self, **more: Any) -> Visit:
        """Book a visit; the client is asked."""
        visit = self.pencil(**more)
        return visit_booking.step(visit=visit, to="booked", by=self.actor, at=factories.NOW)

    def written_up(self, **values: tuple[float, str]) -> Visit:
        """Carry a visit out with some readings."""
        began = factories.NOW - dt.timedelta(hours=2)
        visit = self.booked(start=began)
        sheet = visit.sheets.get()
        readings = [
            factories.reading(self.built, name, value, unit, checked_twice=True)
            for name, (value, unit) in (values or {"ph": (6.9, ""), "temp": (27.5, "°C")}).items()
        ]
        body = {
            "started_at": began.isoformat(), "finished_at": factories.NOW.isoformat(),
            "finish": True,
            "sheets": [
                {
                    "system": str(self.built.system.pk), "readings": readings,
                    "lines": [
                        {"id": str(line.pk), "outcome": "done", "minutes": 3}
                        for line in sheet.lines.all()
                    ],
                    "findings": [{"id": str(uuid4()), "text": "Slugs on two leaves."}],
                }
            ],
        }  # fmt: skip
        by = factories.actor(self.ana)
        visit_closing.submit(visit=visit, body=body, key=str(uuid4()), by=by, at=factories.NOW)
        visit.refresh_from_db()
        return visit

    def drawn(self, visit: Visit, reason: str = "") -> ReportVersion:
        """Keep a version of a visit's report, as the worker would."""
        sheet = (
            Sheet.objects.select_related("system__place__client", "visit__place")
            .filter(visit=visit)
            .get()
        )
        report, snapshot = version_prepare(sheet, reason=reason, at=factories.NOW)
        return version_keep(report, snapshot, PDF, reason=reason, by="worker", at=factories.NOW)

    def more_systems(self, count: int = 3) -> list[factories.Built]:
        """Add households, each with a system that is due."""
        made = []
        for number in range(count):
            owner = factories.client(f"More{uuid4().hex[:6]}")
            built = factories.system(
                factories.place(owner, area=f"Area {number}"), f"More {number}"
            )
            made.append(built)
        refresh(*(built.system.pk for built in made))
        return made


def refresh(*ids: Any) -> None:
    """Bring the standing of systems up to date."""
    standing_refresh(ids, factories.NOW)


@pytest.fixture
def empty(db: None) -> Desk:
    """The office of a firm without clients."""
    factories.firm()
    office = factories.user("office", "office")
    browser = Browser()
    browser.force_login(office)
    ana, marek = factories.user("ana"), factories.user("marek")
    return Desk(browser, office, ana, marek, None)  # type: ignore[arg-type]


@pytest.fixture
def desk(empty: Desk) -> Desk:
    """The office of a firm with one household."""
    owner = factories.client("Okafor")
    built = factories.system(factories.place(owner, area="Oldferry"))
    refresh(built.system.pk)
    empty.built = built
    return empty


@pytest.fixture
def incident(desk: Desk) -> Incident:
    return incident_open(system=desk.built.system, kind="gasping", by=desk.actor, at=factories.NOW)
