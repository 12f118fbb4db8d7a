"""Feed at a client's place: a count of it, and what was counted before."""

import datetime as dt
from uuid import UUID

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods

from apps.care.models import FeedCount
from apps.core import clock
from apps.core.refusing import attempt
from apps.core.scoping import Actor
from apps.flows.feed_counting import feed_count
from apps.office.forms.feed import FeedCountForm
from apps.office.selectors.feed import feed_counted, feed_words
from apps.office.views.common import POSTED, form_page, posted
from apps.office.views.system_edits import system_of, system_url, trail_of
from apps.systems.models import System


@require_http_methods(POSTED)
def feed_new(request: HttpRequest, pk: UUID) -> HttpResponse:
    """Office: note how much feed lies at a system's place; what was counted before stands below."""
    actor, system = system_of(request, pk)
    form = FeedCountForm(posted(request), initial={"counted_on": clock.today()})
    if request.method == "POST" and form.is_valid():
        row = attempt(form, lambda: _count(system, form, actor))
        if row is not None:
            system.refresh_from_db()
            messages.success(request, feed_words(system))
            return redirect(system_url(system, "fish"))
    return form_page(
        request, form, "office/feed.html", heading=_("Feed at the place"), button=_("Note it"),
        lead=feed_words(system) or _("Nobody has counted it yet."),
        back=system_url(system, "fish"), trail=trail_of(system),
        counts=feed_counted(actor, system),
    )  # fmt: skip


def _count(system: System, form: FeedCountForm, actor: Actor) -> FeedCount:
    data = form.cleaned_data
    moment = actor.at
    if data["counted_on"] < timezone.localdate(actor.at):
        moment = timezone.make_aware(dt.datetime.combine(data["counted_on"], dt.time(12)))
    return feed_count(
        system=system, amount_g=data["amount_kg"] * 1000, counted_at=moment,
        sure=bool(data.get("sure")), by=actor, at=actor.at,
    )  # fmt: skip
