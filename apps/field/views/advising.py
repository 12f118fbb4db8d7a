"""The advice drafted so far: kept, edited or struck, one decision at a time."""

from typing import Any
from uuid import UUID

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods

from apps.accounts.actors import actor_of
from apps.advice.choices import Decision
from apps.advice.models import Advice
from apps.core.exceptions import DomainError, Invalid
from apps.field.answers import bases_of, save
from apps.field.meaning import Advised, advised, advised_all, assessed
from apps.field.steps import steps_of
from apps.field.views.clashes import clash_page
from apps.field.views.common import POSTED, page, sheet_context, words_of
from apps.field.work import Work, work_of

LEAVES = ("decision", "text", "reason")


@require_http_methods(POSTED)
def advice(request: HttpRequest, pk: UUID, sheet: UUID) -> HttpResponse:
    """Technician of the visit, or the office: the advice so far; POST decides on one."""
    work = work_of(actor_of(request), pk, sheet)
    items = advised_all(work, assessed(work)) if work.open else stored(work)
    if request.method == "POST":
        return _decide(request, work, items)
    return _page(request, work, items)


def stored(work: Work) -> list[Advised]:
    """Return what a written-up sheet advised: one query."""
    rows = Advice.objects.visible_to(work.actor).filter(sheet=work.sheet).order_by("position")
    return [advised(row, work.catalogue) for row in rows]


def _page(
    request: HttpRequest, work: Work, items: list[Advised], fault: str = "", about: str = "",
    typed: Any = None,
) -> HttpResponse:  # fmt: skip
    rows = []
    for item in items:
        held = work.row("advice", item.row.pk)
        mine = typed is not None and str(item.row.pk) == about
        decision = str(held.get("decision") or ("" if work.open else item.row.decision))
        rows.append(
            {"item": item, "decision": decision, "word": _decision_word(decision),
             "text": typed.get("text", "") if mine else held.get("text") or item.text,
             "reason": typed.get("reason", "") if mine else held.get("reason") or "",
             "bases": {leaf: held.rev(leaf) for leaf in LEAVES},
             "fault": fault if str(item.row.pk) == about else "",
             "open": typed.get("decision", "") if mine else ""}
        )  # fmt: skip
    context = {**sheet_context(work, steps_of(work)), "rows": rows}
    return page(request, "advice.html", context, status=422 if fault else 200)


def _decision_word(decision: str) -> str:
    return str(Decision(decision).label) if decision in Decision.values else ""


def _decide(request: HttpRequest, work: Work, items: list[Advised]) -> HttpResponse:
    posted = request.POST
    about, decision = str(posted.get("advice", "")), str(posted.get("decision", ""))
    item = next((i for i in items if str(i.row.pk) == about), None)
    back = redirect("field:advice", pk=work.visit.pk, sheet=work.sheet.pk)
    if item is None:
        messages.error(request, _("This advice has changed with a reading; look at it again."))
        return back
    fault = _fault(decision, posted)
    if fault:
        return _page(request, work, items, fault, about, posted)
    prefix = f"advice/{about}"
    held = work.row("advice", item.row.pk)
    new = {
        "decision": decision,
        "text": posted.get("text", "") if decision == Decision.EDIT else "",
        "reason": posted.get("reason", "") if decision != Decision.KEEP else "",
    }
    answers = {
        f"{prefix}/{leaf}": value for leaf, value in new.items() if value != (held.get(leaf) or "")
    }
    try:
        clashes = save(work, answers, bases_of(posted, prefix))
    except Invalid as error:
        return _page(request, work, items, words_of(error), about, posted)
    except DomainError as error:
        messages.error(request, words_of(error))
        return back
    if clashes:
        return clash_page(request, work, clashes, _("Advice"))
    return redirect(f"{back.url}#advice-{about}")  # type: ignore[attr-defined]


def _fault(decision: str, posted: Any) -> str:
    if decision not in (Decision.KEEP, Decision.EDIT, Decision.STRIKE):
        return _("Keep it, edit it or strike it.")
    if decision == Decision.EDIT and not str(posted.get("text", "")).strip():
        return _("Write the advice as it should read.")
    if decision != Decision.KEEP and not str(posted.get("reason", "")).strip():
        return _("Say why, in a few words.")
    return ""
