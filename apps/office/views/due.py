"""Due: which systems need somebody, how soon and why; and what waits for the office."""

from typing import Any

from django.core.exceptions import BadRequest
from django.http import HttpRequest, HttpResponse, HttpResponseBase
from django.shortcuts import render
from django.utils.translation import gettext as _
from django.views.decorators.http import require_safe

from apps.accounts.actors import office_of
from apps.catalogue.selectors import catalogue_current
from apps.core import clock
from apps.core.csv_text import csv_answer
from apps.flows.middleware import list_seen
from apps.office.selectors import due as reads
from apps.office.selectors.waiting import open_calls, todays_rounds, waiting_for_us
from apps.office.views.common import chosen, page_of
from apps.systems.models import System


def _area(request: HttpRequest, known: list[str]) -> str:
    area = request.GET.get("area", "")
    if area and area not in known:
        raise BadRequest("area: " + _("not known here"))
    return area


@require_safe
def due(request: HttpRequest) -> HttpResponse:
    """Office: the ranked list, in pages, with what waits for us and today's rounds beside it."""
    actor, on = office_of(request), clock.today()
    kept = chosen(request, "show", reads.FILTERS)
    known = reads.areas(actor)
    area = _area(request, known)
    rows = reads.due_list(actor, on, area)
    counts = reads.due_counts(rows)
    listed = rows.filter(reads.FILTERS[kept][1]) if kept else rows
    page = page_of(request, listed, count=counts[kept or "all"])
    rows_here: Any = page.object_list
    lines = reads.due_lines(actor, rows_here, on, page.start_index() or 1, catalogue_current())
    systems = System.objects.visible_to(actor).filter(active=True).count()
    waiting = waiting_for_us(actor)
    context = {
        "sentence": reads.opening(on, counts, systems),
        "filters": reads.filter_words(counts, kept),
        "areas": known,
        "area": area,
        "page": page,
        "lines": lines,
        "systems": systems,
        "waiting": waiting,
        "rounds": todays_rounds(actor),
        "calls": open_calls(actor),
    }
    return render(request, "office/due.html", context)


@require_safe
def due_csv(request: HttpRequest) -> HttpResponseBase:
    """Office: the whole list, under the same filters, for a spreadsheet."""
    actor, on = office_of(request), clock.today()
    kept = chosen(request, "show", reads.FILTERS)
    rows = reads.due_list(actor, on, _area(request, reads.areas(actor)))
    rows = rows.filter(reads.FILTERS[kept][1]) if kept else rows
    head = [
        _("rank"), _("system"), _("place"), _("street"), _("town"), _("area"), _("client"),
        _("how soon"), _("due by"), _("days late"), _("why"),
    ]  # fmt: skip
    list_seen(request, rows)
    cells = reads.due_cells(actor, rows, on, catalogue_current())
    return csv_answer(f"due-{on.isoformat()}", head, cells)
