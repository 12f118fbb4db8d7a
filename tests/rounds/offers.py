"""Times offered in tests: made, read, picked."""

import datetime as dt

from apps.core.scoping import Actor
from apps.flows import offering
from apps.rounds.models import TimeOffered, TimesOffered
from apps.visits.models import Visit
from tests import factories
from tests.rounds.world import MONDAY, Town

NOW = factories.NOW

H = dt.timedelta(hours=1)

DAY = dt.timedelta(days=1)


def client_of(visit: Visit) -> Actor:
    """Return whoever holds the client's link."""
    return Actor(role="client", at=NOW, client_id=visit.place.client_id)


def pencilled(firm: Town, name: str = "Heron", km: float = 5, hour: float = 9) -> Visit:
    """Return a visit that nobody was told of, on Monday with Ana."""
    built = firm.gardens.get(name) or firm.garden(name, km)
    return firm.pencil(built, MONDAY, hour)


def offered(firm: Town, visit: Visit, **more) -> TimesOffered:
    return offering.offer(visit=visit, by=firm.by, at=NOW, **more)


def times(offer: TimesOffered) -> list[TimeOffered]:
    return list(offer.times.prefetch_related("holds__user"))


def who(time: TimeOffered) -> list:
    return [hold.user for hold in time.holds.all()]


def pick(offer: TimesOffered, number: int = 0, at: dt.datetime = NOW) -> Visit:
    time = times(offer)[number]
    return offering.pick(offer=offer, time_id=time.pk, by=client_of(offer.visit), at=at)
