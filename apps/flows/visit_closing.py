"""Closing a visit: the field, the office and the API end here.

One transaction: values, lines, readings, findings, completions, next dates, advice, standing,
state, and the outbox row of the report. All of it or nothing.
"""

import datetime as dt
from collections.abc import Iterable
from dataclasses import dataclass, field
from typing import Any
from uuid import UUID, uuid5

from django.db import transaction
from django.utils import timezone
from django.utils.translation import gettext as _

from apps.advice.models import Advice
from apps.advice.services import (
    advice_row,
    advice_write,
    sheet_assess,
    standing_write,
    stored_assessment,
)
from apps.calc.advice.results import Assessment
from apps.care.services import conditions_raise, tasks_locked, visit_days_ask
from apps.core import outbox
from apps.core.exceptions import Invalid
from apps.core.scoping import Actor
from apps.flows import checking_in
from apps.flows.ahead import forecast_ask
from apps.flows.visit_swaps import swaps_carry_out
from apps.visits.choices import State
from apps.visits.models import Reading, Sheet, Value, Visit
from apps.visits.selectors import sheets_of
from apps.visits.services.fields import Answer, fields_take
from apps.visits.services.projection import Sheets
from apps.visits.services.steps import step_take, visit_locked
from apps.visits.services.typed import Typed, Where, moment_of

GROUPS = ("lines", "readings", "findings", "advice")


@dataclass
class SheetResult:
    """What one sheet leads to."""

    sheet: Sheet
    found: Assessment
    readings: list[Reading]
    advice: list[Advice] = field(default_factory=list)


@dataclass
class Result:
    """What a visit leads to."""

    visit: Visit
    sheets: list[SheetResult]


def _answers(
    visit: Visit, all_sheets: list[Sheet], body: dict[str, Any], key: str
) -> tuple[list[Answer], list[Sheet]]:
    """Take a submission apart into answers, each with the pointer to where it stood."""
    held = {sheet.system_id: sheet for sheet in all_sheets}
    space = uuid5(visit.pk, key)
    answers = [
        Answer(leaf, body[leaf], uuid5(space, leaf), None, None, f"/{leaf}")
        for leaf in ("started_at", "finished_at")
        if body.get(leaf) is not None
    ]
    sheets: list[Sheet] = []
    errors: list[dict[str, Any]] = []
    for index, part in enumerate(body.get("sheets") or []):
        where = f"/sheets/{index}"
        sheet = held.get(UUID(str(part["system"])))
        if sheet is None or sheet in sheets:
            word = "stands here twice" if sheet else "is not part of this visit"
            errors.append(
                {
                    "pointer": f"{where}/system", "value": str(part["system"]),
                    "message": f"system: {word}", "allowed": [str(pk) for pk in held],
                }
            )  # fmt: skip
            continue
        sheets.append(sheet)
        for group in GROUPS:
            answers += _group(part.get(group) or [], group, sheet, space, where, errors)
    if errors:
        raise Invalid(errors)
    return answers, sheets


def _group(
    rows: list[dict[str, Any]],
    group: str,
    sheet: Sheet,
    space: UUID,
    where: str,
    errors: list[dict[str, Any]],
) -> list[Answer]:
    answers: list[Answer] = []
    seen: set[str] = set()
    for index, row in enumerate(rows):
        key = str(row["id"])
        if key in seen:
            errors.append(
                {"pointer": f"{where}/{group}/{index}/id", "value": key,
                 "message": "id: " + _("stands twice in this list")}
            )  # fmt: skip
        seen.add(key)
        for leaf, value in row.items():
            if leaf == "id" or value is None:
                continue
            path = f"{group}/{key}/{leaf}"
            op_id = uuid5(space, f"{sheet.pk}/{path}")
            pointer = f"{where}/{group}/{index}/{leaf}"
            answers.append(Answer(path, value, op_id, sheet.pk, None, pointer))
    return answers


@transaction.atomic
def submit(*, visit: Visit, body: dict[str, Any], key: str, by: Actor, at: dt.datetime) -> Result:
    """Take a whole submission: a batch of answers, and the end of the visit if it says so.

    Raises Invalid with pointers into the body, IllegalTransition, or DomainError; then nothing of
    it is kept.
    """
    visit = visit_locked(visit.pk)
    sheets = sheets_of(visit)
    answers, sent = _answers(visit, sheets, body, key)
    _taken, values = fields_take(visit=visit, answers=answers, device="api", at=at, by=by)
    wheres = {sheet.pk: _where(body["sheets"][i], i) for i, sheet in enumerate(sent)}
    write = _finish if body.get("finish") else _preview
    return write(visit, sheets, values, by, at, wheres)


def _where(part: dict[str, Any], index: int) -> Where:
    """Return where a sheet's rows stand in the body."""
    places = {
        UUID(str(row["id"])): place
        for group in GROUPS
        for place, row in enumerate(part.get(group) or [])
    }
    return Where(f"/sheets/{index}", places)


