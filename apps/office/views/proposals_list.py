"""All proposals: where each is, whom it waits for, what it comes to."""

from typing import Any

from django.db.models import QuerySet
from django.http import HttpRequest, HttpResponse, HttpResponseBase
from django.shortcuts import render
from django.utils.translation import gettext as _
from django.views.decorators.http import require_safe

from apps.accounts.actors import office_of
from apps.accounts.selectors import firm_current
from apps.core import clock
from apps.core.csv_text import csv_answer
from apps.flows.middleware import list_seen
from apps.office.selectors import proposals_list as lists
from apps.office.views.common import chosen, page_of
from apps.proposals.models import Proposal


def _asked(request: HttpRequest) -> tuple[QuerySet[Proposal], str, str]:
    rows = lists.proposals_of(office_of(request), clock.today())
    kept = chosen(request, "show", lists.FILTERS)
    return rows, kept, chosen(request, "sort", lists.SORTS, "number")


@require_safe
def proposals(request: HttpRequest) -> HttpResponse:
    """Office: all proposals with their state, the newest first; filters, sorting, pages."""
    rows, kept, sort = _asked(request)
    page = page_of(request, lists.arranged(rows, kept, sort))
    context: dict[str, Any] = {
        "filters": lists.filter_words(rows, kept),
        "sort": sort,
        "page": page,
        "rows": lists.rows_shown(list(page.object_list), firm_current()),
    }
    return render(request, "office/proposals.html", context)


@require_safe
def proposals_csv(request: HttpRequest) -> HttpResponseBase:
    """Office: the proposals under the same filters, for a spreadsheet."""
    rows, kept, sort = _asked(request)
    rows = lists.arranged(rows, kept, sort)
    list_seen(request, rows)
    head = [
        _("number"), _("name"), _("place"), _("client"), _("state"), _("waits for"), _("written"),
        _("sent"), _("valid until"), _("answered"), _("by"), _("price"), _("currency"), _("built as"),
    ]  # fmt: skip
    return csv_answer("proposals", head, lists.cells(rows, firm_current()))  # fmt: skip
