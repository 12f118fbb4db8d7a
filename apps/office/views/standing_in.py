"""Somebody is away: who makes their booked visits, looked at on one page and accepted at once."""

import datetime as dt
from typing import Any
from uuid import UUID

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.urls import reverse
from django.utils.translation import gettext as _
from django.utils.translation import ngettext
from django.views.decorators.http import require_http_methods

from apps.accounts.actors import office_of
from apps.accounts.selectors import firm_current
from apps.core import clock
from apps.core.exceptions import Conflict
from apps.core.refusing import attempt
from apps.core.scoping import Actor
from apps.flows.rounds import stale
from apps.flows.rounds_wording import km, money
from apps.flows.standing_in import Proposal, propose, take_over, times_ask
from apps.office.forms.standing_in import AskForm, StandInForm, key_of
from apps.office.views.common import POSTED, form_page, found, posted
from apps.rounds.choices import PlanState
from apps.rounds.models import Absence, RoundPlan
from apps.rounds.selectors.offers import visits_offered

LATEST_PLANS = 20


@require_http_methods(POSTED)
def stand_in(request: HttpRequest, pk: UUID) -> HttpResponse:
    """Office: who could make the booked visits of somebody who is away; POST sends them, or writes
    to the clients of those that nobody can make."""
    actor, today = office_of(request), clock.today()
    absence = found(Absence.objects.visible_to(actor).select_related("user"), pk)
    if "ask" in request.POST:
        return _ask(request, absence, actor)
    form = StandInForm(posted(request))
    if request.method == "POST" and form.is_valid():
        done = attempt(
            form,
            lambda: take_over(
                absence=absence.pk, picks=form.cleaned_data["lines"], today=today, by=actor,
                at=actor.at,
            ),
        )  # fmt: skip
        if done is not None:
            stored, refused = done
            if stored:
                said = ngettext(
                    "%(count)d visit is in other hands.", "%(count)d visits are in other hands.",
                    len(stored),
                )  # fmt: skip
                messages.success(request, said % {"count": len(stored)})
            for row in refused:
                messages.error(request, row.why)
            week = reverse("office:rounds") + f"?from={max(absence.first, today).isoformat()}"
            return redirect(reverse("office:stand_in", args=[absence.pk]) if refused else week)
    made = propose(absence=absence, today=today, at=actor.at)
    asked = visits_offered()
    nobody = [(visit, why, visit.pk not in asked) for visit, why in made.nobody]
    return form_page(
        request, form, "office/rounds/stand_in.html", absence=absence,
        rows=_rows(made, form), nobody=nobody, plan=_plan_open(absence, actor, today),
        can_ask=any(open_ for _visit, _why, open_ in nobody),
    )  # fmt: skip


def _plan_open(absence: Absence, actor: Actor, today: dt.date) -> RoundPlan | None:
    """Return the latest plan of the days that is being made, or may still be accepted."""
    rows = RoundPlan.objects.visible_to(actor).filter(
        state__in=(PlanState.WORKING, PlanState.READY), first__lte=absence.last
    )
    row = next((one for one in rows.order_by("-made_at", "pk")[:LATEST_PLANS]
                if one.last >= absence.first), None)  # fmt: skip
    if row is None or (row.state == PlanState.READY and stale(row, today)):
        return None
    return row


def _ask(request: HttpRequest, absence: Absence, actor: Actor) -> HttpResponse:
    """Offer other times to the clients of the visits that were named, each by itself."""
    form = AskForm(request.POST)
    if form.is_valid():
        try:
            asked, refused = times_ask(
                absence=absence.pk, visits=form.cleaned_data["visits"], by=actor, at=actor.at
            )
        except Conflict as error:
            messages.error(request, error.message)
            return redirect("office:rounds")
        if asked:
            said = ngettext(
                "Times are offered to %(count)d client.", "Times are offered to %(count)d clients.",
                len(asked),
            )  # fmt: skip
            messages.success(request, said % {"count": len(asked)})
        for why in refused:
            messages.error(request, why)
    else:
        messages.error(request, _("One of these is no visit of this page; look at it again."))
    return redirect("office:stand_in", absence.pk)


def _rows(made: Proposal, form: StandInForm) -> list[dict[str, Any]]:
    """Return the lines as they are shown; all are ticked until some were sent without."""
    sent = set(form["lines"].value() or ()) if form.is_bound else None
    currency = firm_current().currency
    return [
        {"line": line, "key": key_of(line.pick), "ticked": sent is None or key_of(line.pick) in sent,
         "cost": _("%(cost)s more, %(km)s km") % {
             "cost": f"{money(line.extra)}\u00a0{currency}", "km": km(line.metres)}}
        for line in made.lines
    ]  # fmt: skip
