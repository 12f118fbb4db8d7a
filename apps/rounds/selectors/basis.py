"""Whether the database still says what a plan was made from: a fingerprint of it."""

import datetime as dt
import hashlib
import json
from collections.abc import Iterable, Sequence
from typing import Any
from uuid import UUID

from django.db.models import Min

from apps.care.models import CareTask
from apps.care.selectors import FIRM_TASKS
from apps.rounds.models import Hold
from apps.rounds.planning.problem import Shift
from apps.systems.models import System
from apps.visits.choices import HOLDING
from apps.visits.models import Sheet, Visit


def fingerprint(
    visits: Iterable[Visit], shifts: Sequence[Shift], due: Iterable[UUID], held: Iterable[Hold]
) -> str:
    """Return a mark that changes with a visit, who goes there, who works when, or what is due.

    So it does with what is held for clients.

    Visits that others change are told by their revision; a due system by whether it is active, has
    a visit now, and when it wants one.
    """
    said = [
        sorted(_visit(visit) for visit in visits),
        sorted(_shift(shift) for shift in shifts),
        _due(sorted(due, key=str)),
        sorted([str(row.pk), _iso(row.start), _iso(row.end)] for row in held),
    ]
    return hashlib.sha256(json.dumps(said).encode()).hexdigest()


def _visit(visit: Visit) -> list[Any]:
    people = sorted(
        [str(row.user_id), _iso(row.start), _iso(row.end)] for row in visit.assignments.all()
    )
    return [
        str(visit.pk), visit.rev, visit.state, visit.client_answer, _iso(visit.start),
        _iso(visit.end), people,
    ]  # fmt: skip


def _shift(shift: Shift) -> list[Any]:
    lunch = shift.lunch
    return [
        shift.technician, shift.day, shift.start, shift.end, shift.start_place, shift.overtime,
        sorted(shift.skills), [lunch.seconds, lunch.earliest, lunch.latest] if lunch else [],
    ]  # fmt: skip


def _due(systems: list[UUID]) -> list[Any]:
    planned = Sheet.objects.filter(system_id__in=systems, visit__state__in=HOLDING)
    dates = CareTask.objects.filter(system_id__in=systems, active=True, who__in=FIRM_TASKS)
    active = System.objects.filter(pk__in=systems, active=True).values_list("pk", flat=True)
    return [
        sorted(map(str, active)),
        sorted(map(str, planned.values_list("visit_id", flat=True))),
        sorted(
            [str(pk), str(day)]
            for pk, day in dates.order_by().values_list("system_id").annotate(Min("next_due"))
        ),
    ]


def _iso(moment: dt.datetime) -> str:
    return moment.astimezone(dt.UTC).isoformat()
