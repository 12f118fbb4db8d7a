"""Calendars by a secret address, and the client's page on which they are made and ended."""

from uuid import UUID

from django.contrib import messages
from django.contrib.auth.decorators import login_not_required
from django.http import Http404, HttpRequest, HttpResponse, HttpResponseNotFound
from django.shortcuts import redirect, render
from django.utils import translation
from django.utils.cache import get_conditional_response
from django.utils.http import http_date
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from apps.accounts import services
from apps.accounts.choices import Purpose
from apps.accounts.models import CalendarFeed
from apps.accounts.selectors import feed_addresses, feeds_open, firm_current
from apps.core import clock
from apps.core.exceptions import DomainError
from apps.flows.calendars import calendar_find, calendar_of
from apps.flows.middleware import calendar_seen
from apps.portal.opening import by_link, opened, private
from apps.reports.rendering.feed import feed_text


@login_not_required
@require_safe
def feed(request: HttpRequest, secret: str) -> HttpResponse:
    """Whoever holds the address: the visits of the technician or the client whose it is."""
    now = clock.now()
    held = calendar_find(secret)
    if held is None:
        gone = HttpResponseNotFound("There is no such calendar.\n", "text/plain; charset=utf-8")
        return _unseen(gone)
    row, language = held
    with translation.override(language):
        shown = calendar_of(row, now)
    since = services.feed_read(feed=row, content=shown.content, at=now)
    etag = f'"{shown.content[:32]}-{int(since.timestamp()):x}"'
    stamp = int(since.timestamp())
    answer = get_conditional_response(request, etag=etag, last_modified=stamp)
    if answer is None:
        # beyond the days that a technician may look into a visit has no place
        told = [entry.uid.partition("@")[0] for entry in shown.entries if entry.location]
        calendar_seen(request, row, map(UUID, told))
        answer = HttpResponse(feed_text(shown, since), content_type="text/calendar; charset=utf-8")
        answer.headers["Content-Disposition"] = 'inline; filename="visits.ics"'
    answer.headers["ETag"] = etag
    answer.headers["Last-Modified"] = http_date(stamp)
    return _unseen(answer)


def _unseen(answer: HttpResponse) -> HttpResponse:
    """Keep an answer out of shared caches, search engines and other sites' hands."""
    # a calendar may keep what it read, and asks each time whether it still holds
    answer.headers["Cache-Control"] = "private, no-cache"
    answer.headers["X-Robots-Tag"] = "noindex, nofollow"
    answer.headers["Referrer-Policy"] = "no-referrer"
    return answer


@login_not_required
@require_http_methods(["GET", "HEAD", "POST"])
@by_link
def calendar(request: HttpRequest, secret: str) -> HttpResponse:
    """Whoever holds the link: make an address for their visits; it is shown this once."""
    now = clock.now()
    link, actor, language = opened(request, secret, now)
    if link.purpose != Purpose.PAGE:
        raise Http404
    made, status = {}, 200
    with translation.override(language):
        if request.method == "POST":
            try:
                made = feed_addresses(
                    services.feed_issue(
                        client_id=link.client_id, contact_id=link.contact_id, at=now, by=actor
                    )
                )
            except DomainError as error:
                messages.error(request, error.message)
                status = error.status
        context = {
            "secret": secret, "firm": firm_current(), "made": made,
            "feeds": feeds_open(actor).filter(contact_id=link.contact_id),
        }  # fmt: skip
        return private(render(request, "portal/calendar.html", context, status=status))


@login_not_required
@require_POST
@by_link
def calendar_end(request: HttpRequest, secret: str, feed: UUID) -> HttpResponse:
    """Whoever holds the link: end one of their own calendar addresses."""
    now = clock.now()
    link, actor, language = opened(request, secret, now)
    row: CalendarFeed | None = feeds_open(actor).filter(pk=feed, contact_id=link.contact_id).first()
    if link.purpose != Purpose.PAGE or row is None:
        raise Http404
    services.feed_revoke(feed=row, by=actor, at=now)
    with translation.override(language):
        messages.success(request, _("That address is ended. Calendars find nothing there now."))
    return private(redirect("portal:calendar", secret=secret))