def _worked(visit: Visit, values: Iterable[Value], at: dt.datetime) -> None:
    """Take the times of the work from the values, within reason; they are not stored yet."""
    typed = {row.path: row.value for row in values if row.sheet_id is None}
    started = moment_of(typed.get("started_at")) or visit.started_at or at
    finished = moment_of(typed.get("finished_at")) or at
    errors = []
    for name, moment in (("started_at", started), ("finished_at", finished)):
        if moment > at + dt.timedelta(minutes=10):
            message = f"{name}: " + _("lies in the future; check the clock of the phone")
            errors.append({"pointer": f"/{name}", "value": moment.isoformat(), "message": message})
    if finished < started:
        message = "finished_at: " + _("comes before started_at")
        errors.append(
            {"pointer": "/finished_at", "value": finished.isoformat(), "message": message}
        )
    if errors:
        raise Invalid(errors)
    visit.started_at, visit.finished_at = started, finished


@transaction.atomic
def finish(*, visit: Visit, by: Actor, at: dt.datetime) -> Result:
    """Write a visit up from its values. See submit for what it raises."""
    visit = visit_locked(visit.pk)
    return _finish(visit, sheets_of(visit), list(visit.values.all()), by, at, {})


def _finish(
    visit: Visit,
    sheets: list[Sheet],
    values: list[Value],
    by: Actor,
    at: dt.datetime,
    wheres: dict[UUID, Where],
) -> Result:
    _worked(visit, values, at)
    now = visit.finished_at or at
    work = Sheets(visit, sheets, values, now=at, seen=now, by=by)
    places = _places(work, wheres)
    tasks = tasks_locked(sheet.system_id for sheet in sheets)
    counting = work.finish(places, tasks)
    swaps_carry_out(work, places, by=by, at=at)
    results = []
    for sheet in sheets:
        typed, rows = work.typed_of(sheet), counting[sheet.pk]
        found, _parts = sheet_assess(
            sheet, readings=rows, signs=_signs(typed), now=now, catalogue=work.catalogue,
            background=work.background(sheet),
        )  # fmt: skip
        advice = advice_write(
            sheet=sheet, found=found, decisions=typed.advice, by=by, now=now,
            where=places[sheet.pk],
        )  # fmt: skip
        conditions_raise(
            tasks=[task for task in tasks.values() if task.system_id == sheet.system_id],
            readings={row.measurand: row.value for row in rows if row.trusted},
            on=timezone.localdate(at), at=at,
        )  # fmt: skip
        results.append(SheetResult(sheet, found, rows, advice))
    step_take(visit=visit, to=State.WRITTEN_UP, by=by, at=at, flow=True)
    checking_in.visit_ended(visit, at)
    standing_write(
        {item.sheet.system_id: _all_readings(work, item, at) for item in results},
        {item.sheet.system_id: _open(item.advice) for item in results},
        at,
    )
    visit_days_ask([visit.place_id], at)
    forecast_ask([sheet.system_id for sheet in sheets], at)
    outbox.enqueue(
        "reports.render", f"render:{visit.pk}:{visit.rev}", {"visit_id": str(visit.pk)}, at=at
    )
    return Result(visit, results)


def _all_readings(work: Sheets, item: SheetResult, at: dt.datetime) -> list[Reading]:
    """Return a system's counting readings of 120 days, this sheet's among them, oldest first."""
    own = [row for row in item.readings if row.taken_at <= at]
    rows = [*work.background(item.sheet).past(at, item.sheet.pk), *own]
    return sorted(rows, key=lambda row: (row.taken_at, row.pk))


def _open(advice: list[Advice]) -> list[Advice]:
    return [row for row in advice if row.closed_at is None]


def _places(work: Sheets, wheres: dict[UUID, Where]) -> dict[UUID, Where]:
    return {
        sheet.pk: wheres.get(sheet.pk, Where(f"/sheets/{index}"))
        for index, sheet in enumerate(work.sheets)
    }


def _signs(typed: Typed) -> list[str]:
    return [row["sign"] for row in typed.findings.values() if row.get("sign")]


def preview(*, visit: Visit, by: Actor, at: dt.datetime) -> Result:
    """Assess a visit from its values so far. Nothing is stored."""
    return _preview(visit, sheets_of(visit), list(visit.values.all()), by, at, {})


def _preview(
    visit: Visit,
    sheets: list[Sheet],
    values: list[Value],
    by: Actor,
    at: dt.datetime,
    wheres: dict[UUID, Where],
) -> Result:
    work = Sheets(visit, sheets, values, now=at, seen=at, by=by)
    places = _places(work, wheres)
    results = []
    for sheet in work.sheets:
        rows = work.readings(sheet, places[sheet.pk])
        found, _parts = sheet_assess(
            sheet, readings=rows, signs=_signs(work.typed_of(sheet)), now=at,
            catalogue=work.catalogue, background=work.background(sheet),
        )  # fmt: skip
        advice = [advice_row(draft, sheet, i, at) for i, draft in enumerate(found.advice)]
        results.append(SheetResult(sheet, found, rows, advice))
    return Result(visit, results)


def result_of(*, visit: Visit, by: Actor, at: dt.datetime) -> Result:
    """Return what a visit leads to: from its rows once it is written up, else from its values."""
    if visit.state not in (State.WRITTEN_UP, State.REPORTED):
        return preview(visit=visit, by=by, at=at)
    results = []
    for sheet in sheets_of(visit):
        found, rows = stored_assessment(sheet, visit.finished_at or at)
        results.append(SheetResult(sheet, found, rows, list(sheet.advice.all())))
    return Result(visit, results)
