"""What a visit's page shows: lines and answers, what they lead to, reports, letters, steps."""

from collections.abc import Mapping
from dataclasses import asdict, dataclass, field
from typing import Any

from django.db.models import Q
from django.utils.translation import gettext as _

from apps.advice.explaining import explanation_words
from apps.calc.advice.results import Derived
from apps.catalogue.selectors import Catalogue
from apps.core.drawing.signature import signature
from apps.core.exceptions import DomainError
from apps.core.numbers import format_figure, format_plain, with_unit
from apps.core.scoping import Actor
from apps.flows.visit_closing import SheetResult, result_of
from apps.office.derived_words import (
    DERIVED,
    INPUTS,
    OF_THE_SYSTEM,
    blocking_words,
    doubt_word,
)
from apps.office.selectors.system_page import advice_shown
from apps.office.wording import people_by_author
from apps.reports.models import Letter, Notice, Report
from apps.reports.services.reports import blocking
from apps.visits.besides import signature_data, supplies_data, supply_words, swap_words, swaps_data
from apps.visits.choices import LEFT_RUNNING, Outcome, State
from apps.visits.models import Finding, Line, Photo, Reading, Sheet, Visit, VisitStep
from apps.visits.selectors import history
from apps.visits.services.typed import Typed, moment_of, typed_sheets
from apps.visits.shown import loop_name, order_of, reading_data, shown

ASSESSED = (State.UNDER_WAY, State.WRITTEN_UP, State.REPORTED)


@dataclass
class SheetShown:
    """One system's part of a visit, as the office reads it."""

    sheet: Sheet
    lines: list[dict[str, Any]]
    readings: list[dict[str, Any]] = field(default_factory=list)
    derived: list[dict[str, Any]] = field(default_factory=list)
    advice: list[dict[str, Any]] = field(default_factory=list)
    not_trusted: list[str] = field(default_factory=list)
    findings: list[dict[str, Any]] = field(default_factory=list)
    supplies: list[str] = field(default_factory=list)
    swaps: list[dict[str, str]] = field(default_factory=list)
    done: int = 0


def sheets_of(actor: Actor, visit: Visit, catalogue: Catalogue) -> tuple[list[SheetShown], str]:
    """Return the sheets, and why they could not be assessed where an answer is at fault."""
    typed = typed_sheets(visit.values.all())
    shown_sheets = [
        SheetShown(sheet, _lines(sheet, typed.get(sheet.pk), catalogue))
        for sheet in visit.sheets.all()
    ]
    for item in shown_sheets:
        item.done = sum(line["outcome"] == Outcome.DONE for line in item.lines)
        said = typed.get(item.sheet.pk, Typed())
        item.supplies = [supply_words(row) for row in supplies_data(said)]
        item.swaps = [{"name": row["name"], "what": swap_words(row)} for row in swaps_data(said)]
    if visit.state not in ASSESSED:
        return shown_sheets, ""
    try:
        result = result_of(visit=visit, by=actor, at=actor.at)
    except DomainError as error:
        return shown_sheets, error.message
    by_sheet = {item.sheet.pk: item for item in shown_sheets}
    for found in result.sheets:
        _fill(by_sheet[found.sheet.pk], found, actor, visit, catalogue)
    return shown_sheets, ""


def signature_of(visit: Visit) -> dict[str, Any] | None:
    """Return who signed, when, and the signature as a drawing."""
    row = signature_data(typed_sheets(visit.values.all()).values())
    if row is None:
        return None
    title = _("Signature of %(name)s") % {"name": row["name"]}
    drawn = signature(strokes=row["strokes"], title=title) if row["strokes"] else ""
    return {"name": row["name"], "at": moment_of(row["at"]), "drawn": drawn}


def line_name(code: str, catalogue: Catalogue) -> str:
    """Return what a line of a checklist asks for."""
    if code == LEFT_RUNNING:
        return _("Left running: pumps, air, heater, timer, valves, level, lid and gate")
    return _(catalogue.name("tasks", code))


def _lines(sheet: Sheet, typed: Any, catalogue: Catalogue) -> list[dict[str, Any]]:
    answers = typed.lines if typed else {}
    return [_line_row(line, answers.get(line.pk, {}), catalogue) for line in sheet.lines.all()]


def _line_row(line: Line, typed: dict[str, Any], catalogue: Catalogue) -> dict[str, Any]:
    outcome = line.outcome or typed.get("outcome") or ""
    reason = line.reason or typed.get("reason") or ""
    return {
        "name": line_name(line.code, catalogue),
        "outcome": outcome,
        "word": str(Outcome(outcome).label) if outcome else _("open"),
        "reason": _(catalogue.name("reasons", reason)) if reason else "",
        "minutes": line.minutes if line.minutes is not None else typed.get("minutes"),
        "planned": line.minutes_planned,
        "note": line.note or typed.get("note") or "",
    }


def _fill(
    item: SheetShown, found: SheetResult, actor: Actor, visit: Visit, catalogue: Catalogue
) -> None:
    item.readings = _readings(found, visit, catalogue)
    loops = {str(row.loop_id): loop_name(row.loop.kind) for row in found.readings if row.loop_id}
    several = len(loops) > 1
    item.derived = _derived(found, loops if several else {}, catalogue)
    item.advice = [advice_shown(row, catalogue) for row in found.advice]
    item.not_trusted = [
        f"{_(catalogue.name('measurands', row.measurand))}: {doubt_word(row.why)}"
        for row in found.found.not_trusted
    ]
    item.findings = _findings(actor, found.sheet, catalogue)


