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
    actor = office_of(request)
    try:
        query = words(LONGEST)(request.GET.get("q", ""))
    except BadAnswer:
        query = ""
    context = {
        "query": query,
        "hits": reads.search(actor, query),
        "asked": len(query) >= reads.SHORTEST,
        "most": reads.MOST,
    }
    return render(request, "office/search.html", context)
