"""Answers of the API: from rows to plain JSON."""

import datetime as dt
from dataclasses import asdict
from typing import Any

from django.utils.translation import gettext as _

from apps.advice.explaining import explanation_words
from apps.advice.models import Advice
from apps.advice.selectors import advice_text, caution_texts
from apps.calc.advice.registry import RULES
from apps.care.selectors import DueRow
from apps.catalogue.selectors import Catalogue
from apps.flows.visit_closing import Result, SheetResult
from apps.flows.wording import reason_text
from apps.reports.models import Letter, Report
from apps.systems.models import System
from apps.systems.selectors import loop_litres
from apps.visits.models import Visit


def iso(moment: dt.datetime | dt.date | None) -> str | None:
    """Return a time or a date as ISO 8601."""
    return moment.isoformat() if moment else None


def due_row(row: DueRow, catalogue: Catalogue) -> dict[str, Any]:
    """Return one row of the due list."""
    return {
        "rank": row.rank,
        "system": str(row.system.pk),
        "system_name": row.system.name,
        "place": str(row.system.place_id),
        "place_name": row.system.place_name,
        "client": str(row.system.client_id),
        "client_name": row.system.client_name,
        "due_by": iso(row.system.due_by),
        "days_late": row.days_late,
        "reasons": [
            {"code": reason.code, "text": reason_text(reason, catalogue), "since": iso(reason.since)}
            | ({"value": reason.value} if reason.value is not None else {})
            | ({"unit": reason.unit} if reason.unit else {})
            for reason in row.reasons
        ],
        "tasks": [
            {"id": str(task.pk), "code": task.code, "open": iso(task.next_open),
             "due": iso(task.next_due), "late": iso(task.next_late), "minutes": task.minutes,
             "criticality": task.criticality}
            for task in row.tasks
        ],
    }  # fmt: skip


def system_shape(system: System) -> dict[str, Any]:
    """Return a system with its loops and components."""
    return {
        "id": str(system.pk),
        "name": system.name,
        "kind": system.kind,
        "place": str(system.place_id),
        "place_name": system.place.name,
        "client": str(system.place.client_id),
        "started_on": iso(system.started_on),
        "active": system.active,
        "rev": system.rev,
        "loops": [
            {
                "id": str(loop.pk), "kind": loop.kind, "litres": loop_litres(loop),
                "components": [
                    {"id": str(part.pk), "kind": part.kind, "name": part.name,
                     "litres": part.litres, "area_m2": part.area_m2}
                    for part in loop.fitted  # type: ignore[attr-defined]
                ],
            }
            for loop in system.loops.all()
        ],
    }  # fmt: skip


def visit_shape(visit: Visit, catalogue: Catalogue) -> dict[str, Any]:
    """Return a visit with its sheets and lines."""
    return {
        "id": str(visit.pk),
        "place": str(visit.place_id),
        "place_name": visit.place.name,
        "client": str(visit.place.client_id),
        "state": visit.state,
        "start": iso(visit.start),
        "end": iso(visit.end),
        "reason": visit.reason,
        "client_answer": visit.client_answer,
        "started_at": iso(visit.started_at),
        "finished_at": iso(visit.finished_at),
        "rev": visit.rev,
        "systems": [str(sheet.system_id) for sheet in visit.sheets.all()],
        "technicians": [
            {"id": str(row.user_id), "name": str(row.user)} for row in visit.assignments.all()
        ],
        "sheets": [
            {
                "id": str(sheet.pk), "system": str(sheet.system_id),
                "system_name": sheet.system.name,
                "lines": [
                    {"id": str(line.pk), "code": line.code, "name": line_name(line.code, catalogue),
                     "minutes_planned": line.minutes_planned, "outcome": line.outcome or None,
                     "reason": line.reason or None}
                    for line in sheet.lines.all()
                ],
            }
            for sheet in visit.sheets.all()
        ],
    }  # fmt: skip


def line_name(code: str, catalogue: Catalogue) -> str:
    """Return what a line of a checklist asks for."""
    if code == "left_running":
        return _("Left running: pumps, air, heater, timer, valves, level, lid and gate")
    return _(catalogue.name("tasks", code))


