"""Left running, finishing a visit, and what it led to."""

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any
from uuid import UUID

from django.conf import settings
from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.urls import reverse
from django.utils.translation import get_language
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_safe

from apps.accounts.actors import actor_of
from apps.catalogue.choices import EntryKind
from apps.catalogue.selectors import catalogue_current
from apps.core.exceptions import DomainError, Invalid
from apps.field.answers import bases_of, save
from apps.field.meaning import advised
from apps.field.selectors import visit_of
from apps.field.steps import reading_name, reading_url, steps_of
from apps.field.views.clashes import clash_page
from apps.field.views.common import POSTED, page, sheet_context, words_of
from apps.field.views.findings import keep_photos, photos_of
from apps.field.work import Work, work_of
from apps.flows import visit_closing
from apps.reports.rendering.wording import Reader, derived_rows
from apps.systems.models import Loop
from apps.visits.choices import LEFT_RUNNING, Outcome, State
from apps.visits.models import Line

# these are asked only where such a part is on record; the rest always
ONLY_WITH = {"heater": "heater", "timer": "timer", "valves": "valve"}
PHOTO = "photo"


def running_items(work: Work) -> tuple[list[tuple[str, str]], list[str]]:
    """Return what must run when one leaves, and what is not on record here."""
    kinds = {
        part.kind
        for loop in work.loops
        for part in loop.fitted  # type: ignore[attr-defined]
    }
    rows = work.catalogue.of(EntryKind.LEFT_RUNNING)
    asked, without = [], []
    for code, row in rows.items():
        kind = ONLY_WITH.get(code)
        if kind is None or kind in kinds:
            asked.append((code, _(str(row["name"]))))
        else:
            without.append({"heater": _("heater"), "timer": _("timer"), "valves": _("valve")}[code])
    return asked, without


def _last_line(work: Work) -> Line:
    found = next((line for line in work.lines if line.code == LEFT_RUNNING), None)
    if found is None:
        raise Http404
    return found


@require_http_methods(POSTED)
def left_running(request: HttpRequest, pk: UUID, sheet: UUID) -> HttpResponse:
    """Technician of the visit, or the office: the last line; POST with every tick sets it done."""
    work = work_of(actor_of(request), pk, sheet)
    line = _last_line(work)
    if request.method == "POST":
        return _left(request, work, line)
    return _left_page(request, work, line, set())


def _left_page(
    request: HttpRequest, work: Work, line: Line, ticks: set[str], missing: list[str] | None = None,
    fault: str = "",
) -> HttpResponse:  # fmt: skip
    steps = steps_of(work)
    here = next(step for step in steps if step.line is line)
    items, without = running_items(work)
    photos = photos_of(work)
    done = here.state == Outcome.DONE
    held = work.row("lines", line.pk)
    note = request.POST.get("note")
    context = {
        **sheet_context(work, steps, here),
        "items": [
            {"code": code, "name": name, "ticked": done or code in ticks
             or (code == PHOTO and any(p.caption == _("Left running") for p in photos)), "missing": code in (missing or [])}
            for code, name in items
        ],
        "without": without,
        "photos": photos,
        "done": done,
        "note": note if note is not None else held.get("note") or line.note or "",
        "bases": {leaf: held.rev(leaf) for leaf in ("outcome", "note")},
        "fault": fault,
        "open_before": sum(not step.answered for step in steps if step is not here),
    }  # fmt: skip
    return page(request, "left_running.html", context, status=422 if fault else 200)


def _left(request: HttpRequest, work: Work, line: Line) -> HttpResponse:
    posted = request.POST
    items, _without = running_items(work)
    ticks = set(posted.getlist("tick"))
    note = str(posted.get("note", ""))
    try:
        keep_photos(request, work, _("Left running"))
        photos = photos_of(work)
        if any(photo.caption == _("Left running") for photo in photos):
            ticks.add(PHOTO)
        elif not photos:
            ticks.discard(PHOTO)
        missing = [code for code, _name in items if code not in ticks]
        if missing == [PHOTO] and note.strip():
            missing = []
        if missing:
            names = ", ".join(name for code, name in items if code in missing)
            fault = _("Not yet: %(names)s.") % {"names": names}
            if PHOTO in missing:
                fault += " " + _("If no photo can be taken, say why in the note.")
            return _left_page(request, work, line, ticks, missing, fault)
        answers: dict[str, Any] = {f"lines/{line.pk}/outcome": Outcome.DONE.value}
        if note.strip() or work.row("lines", line.pk).get("note"):
            answers[f"lines/{line.pk}/note"] = note
        clashes = save(work, answers, bases_of(posted, f"lines/{line.pk}"))
    except Invalid as error:
        return _left_page(request, work, line, ticks, [], words_of(error))
    except DomainError as error:
        messages.error(request, words_of(error))
        return redirect("field:sheet", pk=work.visit.pk, sheet=work.sheet.pk)
    if clashes:
        return clash_page(request, work, clashes, _("Left running"))
    return redirect("field:finish", pk=work.visit.pk)


@dataclass(frozen=True)
class Problem:
    """Why a visit cannot end, in words, and where that is put right."""

    text: str
    url: str


