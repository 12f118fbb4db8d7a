"""The checklist of one system, its lines, and taking the last answer back."""

from typing import Any
from uuid import UUID

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from apps.accounts.actors import actor_of
from apps.catalogue.choices import EntryKind
from apps.core.exceptions import DomainError, Invalid
from apps.field.answers import bases_of, last_of, save, take_back
from apps.field.steps import Step, grouped, next_open, steps_of
from apps.field.views.clashes import clash_page
from apps.field.views.common import POSTED, page, said_last, sheet_context, words_of
from apps.field.work import Work, work_of
from apps.visits.choices import LEFT_RUNNING, Outcome
from apps.visits.models import Line


@require_safe
def sheet(request: HttpRequest, pk: UUID, sheet: UUID) -> HttpResponse:
    """Technician of the visit, or the office: the checklist in working order."""
    work = work_of(actor_of(request), pk, sheet)
    steps = steps_of(work)
    context = {
        **sheet_context(work, steps),
        "groups": grouped(steps),
        "next": next_open(steps, 0),
    }
    return page(request, "sheet.html", context)


def _line_of(work: Work, pk: UUID) -> Line:
    found = next((line for line in work.lines if line.pk == pk), None)
    if found is None or found.code == LEFT_RUNNING:
        raise Http404
    return found


def reasons_for(work: Work, line: Line) -> list[tuple[str, str]]:
    """Return why this line may be left undone: what always counts, and what its task names."""
    own = (work.catalogue.task(line.code) or {}).get("skip", [])
    rows = work.catalogue.of(EntryKind.REASON)
    return [
        (code, _(str(row["name"])))
        for code, row in sorted(rows.items(), key=lambda item: item[0] not in own)
        if row.get("always") or code in own
    ]


@require_http_methods(POSTED)
def line(request: HttpRequest, pk: UUID, sheet: UUID, line: UUID) -> HttpResponse:
    """Technician of the visit, or the office: one line; POST gives its answer."""
    work = work_of(actor_of(request), pk, sheet)
    row = _line_of(work, line)
    steps = steps_of(work)
    here = next(step for step in steps if step.kind == "line" and step.line is row)
    if request.method == "POST":
        return _line_answer(request, work, row, steps, here)
    return _line_page(request, work, row, steps, here)


def _line_page(
    request: HttpRequest, work: Work, row: Line, steps: list[Step], here: Step, fault: str = "",
    typed: str | None = None,
) -> HttpResponse:  # fmt: skip
    held = work.row("lines", row.pk)
    readings = [step for step in steps if step.kind == "reading" and step.line is row]
    unread = next((step for step in readings if not step.answered), None)
    after = next_open(steps, here.number)
    context = {
        **sheet_context(work, steps, here),
        "line": row,
        "task": work.catalogue.task(row.code) or {},
        "tools": [_(str(tool)) for tool in (work.catalogue.task(row.code) or {}).get("tools", [])],
        "reasons": reasons_for(work, row),
        "outcome": here.state if here.answered else "",
        "reason": held.get("reason") or row.reason,
        "note": typed if typed is not None else (held.get("note") or row.note or ""),
        "bases": {leaf: held.rev(leaf) for leaf in ("outcome", "reason", "note")},
        "readings": readings,
        "read": sum(step.answered for step in readings),
        "unread": unread,
        "next": unread if unread and not here.answered else after,
        "fault": fault,
    }
    return page(request, "line.html", context, status=422 if fault else 200)


def _line_answers(request: HttpRequest, work: Work, row: Line) -> dict[str, Any]:
    posted = request.POST
    prefix = f"lines/{row.pk}"
    answers: dict[str, Any] = {}
    held = work.row("lines", row.pk)
    reason = posted.get("reason", "")
    outcome = Outcome.NOT_DONE.value if reason else posted.get("outcome", "")
    if outcome:
        answers[f"{prefix}/outcome"] = outcome
        if reason or held.get("reason"):
            answers[f"{prefix}/reason"] = reason
    if "note" in posted and (posted["note"].strip() or held.get("note")):
        answers[f"{prefix}/note"] = posted["note"]
    return answers


def _line_answer(
    request: HttpRequest, work: Work, row: Line, steps: list[Step], here: Step
) -> HttpResponse:
    answers = _line_answers(request, work, row)
    reason = answers.get(f"lines/{row.pk}/reason")
    note = request.POST.get("note")
    if reason and reason not in dict(reasons_for(work, row)):
        return _line_page(request, work, row, steps, here, _("Choose one of the reasons."), note)
    if answers.get(f"lines/{row.pk}/outcome") == Outcome.NOT_DONE and not reason:
        fault = _("Say why it was not done: choose a reason.")
        return _line_page(request, work, row, steps, here, fault, note)
    try:
        clashes = save(work, answers, bases_of(request.POST, f"lines/{row.pk}"))
    except Invalid as error:
        return _line_page(request, work, row, steps, here, words_of(error), note)
    except DomainError as error:
        messages.error(request, words_of(error))
        return redirect("field:sheet", pk=work.visit.pk, sheet=work.sheet.pk)
    if clashes:
        return clash_page(request, work, clashes, here.name)
    if f"lines/{row.pk}/outcome" not in answers:
        return redirect(here.url)
    after = next_open([step for step in steps if step is not here], here.number)
    if after is None:
        return redirect("field:sheet", pk=work.visit.pk, sheet=work.sheet.pk)
    return redirect(after.url)


@require_POST
def undo(request: HttpRequest, pk: UUID, sheet: UUID) -> HttpResponse:
    """Technician of the visit, or the office: take back one's own last answer on this sheet."""
    work = work_of(actor_of(request), pk, sheet)
    last = last_of(work)
    back = redirect("field:sheet", pk=pk, sheet=sheet)
    if last is None or request.POST.get("at") != last.at:
        messages.error(request, _("Another answer was given since; nothing was taken back."))
        return back
    said = said_last(work, steps_of(work), last)
    try:
        clashes = take_back(work, last)
    except DomainError as error:
        messages.error(request, words_of(error))
        return back
    if clashes:
        messages.error(request, _("Somebody else has changed it since; nothing was taken back."))
        return back
    messages.success(request, _("Taken back: %(what)s.") % {"what": said})
    return back