def _derived(
    found: SheetResult, loops: dict[str, str], catalogue: Catalogue
) -> list[dict[str, Any]]:
    rows, told = [], set()
    for row in found.found.derived:
        whole = row.code in OF_THE_SYSTEM
        if row.code not in DERIVED or (whole and row.code in told):
            continue
        told.add(row.code)
        rows.append(derived_shown(row, "" if whole else loops.get(row.loop, ""), catalogue))
    return rows


def _readings(found: SheetResult, visit: Visit, catalogue: Catalogue) -> list[dict[str, Any]]:
    loops = {row.loop_id for row in found.readings}
    now = visit.finished_at or visit.end
    past: dict[Any, list[Reading]] = {}
    for row in history(list(loops), now) if loops else []:
        if row.sheet_id != found.sheet.pk and row.trusted:
            past.setdefault((row.loop_id, row.measurand), []).append(row)
    several = len(loops) > 1
    rows = []
    for row in sorted(
        found.readings, key=lambda r: (str(r.loop_id), order_of(r.measurand), r.when)
    ):
        before = past.get((row.loop_id, row.measurand), [])
        data = reading_data(row, before[-1] if before else None, before, catalogue)
        rows.append(
            {
                "item": shown(data), "row": row,
                "loop": loop_name(row.loop.kind) if several else "",
                "doubts": [doubt_word(doubt["code"]) for doubt in row.doubts],
                "stored": not row._state.adding,
            }
        )  # fmt: skip
    return rows


def derived_shown(row: Derived, loop: str, catalogue: Catalogue) -> dict[str, Any]:
    """Return a worked-out value with how it came about."""
    words = DERIVED[row.code]
    span = ""
    if row.low is not None and row.high is not None:
        low, high = (format_figure(value, words.decimals) for value in (row.low, row.high))
        span = _("%(low)s to %(high)s, 95 of 100 times") % {"low": low, "high": high}
    return {
        "name": str(words.name),
        "loop": loop,
        "figure": with_unit(_small_figure(row.value, words.decimals), row.unit),
        "span": span,
        **explained(asdict(row.explanation), catalogue),
    }


def _small_figure(value: float, decimals: int) -> str:
    """Return a figure; what is above nought but rounds to it as 'less than'."""
    least = 10.0**-decimals
    if 0 < value < least / 2:
        return f"< {format_figure(least, decimals)}"
    return format_figure(value, decimals)


def explained(explanation: Mapping[str, Any], catalogue: Catalogue) -> dict[str, Any]:
    """Return formula, inputs, source, range and assumptions of an explanation in words."""
    words = explanation_words(explanation, catalogue)
    words["inputs"] = [
        (_input_name(code, catalogue), _input(value)) for code, value in words["inputs"].items()
    ]
    return words


def _input_name(code: str, catalogue: Catalogue) -> str:
    if code in INPUTS:
        return str(INPUTS[code])
    entry = catalogue.measurand(code)
    if entry is None:
        return code.replace("_", " ")
    unit = f", {entry['unit']}" if entry.get("unit") else ""
    return f"{_(str(entry['name']))}{unit}"


def _input(value: Any) -> str:
    return format_plain(round(value, 3)) if isinstance(value, int | float) else str(value)


def _findings(actor: Actor, sheet: Sheet, catalogue: Catalogue) -> list[dict[str, Any]]:
    photos = {str(photo.pk): photo for photo in Photo.objects.visible_to(actor).filter(sheet=sheet)}
    rows = (
        Finding.objects.visible_to(actor)
        .filter(sheet=sheet, corrected_by__isnull=True)
        .select_related("component")
        .order_by("seen_at", "id")
    )
    shown_rows = [
        {"row": row, "sign": _(catalogue.name("signs", row.sign)) if row.sign else "",
         "photos": [photos.pop(pk) for pk in row.photo_ids if pk in photos]}
        for row in rows
    ]  # fmt: skip
    if photos:
        shown_rows.append({"row": None, "sign": "", "photos": list(photos.values())})
    return shown_rows


def reports_of(actor: Actor, visit: Visit) -> list[Report]:
    """Return a visit's reports with versions and releases: three queries."""
    return list(
        Report.objects.visible_to(actor)
        .filter(visit=visit)
        .select_related("system")
        .prefetch_related("versions__release")
        .order_by("number")
    )


def release_state(visit: Visit, reports: list[Report]) -> dict[str, Any]:
    """Return whether there is something to release, and what stands in its way."""
    if visit.state not in (State.WRITTEN_UP, State.REPORTED):
        return {"open": False, "blocked": []}
    fresh = any(
        not hasattr(version, "release")
        for report in reports
        for version in list(report.versions.all())[-1:]
    )
    codes = blocking(visit)
    if visit.state == State.REPORTED and not fresh and not codes:
        return {"open": False, "blocked": []}
    return {"open": not codes, "blocked": [blocking_words(code) for code in sorted(set(codes))]}


def letters_of(actor: Actor, visit: Visit) -> list[Letter]:
    """Return a visit's letters, newest first: one query.

    A reminder of several visits is a letter of each.
    """
    told = Notice.objects.filter(
        Q(key__startswith=f"reminder:{visit.pk}:")
        | Q(key__startswith=f"text:reminder:{visit.pk}:"),
        contact__client=visit.place.client_id,
    ).values("letter")
    rows = Letter.objects.visible_to(actor).filter(Q(visit=visit) | Q(pk__in=told))
    return list(rows.select_related("contact").order_by("-made_at"))


def steps_of(actor: Actor, visit: Visit) -> list[dict[str, Any]]:
    """Return the log of a visit with names: two queries."""
    steps = list(VisitStep.objects.visible_to(actor).filter(visit=visit).order_by("number"))
    names = people_by_author([step.by for step in steps])
    return [
        {"step": step, "word": str(State(step.to_state).label), "by": names.get(step.by, "")}
        for step in steps
    ]
