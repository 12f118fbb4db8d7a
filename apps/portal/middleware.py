"""What is sent to a client's page is looked at before a byte of it is read: by whom, and how much.

It stands before the check of the form's token, which reads the whole body for it.
"""

from collections.abc import Callable
from typing import Any

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import translation

from apps.accounts.selectors import firm_current
from apps.core import clock
from apps.core.measures import METRIC, reading_in
from apps.flows.home_help import MOST_PHOTOS
from apps.portal.forms import TUBES
from apps.portal.opening import (
    Closed,
    closed_page,
    gone,
    language_of,
    link_numbered,
    link_shown,
    private,
    reader_of,
)
from apps.visits.services.photos import MAX_BYTES

PORTAL = "portal"
ASKED_ANEW = "portal:again"
"""Asks by the number of a link alone, with no session."""
BESIDES = 2_000_000
"""Bytes for the other fields of a form, and the lines between its parts."""
PHOTOS = {"portal:help": MOST_PHOTOS, "portal:log": len(TUBES)}
"""How many photos a page takes at once."""


def most_of(page: str) -> int:
    """Return how many bytes may be sent to one of the client's pages at once."""
    return PHOTOS.get(page, 0) * MAX_BYTES + BESIDES


class SentMiddleware:
    """Refuses what comes by a link that opens nothing, and what is too large, unread."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        """Answer."""
        return self.get_response(request)

    def process_view(
        self, request: HttpRequest, _view: Any, _args: Any, kwargs: dict[str, Any]
    ) -> HttpResponse | None:
        """Answer in place of the page where nothing of it may be read."""
        match = request.resolver_match
        if match is None or match.namespace != PORTAL or request.method != "POST":
            return None
        by = link_numbered if match.view_name == ASKED_ANEW else link_shown
        try:
            link = by(request, kwargs["secret"], clock.now())
        except Closed as error:
            return closed_page(request, error.link)
        except Http404:
            return gone(request)
        if _length(request) > most_of(match.view_name):
            with translation.override(language_of(reader_of(link))), reading_in(METRIC):
                context = {"firm": firm_current()}
                return private(render(request, "portal/too_much.html", context, status=413))
        return None


def _length(request: HttpRequest) -> int:
    """Return how many bytes were announced; of what is not announced Django reads none."""
    try:
        return int(request.META.get("CONTENT_LENGTH") or 0)
    except ValueError:
        return 0
