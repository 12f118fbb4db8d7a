"""Gathering for tests, and the stops that were gathered."""

import datetime as dt
from typing import Any

from apps.rounds.planning.problem import Stop
from apps.rounds.planning.validation import validate
from apps.rounds.selectors import Gathered, gather
from apps.visits.models import Visit
from tests import factories
from tests.rounds.world import MONDAY, TODAY

H = 3600
WEEK = 5


def gathered(first: dt.date = MONDAY, days: int = WEEK, **more: Any) -> Gathered:
    """Gather, and hold it to what the planner takes."""
    found = gather(first, days, TODAY, **more)
    validate(found.problem)
    return found


def stop_of(found: Gathered, visit: Visit) -> Stop:
    return found.problem.by_stop[f"visit:{visit.pk}"]


def due_of(found: Gathered, built: factories.Built) -> Stop:
    return found.problem.by_stop[f"due:{built.system.place_id}"]


def days_of(stop: Stop) -> list[int]:
    return sorted({window.day for window in stop.windows})