def advice_shape(row: Advice, catalogue: Catalogue) -> dict[str, Any]:
    """Return an advice in words and figures."""
    rule = RULES.get(row.rule)
    source = catalogue.get("sources", str(row.parameters.get("source", ""))) or {}
    return {
        "id": str(row.pk),
        "rule": row.rule,
        "ref": rule.ref if rule else "",
        "loop": str(row.loop_id) if row.loop_id else None,
        "urgency": row.urgency,
        "who": row.who,
        "by": iso(row.by_at),
        "dose": row.dose,
        "unit": row.unit or None,
        "substance": row.parameters.get("substance") or None,
        "steps": list(row.parameters.get("steps") or []),
        "text": row.decision_text or advice_text(row.rule, row.parameters),
        "caution": " ".join(caution_texts(row.parameters.get("cautions", []))),
        "source": str(source.get("title") or row.parameters.get("source", "")),
        "decision": row.decision,
        "recheck_hours": row.parameters.get("recheck_hours"),
        "explanation": explanation_words(row.parameters.get("explanation") or {}, catalogue),
    }


def sheet_result(item: SheetResult, catalogue: Catalogue) -> dict[str, Any]:
    """Return what one sheet leads to."""
    by_id = {str(row.pk): row for row in item.readings}
    return {
        "system": str(item.sheet.system_id),
        "derived": [
            {"code": row.code, "loop": row.loop or None, "value": row.value, "unit": row.unit,
             "low": row.low, "high": row.high, "explanation": explanation_words(asdict(row.explanation), catalogue)}
            for row in item.found.derived
        ],
        "judgements": [
            {"reading": str(row.pk), "loop": str(row.loop_id), "measurand": row.measurand,
             "value": row.value, "unit": row.unit, "word": row.word, "band": row.band,
             "doubts": row.doubts}
            for row in item.readings
        ],
        "advice": [advice_shape(row, catalogue) for row in item.advice],
        "not_trusted": [
            {"reading": row.reading or None, "loop": row.loop, "measurand": row.measurand,
             "why": row.why}
            for row in item.found.not_trusted
            if not row.reading or row.reading in by_id
        ],
        "held_back": [
            {"rule": row.rule, "what": row.what, "because": row.because} for row in item.found.held
        ],
    }  # fmt: skip


def result_shape(result: Result, catalogue: Catalogue) -> dict[str, Any]:
    """Return what a visit leads to."""
    return {
        "visit": str(result.visit.pk),
        "state": result.visit.state,
        "sheets": [sheet_result(item, catalogue) for item in result.sheets],
    }


def report_shape(report: Report) -> dict[str, Any]:
    """Return a report with its versions."""
    versions = [
        {
            "id": str(version.pk), "number": version.number, "sha256": version.sha256,
            "size": version.pdf_size, "language": version.language, "reason": version.reason,
            "made_at": iso(version.made_at),
            "released_at": iso(version.release.at) if hasattr(version, "release") else None,
        }
        for version in report.versions.all()
    ]  # fmt: skip
    return {
        "id": str(report.pk),
        "number": report.number,
        "visit": str(report.visit_id),
        "system": str(report.system_id),
        "correction_due": report.correction_due,
        "versions": versions,
    }


def letter_shape(letter: Letter) -> dict[str, Any]:
    """Return a letter with what happened to it."""
    return {
        "id": str(letter.pk),
        "kind": letter.kind,
        "visit": str(letter.visit_id) if letter.visit_id else None,
        "contact": str(letter.contact_id) if letter.contact_id else None,
        "channel": letter.channel,
        "address": letter.address,
        "subject": letter.subject_line,
        "state": letter.state,
        "tries": letter.tries,
        "message_id": letter.message_id,
        "last_error": letter.last_error,
        "made_at": iso(letter.made_at),
        "sent_at": iso(letter.sent_at),
        "not_before": iso(letter.not_before),
        "next_try": iso(letter.next_try),
        "steps": [
            {"at": iso(step.at), "state": step.state, "words": step.words}
            for step in letter.steps.all()
        ],
    }
