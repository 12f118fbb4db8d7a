"""Two technicians, two clients, and a reader of calendars by address."""

import datetime as dt
from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Any

import pytest
from django.http import HttpResponse
from django.test import Client as Browser

from apps.accounts.models import CalendarFeed, User
from apps.accounts.services import feed_issue
from apps.clients.models import Contact
from apps.core import clock, outbox
from apps.flows import visit_booking
from apps.visits.models import Visit
from tests import factories
from tests.calendars.grammar import Part, read


@dataclass
class World:
    """The cast; `now` is what time it is."""

    office: User
    ana: User
    marek: User
    mine: factories.Built
    other: factories.Built
    now: dt.datetime = factories.NOW
    secrets: dict[str, str] = field(default_factory=dict)

    def book(self, built: factories.Built, days: float = 1, who: User | None = None) -> Visit:
        """Pencil a visit of an hour in."""
        start = self.now + dt.timedelta(days=days)
        return visit_booking.pencil(
            place=built.system.place, systems=[built.system], technicians=[who or self.ana],
            start=start, end=start + dt.timedelta(hours=1), by=self.by, at=self.now,
        )  # fmt: skip

    def step(self, visit: Visit, to: str, reason: str = "") -> Visit:
        """Bring a visit to a state as the office does."""
        return visit_booking.step(visit=visit, to=to, by=self.by, at=self.now, reason=reason)

    @property
    def by(self) -> Any:
        """The office as an actor now."""
        return factories.actor(self.office, self.now)

    def answer(self, whose: str, **headers: str) -> HttpResponse:
        """Return what the address of somebody's calendar answers."""
        named = {key.replace("_", "-"): value for key, value in headers.items()}
        return Browser().get(f"/calendar/{self.secrets[whose]}.ics", headers=named)

    def read(self, whose: str) -> Part:
        """Return somebody's calendar, its grammar looked at."""
        answer = self.answer(whose)
        assert answer.status_code == 200
        return read(answer.content)

    def feed(self, whose: str) -> CalendarFeed:
        """Return the row of somebody's calendar."""
        from apps.accounts.services import digest_of

        return CalendarFeed.objects.get(digest=digest_of(self.secrets[whose]))


@pytest.fixture
def world(db: None, monkeypatch: pytest.MonkeyPatch) -> World:
    """Ana, and the client Okafor, have a calendar each; so has Okafor's contact."""
    factories.firm()
    world = World(
        factories.user("office", "office"), factories.user("ana"), factories.user("marek"),
        factories.system(
            factories.place(
                factories.client("Okafor"), gate_code="4711", access_notes="key under the SECRET pot",
                latitude=50.85, longitude=4.35,
            ),
            "Back garden",
        ),
        factories.system(factories.place(factories.client("Halloran")), "Patio"),
    )  # fmt: skip
    monkeypatch.setattr(clock, "now", lambda: world.now)
    monkeypatch.setattr(outbox, "poke", lambda *_args: None)
    client_id = world.mine.system.place.client_id
    issue: Callable[..., str] = feed_issue
    world.secrets = {
        "ana": issue(user=world.ana, at=world.now, by=world.by),
        "client": issue(client_id=client_id, at=world.now, by=world.by),
        "contact": issue(
            client_id=client_id, contact_id=Contact.objects.get(client_id=client_id).pk,
            at=world.now, by=world.by,
        ),
    }  # fmt: skip
    return world
