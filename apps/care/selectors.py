"""The due list: which systems need somebody, how soon, and why."""

import datetime as dt
from dataclasses import dataclass, field
from typing import Any
from uuid import UUID

from django.db.models import Case, F, IntegerField, Q, QuerySet, Value, When
from django.db.models.functions import Coalesce

from apps.care.choices import Urgency, Who
from apps.care.models import CareTask, Standing
from apps.core.scoping import Actor

URGENT, HARMFUL, LATE_A, OUT_OF_BAND, LATE, DUE, QUIET = 1, 2, 3, 4, 5, 6, 9
FIRM_TASKS = (Who.TECHNICIAN, Who.ELECTRICIAN)


@dataclass(frozen=True)
class Reason:
    """Why a system stands in the list: a code with what its words are made from."""

    code: str
    since: dt.date | None
    parameters: dict[str, Any] = field(default_factory=dict)
    value: float | None = None
    unit: str = ""


@dataclass(frozen=True)
class DueRow:
    """One system that needs somebody."""

    rank: int
    standing: Standing
    ranked_as: int
    days_late: int
    due_by: dt.date | None
    reasons: list[Reason]
    tasks: list[CareTask]


def ranked(actor: Actor, on: dt.date) -> QuerySet[Standing]:
    """Return the standings that need somebody on a day, what hurts most first.

    Order: open advice for now or today; last trusted reading harmful; late tasks of criticality A
    by days late; out of band; other late tasks; due tasks; then the system's id.
    """
    late_a = Q(late_a_from__lt=on)
    ranked_as = Case(
        When(fixed_class=URGENT, then=Value(URGENT)),
        When(fixed_class=HARMFUL, then=Value(HARMFUL)),
        When(late_a, then=Value(LATE_A)),
        When(fixed_class=OUT_OF_BAND, then=Value(OUT_OF_BAND)),
        When(due_by__lt=on, then=Value(LATE)),
        When(due_from__lte=on, then=Value(DUE)),
        default=Value(QUIET),
        output_field=IntegerField(),
    )
    # only systems that the index can find: no expression over the whole table
    wanted = Q(fixed_class__lte=OUT_OF_BAND) | Q(due_from__lte=on) | Q(late_a_from__lt=on)
    # among those late with A tasks the longest wait comes first; the others go by id alone
    longest = Case(
        When(Q(ranked_as=LATE_A), then=Coalesce(F("late_a_from"), Value(on))),
        default=Value(on),
    )
    return (
        Standing.objects.visible_to(actor)
        .filter(wanted, system__active=True)
        .annotate(ranked_as=ranked_as)
        .order_by("ranked_as", longest, "system_id")
    )


def _tasks(system_ids: list[UUID], on: dt.date) -> dict[UUID, list[CareTask]]:
    found: dict[UUID, list[CareTask]] = {pk: [] for pk in system_ids}
    due = CareTask.objects.filter(
        system_id__in=system_ids,
        active=True,
        who__in=FIRM_TASKS,
        next_due__isnull=False,
        next_due__lte=on,
    ).order_by("next_late", "code")
    for task in due:
        found[task.system_id].append(task)
    return found


def _reasons(standing: Standing, tasks: list[CareTask], on: dt.date) -> list[Reason]:
    reasons = []
    if standing.advice_urgency in (Urgency.NOW, Urgency.TODAY):
        since = standing.advice_since.date() if standing.advice_since else None
        code = "advice_now" if standing.advice_urgency == Urgency.NOW else "advice_today"
        reasons.append(Reason(code, since, standing.advice))
    if standing.worst_judgement in ("harmful", "out_of_band"):
        since = standing.worst_since.date() if standing.worst_since else None
        worst = standing.worst
        reasons.append(
            Reason(
                standing.worst_judgement, since, worst, worst.get("value"), worst.get("unit", "")
            )
        )
    late = [task for task in tasks if task.next_late is not None and task.next_late < on]
    for code, rows in (
        ("late_a", [task for task in late if task.criticality == "A"]),
        ("late", [task for task in late if task.criticality != "A"]),
        ("due", [task for task in tasks if task not in late]),
    ):
        if rows:
            first = rows[0]
            reasons.append(
                Reason(
                    code,
                    first.next_due,
                    {"task": first.code, "count": len(rows)},
                    float(len(rows)),
                )
            )
    return reasons


def due_rows(standings: list[Standing], on: dt.date, first_rank: int = 1) -> list[DueRow]:
    """Return the rows of one page: two queries, however many systems it has."""
    tasks = _tasks([standing.system_id for standing in standings], on)
    rows = []
    for place, standing in enumerate(standings):
        own = tasks[standing.system_id]
        due_by = standing.due_by
        rows.append(
            DueRow(
                rank=first_rank + place,
                standing=standing,
                ranked_as=standing.ranked_as,  # type: ignore[attr-defined]
                days_late=max(0, (on - due_by).days) if due_by else 0,
                due_by=due_by,
                reasons=_reasons(standing, own, on),
                tasks=own,
            )
        )
    return rows


def open_tasks(system_id: UUID, on: dt.date) -> list[CareTask]:
    """Return the firm's tasks that may be done on a day: open by then, or wanted at each visit."""
    return list(
        CareTask.objects.filter(
            Q(next_open__lte=on) | Q(mode="every_visit"),
            system_id=system_id,
            active=True,
            who__in=FIRM_TASKS,
        )
    )
