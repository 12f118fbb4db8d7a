"""Times offered to a client: found in the rounds as they stand, held, picked, let go."""

import datetime as dt
from dataclasses import replace
from uuid import uuid4

import pytest
from django.db import IntegrityError, transaction
from django.utils import timezone

from apps.clients.models import Client, Contact, Place, VisitingHours
from apps.core import outbox
from apps.core.exceptions import Invalid
from apps.core.scoping import Actor
from apps.flows import offering, visit_booking
from apps.flows.rounds import plan_accept, stale
from apps.reports.models import Letter
from apps.rounds.codec import plan_of
from apps.rounds.exceptions import NoOffer, OfferEnded, PlanStale, TimeGone, TimeHeld
from apps.rounds.models import Hold, PlanningSettings, TimeOffered, TimesOffered, WorkingHours
from apps.rounds.planning.checker import violations
from apps.rounds.planning.changes import moved
from apps.rounds.selectors import gather
from apps.rounds.selectors.offers import as_it_stands, times_of
from apps.rounds.services import absence_add
from apps.visits.models import Assignment, Visit
from apps.visits.services.booking import client_answer
from tests import factories
from tests.rounds.world import MONDAY, TODAY, Town, wants

NOW = factories.NOW
H = dt.timedelta(hours=1)
DAY = dt.timedelta(days=1)


def client_of(visit: Visit) -> Actor:
    """Return whoever holds the client's link."""
    return Actor(role="client", at=NOW, client_id=visit.place.client_id)


def pencilled(firm: Town, name: str = "Heron", km: float = 5) -> Visit:
    """Return a visit that nobody was told of, on Monday at nine with Ana."""
    built = firm.gardens.get(name) or firm.garden(name, km)
    return firm.pencil(built, MONDAY, 9)


def offered(firm: Town, visit: Visit, **more) -> TimesOffered:
    return offering.offer(visit=visit, by=firm.by, at=NOW, **more)


def test_the_times_lie_on_days_of_their_own_and_are_held(firm: Town) -> None:
    visit = pencilled(firm)
    offer = offered(firm, visit)
    times = list(offer.times.all())
    assert len(times) == 3
    assert len({timezone.localdate(time.start) for time in times}) == 3
    settings = PlanningSettings.objects.get()
    first = TODAY + (settings.frozen_days + 1) * DAY
    for time in times:
        assert first <= timezone.localdate(time.start) < first + settings.days_ahead * DAY
        assert time.end - time.start == H
        assert time.told_until - time.told_from == 2 * H
        assert time.told_from <= time.start <= time.told_until
        assert time.start.minute % 5 == 0
    assert offer.until == NOW + 2 * DAY
    assert Hold.objects.filter(holds=True).count() == 3
    visit.refresh_from_db()
    assert (visit.state, visit.rev, visit.client_answer) == ("pencilled", 1, "not_asked")
