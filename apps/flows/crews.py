"""Hours, skills and areas of technicians: what changes areas has visit days planned anew."""

import datetime as dt
from collections.abc import Iterable, Mapping
from typing import Any

from django.db import transaction

from apps.accounts.models import User
from apps.core.scoping import Actor
from apps.flows.visit_days import days_off_ask
from apps.rounds import services
from apps.rounds.models import Crew


@transaction.atomic
def crew_set(
    *,
    user: User,
    values: Mapping[str, Any],
    days: Iterable[Mapping[str, Any]],
    by: Actor,
    at: dt.datetime,
) -> Crew:
    """Write down how somebody works. Raises ValidationError naming the field."""
    before = _areas(user)
    crew = services.crew_set(user=user, values=values, days=days, by=by, at=at)
    if _areas(user) != before:
        days_off_ask(at)
    return crew


def _areas(user: User) -> set[tuple[int, str]]:
    return set(user.working_hours.exclude(area="").values_list("weekday", "area"))