@require_http_methods(POSTED)
def finish(request: HttpRequest, pk: UUID) -> HttpResponse:
    """Technician of the visit, or the office: what is still open; POST writes the visit up."""
    actor = actor_of(request)
    visit = visit_of(actor, pk)
    if visit.state in (State.WRITTEN_UP, State.REPORTED):
        return redirect("field:result", pk=pk)
    problems: list[Problem] = []
    if request.method == "POST":
        try:
            visit_closing.finish(visit=visit, by=actor, at=actor.at)
        except Invalid as error:
            works = _works(request, pk)
            problems = [_problem(item, works) for item in error.errors]
        except DomainError as error:
            problems = [Problem(words_of(error), reverse("field:visit", kwargs={"pk": pk}))]
        else:
            return redirect("field:result", pk=pk)
    works = _works(request, pk)
    parts: list[dict[str, Any]] = []
    for work in works:
        steps = steps_of(work)
        parts.append(
            {"work": work, "open": [s for s in steps if not s.answered or s.state == "refused"],
             "steps": steps, "answered": sum(s.answered for s in steps)}
        )  # fmt: skip
    running = [
        part
        for part in parts
        if any(s.kind == "line" and s.line and s.line.code == LEFT_RUNNING for s in part["open"])
    ]
    context = {
        "visit": visit,
        "place": visit.place,
        "parts": parts,
        "running": running,
        "problems": problems,
        "may_finish": visit.state == State.UNDER_WAY,
    }
    return page(request, "finish.html", context, status=422 if problems else 200)


def _works(request: HttpRequest, pk: UUID) -> list[Work]:
    actor = actor_of(request)
    visit = visit_of(actor, pk)
    return [work_of(actor, pk, sheet.pk) for sheet in visit.sheets.all()]


def _problem(item: dict[str, Any], works: list[Work]) -> Problem:
    """Return an error of the finish with the page on which it is put right."""
    parts = str(item["pointer"]).strip("/").split("/")
    text = words_of(Invalid([item]))
    if parts[0] != "sheets" or not parts[1].isdigit() or int(parts[1]) >= len(works):
        return Problem(text, "")
    work = works[int(parts[1])]
    where = {"pk": work.visit.pk, "sheet": work.sheet.pk}
    group = parts[2] if len(parts) > 2 else ""
    key = UUID(parts[3]) if len(parts) > 3 else None
    name, url = "", reverse("field:sheet", kwargs=where)
    if group == "lines" and key is None:
        url = reverse("field:left_running", kwargs=where)
    elif group == "lines" and any(line.pk == key for line in work.lines):
        url = reverse("field:line", kwargs={**where, "line": key})
        name = next(s.name for s in steps_of(work) if s.line and s.line.pk == key)
    elif group == "readings" and key is not None:
        name, url = _reading_place(work, key) or (name, url)
    elif group == "findings" and key is not None:
        url = reverse("field:finding", kwargs={**where, "key": key})
    elif group == "advice":
        url = reverse("field:advice", kwargs=where)
    lead = work.sheet.system.name if len(works) > 1 else ""
    if text.startswith(f"{lead}: "):
        lead = ""
    return Problem(": ".join(part for part in (lead, name, text) if part), url)


def _reading_place(work: Work, key: UUID) -> tuple[str, str] | None:
    row = work.row("readings", key)
    code = str(row.get("measurand") or "").lower()
    when = str(row.get("when") or "before")
    for loop in work.loops:
        keys = [found.key for found in work.place_rows(loop, code, when)]
        if key in keys and work.catalogue.measurand(code):
            turn = keys.index(key) + 1
            return reading_name(work, loop, code, when), reading_url(work, loop, code, when, turn)
    return None


@require_safe
def result(request: HttpRequest, pk: UUID) -> HttpResponse:
    """Technician of the visit, or the office: what a written-up visit led to."""
    actor = actor_of(request)
    visit = visit_of(actor, pk)
    if visit.state not in (State.WRITTEN_UP, State.REPORTED):
        return redirect("field:visit", pk=pk)
    catalogue = catalogue_current()
    found = visit_closing.result_of(visit=visit, by=actor, at=actor.at)
    parts: list[dict[str, Any]] = [
        {
            "sheet": item.sheet,
            "advice": [advised(row, catalogue) for row in item.advice if row.decision != "strike"],
            "struck": sum(row.decision == "strike" for row in item.advice),
            "derived": _derived(item.found.derived, item.sheet.system.loops.all()),
            "readings": len(item.readings),
        }
        for item in found.sheets
    ]
    urgent = any(a.row.urgency in ("now", "today") for part in parts for a in part["advice"])
    context = {"visit": visit, "place": visit.place, "parts": parts, "urgent": urgent}
    return page(request, "result.html", context)


def _derived(rows: Any, loops: Iterable[Loop]) -> list[dict[str, str]]:
    """Return the worked-out values in the same words as the client's report."""
    snapshot = {
        "units": "metric",
        "time_zone": settings.TIME_ZONE,
        "language": get_language() or settings.LANGUAGE_CODE,
        "derived": [
            {"code": r.code, "loop": r.loop, "value": r.value, "unit": r.unit} for r in rows
        ],
        "sketch": [{"id": str(loop.pk), "kind": loop.kind} for loop in loops],
    }
    return derived_rows(Reader(snapshot))
