"""Visit days: planned for a place from what care, visits and the firm's days off know together."""

import datetime as dt
from collections.abc import Iterable
from typing import Any
from uuid import UUID, uuid4

from django.db import transaction
from django.utils import timezone

from apps.accounts.selectors import closed_days
from apps.care.models import VisitDayPlan
from apps.care.services import (
    FixedDay,
    care_follow,
    visit_days_ask,
    visit_days_begin,
    visit_days_plan,
)
from apps.catalogue.selectors import catalogue_current
from apps.clients.models import Place
from apps.clients.selectors import days_kept_out
from apps.clients.services import hours_set
from apps.core import outbox
from apps.core.scoping import Actor
from apps.rounds.selectors import area_weekdays
from apps.systems import services as systems
from apps.systems.models import System
from apps.visits.choices import HOLDING, State
from apps.visits.models import Visit

AHEAD = dt.timedelta(days=92)
BATCH = 200


@transaction.atomic
def visit_days_make(*, place_id: UUID, at: dt.datetime) -> VisitDayPlan | None:
    """Plan a place's visit days anew, all of them or none; None where the place is gone."""
    if not Place.objects.filter(pk=place_id).exists():
        return None
    plan = visit_days_begin(place_id)
    on = timezone.localdate(at)
    return visit_days_plan(
        plan=plan, on=on, fixed=fixed_days([place_id], on)[place_id],
        closed=closed_days(on, on + AHEAD) | days_kept_out(place_id, on, on + AHEAD), catalogue=catalogue_current(), at=at,
        liked=area_weekdays(plan.place.area),
    )  # fmt: skip


def fixed_days(place_ids: Iterable[UUID], on: dt.date) -> dict[UUID, list[FixedDay]]:
    """Return the visits that stand at places from a day on, by local date: two queries."""
    found: dict[UUID, list[FixedDay]] = {pk: [] for pk in place_ids}
    begins = timezone.make_aware(dt.datetime.combine(on, dt.time()))
    rows = Visit.objects.filter(place__in=list(found), state__in=HOLDING, start__gte=begins)
    for row in rows.order_by("start", "pk").prefetch_related("sheets"):
        systems = frozenset(sheet.system_id for sheet in row.sheets.all())
        begun = row.state == State.UNDER_WAY
        found[row.place_id].append(FixedDay(timezone.localdate(row.start), row.pk, begun, systems))
    return found


def places_looked_after() -> list[UUID]:
    """Return the places with a system that is looked after, and those that have visit days."""
    places = Place.objects.filter(systems__active=True) | Place.objects.filter(
        visit_days__isnull=False
    )
    return list(places.distinct().order_by("pk").values_list("pk", flat=True))


def all_ask(at: dt.datetime) -> int:
    """Have the visit days of every place planned anew, a row of the outbox each; how many."""
    ids = places_looked_after()
    for start in range(0, len(ids), BATCH):
        visit_days_ask(ids[start : start + BATCH], at)
    return len(ids)


def days_off_ask(at: dt.datetime) -> None:
    """Have all visit days planned anew after a change of days off: one row, as at night."""
    key = f"care.visit_days_all:{uuid4()}"
    outbox.enqueue("care.visit_days_all", key, {}, at=at)


@transaction.atomic
def hours_change(
    *, place: Place, hours: list[tuple[int, dt.time, dt.time]], by: Actor, at: dt.datetime
) -> None:
    """Replace the hours at which somebody may come, and plan the place's visit days anew."""
    hours_set(place=place, hours=hours, by=by, at=at)
    visit_days_ask([place.pk], at)


@transaction.atomic
def system_change(
    *, system: System, changes: dict[str, Any], rev: int, by: Actor, at: dt.datetime
) -> System:
    """Change a system; its care follows the day since which it runs while it is not built.

    Its place's visit days are planned anew: it may have ended, or come back.
    """
    before = System.objects.filter(pk=system.pk).values_list("started_on", flat=True).first()
    row = systems.system_change(system=system, changes=changes, rev=rev, by=by, at=at)
    care_follow(system=row, before=before, catalogue=catalogue_current(), by=by, at=at)
    visit_days_ask([row.place_id], at)
    return row


def night_ask(on: dt.date, at: dt.datetime) -> None:
    """Have all visit days planned anew once a night: one row, which asks for each place in turn.

    It is done again as a whole where it was killed; a place that was asked for is not asked twice.
    """
    outbox.enqueue("care.visit_days_all", f"care.visit_days_all:{on.isoformat()}", {}, at=at)
