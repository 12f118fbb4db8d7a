"""Search: one box for name, phone, street and system."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_safe

from apps.accounts.actors import office_of
from apps.office.selectors import search as reads
from apps.visits.services.answers import BadAnswer, words

LONGEST = 80


@require_safe
def search(request: HttpRequest) -> HttpResponse:
    """Office: what ?q= finds among systems, places, people and reports, by group."""
    actor, query = office_of(request), query_of(request)
    context = {
        "query": query,
        "hits": reads.search(actor, query),
        "asked": len(query) >= reads.SHORTEST,
        "most": reads.MOST,
    }
    return render(request, "office/search.html", context)


def query_of(request: HttpRequest) -> str:
    """Return what ?q= asks for, empty where it is no text of ours."""
    try:
        return words(LONGEST)(request.GET.get("q", ""))
    except BadAnswer:
        return ""
