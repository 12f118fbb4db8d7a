"""What forecasts start from as rows: a fixed number of queries for any number of systems."""

import datetime as dt
from collections.abc import Sequence
from dataclasses import dataclass
from uuid import UUID

from apps.advice.choices import Decision
from apps.advice.models import Advice
from apps.calc.climate_months import Month
from apps.care.models import CareTask, Completion
from apps.catalogue.selectors import Catalogue
from apps.clients.models import SourceWater, TimeAway
from apps.clients.selectors import climates, source_waters, times_away
from apps.systems.models import Flow, System
from apps.systems.selectors import flows_of
from apps.visits.selectors import HISTORY, Background, backgrounds_of

DONE = ("water_change", "settler_drain")
# as far as a forecast looks
AHEAD = dt.timedelta(days=42)


@dataclass(frozen=True)
class Rows:
    """The rows of some systems, read once."""

    systems: Sequence[System]
    backgrounds: dict[UUID, Background]
    flows: list[Flow]
    sources: dict[UUID, SourceWater]
    advice: list[Advice]
    done: list[tuple[UUID, str, dt.date]]
    limits: list[CareTask]
    climates: dict[UUID | None, tuple[Month, ...]]
    away: list[TimeAway]


def rows_of(system_ids: Sequence[UUID], catalogue: Catalogue, on: dt.date, at: dt.datetime) -> Rows:
    """Return the rows of the active ones of these systems: fourteen queries."""
    systems = list(
        System.objects.filter(pk__in=list(system_ids), active=True)
        .select_related("place")
        .order_by("pk")
    )
    ids = [system.pk for system in systems]
    backgrounds = backgrounds_of(systems, catalogue, on, at)
    parts = [
        part.pk
        for found in backgrounds.values()
        for loop in found.loops
        for part in loop.fitted  # type: ignore[attr-defined]
    ]
    kept = Advice.objects.filter(
        system_id__in=ids, decision__in=[Decision.KEEP, Decision.EDIT], dose__isnull=False,
        unit__in=["g", "L"], loop__isnull=False, made_at__gt=at - HISTORY, made_at__lte=at,
    )  # fmt: skip
    done = Completion.objects.filter(
        task__system_id__in=ids, task__code__in=DONE, done_on__gt=on - HISTORY, done_on__lte=on,
        withdraws__isnull=True, withdrawn_by__isnull=True,
    )  # fmt: skip
    return Rows(
        systems=systems, backgrounds=backgrounds, flows=flows_of(parts),
        sources=source_waters([system.place_id for system in systems], on),
        advice=list(kept.order_by("made_at", "pk")),
        done=list(done.order_by("done_on", "pk").values_list(
            "task__system_id", "task__code", "done_on")),
        limits=list(limit_tasks(ids)),
        climates=climates(system.place_id for system in systems),
        away=times_away([system.place_id for system in systems], on, on + AHEAD),
    )  # fmt: skip


def limit_tasks(system_ids: Sequence[UUID]) -> Sequence[CareTask]:
    """Return the tasks of systems that wait for a limit to be passed."""
    return list(
        CareTask.objects.filter(system_id__in=list(system_ids), active=True)
        .exclude(condition={})
        .order_by("pk")
    )


def limits_of_task(task: CareTask) -> list[tuple[str, str, float]]:
    """Return the limits of a task's condition: (measurand, side, level)."""
    code = str(task.condition.get("measurand") or "")
    return [
        (code, side, float(task.condition[side]))
        for side in ("below", "above")
        if code and task.condition.get(side) is not None
    ]
