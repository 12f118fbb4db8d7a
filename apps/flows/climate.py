"""Climate normals: what changes a place's has its forecasts made anew; the firm's wait for the night."""

import datetime as dt
from collections.abc import Sequence

from django.db import transaction

from apps.calc.climate_months import Month
from apps.clients import services
from apps.clients.models import Climate, Place
from apps.core.scoping import Actor
from apps.flows.ahead import forecast_ask
from apps.systems.models import System


@transaction.atomic
def climate_set(
    *,
    place: Place | None,
    months: Sequence[Month],
    source: str,
    rev: int | None,
    by: Actor,
    at: dt.datetime,
) -> Climate:
    """Enter climate normals of a place, or of the firm. Raises Invalid and StaleVersion."""
    row = services.climate_set(place=place, months=months, source=source, rev=rev, by=by, at=at)
    _ask(place, at)
    return row


@transaction.atomic
def climate_remove(*, climate: Climate, by: Actor, at: dt.datetime) -> None:
    """Take climate normals away again."""
    place = climate.place
    services.climate_remove(climate=climate, by=by, at=at)
    _ask(place, at)


def _ask(place: Place | None, at: dt.datetime) -> None:
    if place is not None:
        systems = System.objects.filter(place=place, active=True)
        forecast_ask(systems.values_list("pk", flat=True), at)
