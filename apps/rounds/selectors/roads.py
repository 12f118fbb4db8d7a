"""What driving between the places takes, rounded up to full five minutes."""

import math
from collections.abc import Sequence
from dataclasses import replace
from urllib.parse import urlsplit

from django.conf import settings as django_settings

from apps.rounds.models import PlanningSettings
from apps.rounds.planning.problem import Place, Travel
from apps.rounds.planning.table import TableService, measured
from apps.rounds.planning.travel import Speeds, estimate
from apps.rounds.selectors.axis import stepped
from apps.rounds.selectors.kept import Note


def speeds_of(settings: PlanningSettings) -> Speeds:
    """Return how quickly the firm drives. Raises ValueError where that cannot be."""
    pieces = (
        (3_000, float(settings.town_kmh)),
        (15_000, float(settings.near_kmh)),
        (math.inf, float(settings.far_kmh)),
    )
    return Speeds(pieces, settings.detour, settings.parking_minutes * 60)


def service_of(written: str) -> TableService | None:
    """Return the road engine that a setting names: ``STYLE URL``; None where it is empty.

    Raises ValueError with the way out.
    """
    if not written.strip():
        return None
    style, _, url = written.strip().partition(" ")
    # only an administrator writes the setting: its own host is the one that is allowed
    return TableService.of(style, url.strip(), {urlsplit(url.strip()).hostname or ""})


def unmeasured(travel: Travel) -> list[Note]:
    """Return the note that a road engine is set and did not tell of some ways; else none."""
    count = len(travel.places)
    ways = count * (count - 1)
    missing = sum(map(sum, travel.estimated))
    if not missing or not django_settings.BACKYARD_ROADS.strip():
        return []
    return [Note("roads_estimated", {"ways": missing, "of": ways})]


def roads(places: Sequence[Place], settings: PlanningSettings) -> Travel:
    """Return metres and seconds between all places on the map, by road where an engine is set."""
    speeds = speeds_of(settings)
    service = service_of(django_settings.BACKYARD_ROADS)
    found = measured(places, service, speeds) if service else estimate(places, speeds)
    return replace(found, seconds=[[stepped(value) for value in row] for row in found.seconds])
