"""Reads of this app."""

import datetime as dt
from typing import Any
from uuid import UUID

from django.db.models import Case, Count, IntegerField, Q, QuerySet, Value, When

from apps.core.scoping import Actor
from apps.incidents.choices import Stand
from apps.incidents.models import Incident, WeatherAsk

ANSWERED_FOR = dt.timedelta(days=14)
_ORDER = Case(
    When(state=Stand.OPEN, then=Value(0)), When(state=Stand.WATCHING, then=Value(1)),
    default=Value(2), output_field=IntegerField(),
)  # fmt: skip


def incidents_of(actor: Actor) -> QuerySet[Any]:
    """Return the incidents with system and place: open first, then watched, newest first."""
    rows = Incident.objects.visible_to(actor).select_related("system__place__client")
    return rows.annotate(rank=_ORDER).order_by("rank", "-opened_at", "id")


def incidents_open(actor: Actor) -> QuerySet[Any]:
    """Return the incidents that are not closed."""
    return incidents_of(actor).exclude(state=Stand.CLOSED)


def incident_counts(actor: Actor) -> dict[str, int]:
    """Return how many there are in all and in each state: one query."""
    kinds = {state: Count("pk", filter=Q(state=state)) for state in Stand.values}
    found: dict[str, int] = (
        Incident.objects.visible_to(actor).order_by().aggregate(all=Count("pk"), **kinds)
    )
    return found


def incidents_at(actor: Actor, system_id: UUID) -> QuerySet[Any]:
    """Return a system's incidents, open first: one query."""
    return incidents_of(actor).filter(system_id=system_id)


def asks_open(actor: Actor) -> QuerySet[Any]:
    """Return the asks about a weather that may still be answered, newest first."""
    rows = WeatherAsk.objects.visible_to(actor).select_related("watch", "incident")
    since = actor.at - ANSWERED_FOR
    return rows.filter(watch__made_at__gte=since).order_by("-watch__made_at", "id")
