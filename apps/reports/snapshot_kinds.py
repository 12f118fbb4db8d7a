"""What a report says by its kind: a call-out its cause, a hand-over its papers; and what is asked."""

import datetime as dt
from typing import Any
from uuid import UUID

from django.db.models import QuerySet

from apps.care.choices import Mode, Who
from apps.care.models import CareTask
from apps.catalogue.selectors import Catalogue
from apps.incidents.models import Incident
from apps.reports.choices import ReportKind
from apps.systems.choices import ComponentKind
from apps.systems.models import Component
from apps.systems.selectors import flows_of
from apps.visits.choices import LEFT_RUNNING, Outcome
from apps.visits.models import Line, Sheet

Data = dict[str, Any]
HAND_OVER = "papers_given"
SKILL = "skill_"
WITHIN = dt.timedelta(days=7)


def kind_of(sheet: Sheet) -> str:
    """Return what kind of report a sheet's is: a call-out follows a call for help, a hand-over
    hands the papers over."""
    if Incident.objects.filter(visit=sheet.visit_id, system_id=sheet.system_id).exists():
        return ReportKind.CALL_OUT
    if sheet.lines.filter(code=HAND_OVER, outcome=Outcome.DONE).exists():
        return ReportKind.HAND_OVER
    return ReportKind.VISIT


def of_the_kind(sheet: Sheet, catalogue: Catalogue) -> Data:
    """Return what only this kind of report says: nothing for a plain visit."""
    kind = kind_of(sheet)
    if kind == ReportKind.CALL_OUT:
        return {"incident": _incident(sheet)}
    if kind == ReportKind.HAND_OVER:
        return {"hand_over": _hand_over(sheet, catalogue)}
    return {}


def _incident(sheet: Sheet) -> Data:
    rows = Incident.objects.filter(visit=sheet.visit_id, system_id=sheet.system_id)
    row = rows.order_by("opened_at", "id")[0]
    return {
        "kind": row.kind, "opened": row.opened_at.isoformat(), "said": row.said,
        "cause": row.cause, "cause_words": row.cause_words, "outcome": row.outcome,
        "fish_lost": row.fish_lost, "closed": row.closed_at.isoformat() if row.closed_at else None,
    }  # fmt: skip


def _hand_over(sheet: Sheet, catalogue: Catalogue) -> Data:
    """Return the papers of a hand-over: parts with their litres, who can do what, fish limits."""
    parts = Component.objects.filter(loop__system_id=sheet.system_id, removed_on__isnull=True)
    lines = Line.objects.filter(
        sheet__system_id=sheet.system_id, code__startswith=SKILL, outcome=Outcome.DONE,
        sheet__visit__start__lte=sheet.visit.start,
    )  # fmt: skip
    tasks = CareTask.objects.filter(system_id=sheet.system_id, code__startswith=SKILL)
    learnt = set(lines.values_list("code", flat=True))
    return {
        "parts": [
            {"name": row.name, "kind": row.kind, "litres": row.litres, "watts": row.watts,
             "make": row.make, "serial": row.serial,
             "warranty": row.warranty_until.isoformat() if row.warranty_until else None}
            for row in parts.order_by("loop__kind", "place_in_flow", "name", "id")
        ],
        "valves": valves_data(parts),
        "learnt": sorted(learnt),
        "to_learn": sorted(set(tasks.values_list("code", flat=True)) - learnt),
    }  # fmt: skip


def valves_data(parts: QuerySet[Component]) -> list[Data]:
    """Return each valve with what its pipe comes from and goes to; empty where no pipe is on record."""
    rows = list(parts.filter(kind=ComponentKind.VALVE).order_by("loop__kind", "name", "id"))
    names = dict(parts.values_list("pk", "name"))
    before: dict[UUID, list[str]] = {row.pk: [] for row in rows}
    after: dict[UUID, list[str]] = {row.pk: [] for row in rows}
    for flow in flows_of(names):
        if flow.target_id in before:
            before[flow.target_id].append(names[flow.source_id])
        if flow.source_id in after and flow.target_id in names:
            after[flow.source_id].append(names[flow.target_id])
    return [{"name": row.name, "from": before[row.pk], "to": after[row.pk]} for row in rows]


def asks_data(system_id: UUID, on: dt.date, catalogue: Catalogue) -> list[Data]:
    """Return what a client does between visits, the most important and soonest first.

    `due`: its next day within a week of the visit, none where that is not known any more.
    """
    tasks = CareTask.objects.filter(system_id=system_id, active=True, who=Who.CLIENT).exclude(
        code=LEFT_RUNNING
    )
    rows = [
        {
            "code": task.code, "name": catalogue.name("tasks", task.code),
            "criticality": task.criticality, "every_n": task.every_n, "unit": task.unit,
            "rhythmic": task.mode in (Mode.AFTER_DONE, Mode.FIXED),
            "due": _within(task.next_due, on),
        }
        for task in tasks.order_by("code", "id")
    ]  # fmt: skip
    return sorted(rows, key=lambda row: (row["criticality"], row["due"] or "9", row["code"]))


def _within(day: dt.date | None, on: dt.date) -> str | None:
    return day.isoformat() if day is not None and on <= day <= on + WITHIN else None
