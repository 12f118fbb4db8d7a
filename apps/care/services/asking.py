"""Asking for a place's visit days anew, in the transaction that changes what they come from."""

import datetime as dt
from collections.abc import Iterable
from uuid import UUID

from django.db import transaction

from apps.care.models import VisitDayPlan
from apps.core import outbox
from apps.systems.models import System

EFFECT = "care.visit_days"


@transaction.atomic(savepoint=False)
def visit_days_ask(place_ids: Iterable[UUID], at: dt.datetime) -> None:
    """Have visit days planned anew: one effect a place, however often it is asked before it runs.

    The lock on the plan's row holds a plan that would begin now back until the change that asks
    is there to be read; one that has begun has another turn, and is followed by a plan of its own.
    """
    ids = sorted(set(place_ids), key=str)
    VisitDayPlan.objects.bulk_create(
        [VisitDayPlan(place_id=pk) for pk in ids], ignore_conflicts=True
    )
    rows = VisitDayPlan.objects.select_for_update().filter(place_id__in=ids).order_by("place_id")
    wanted = {
        f"{EFFECT}:{place}:{turn}": {"place_id": str(place)}
        for place, turn in rows.values_list("place_id", "turn")
    }
    if wanted:
        outbox.enqueue_all(EFFECT, wanted, at=at)


def visit_days_ask_for(system_ids: Iterable[UUID], at: dt.datetime) -> None:
    """Have the visit days of the places of some systems planned anew."""
    places = System.objects.filter(pk__in=list(system_ids)).values_list("place_id", flat=True)
    visit_days_ask(places, at)
