"""What tests of calls for help share."""

import datetime as dt
import re
from typing import Any
from uuid import uuid4

from apps.accounts.models import User
from apps.flows import visit_booking
from apps.incidents.models import Incident
from apps.systems.models import System
from apps.visits.models import Visit
from tests import factories
from tests.office.conftest import Desk

NOW = factories.NOW


def text(answer: Any) -> str:
    return re.sub(r"\s+", " ", str(answer.content.decode()))


def mapped(desk: Desk, latitude: float = 51.5, longitude: float = -0.1) -> None:
    desk.place.latitude, desk.place.longitude = latitude, longitude
    desk.place.save()


def elsewhere(name: str, latitude: float | None, longitude: float | None = -0.1) -> System:
    """Another household's system, on the map."""
    owner = factories.client(name)
    where = {"latitude": latitude, "longitude": longitude if latitude is not None else None}
    return factories.system(factories.place(owner, **where), f"{name} pond").system


def busy(
    desk: Desk, system: System, user: User, start: dt.datetime, state: str = "booked"
) -> Visit:
    """Book a visit for somebody; under way where that is said."""
    visit = desk.pencil(start=start, place=system.place, systems=[system], technicians=[user])
    for to in ("booked", "under_way")[: 1 if state == "booked" else 2]:
        visit = visit_booking.step(visit=visit, to=to, by=desk.actor, at=NOW)
    return visit


def at(minutes: int) -> dt.datetime:
    return NOW + dt.timedelta(minutes=minutes)


def do(desk: Desk, incident: Incident, what: str, note: str = "", **more: Any) -> Any:
    data = {"do": what, "text": note, "key": str(uuid4())} | more
    return desk.post("incident", incident.pk, **data)
