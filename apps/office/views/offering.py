"""Times offered to a client: chosen by the office, taken back, or picked by telephone."""

from typing import Any
from uuid import UUID, uuid4

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.urls import reverse
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods

from apps.accounts.actors import office_of
from apps.clients.models import Contact
from apps.core.refusing import attempt
from apps.core.scoping import Actor
from apps.flows import offering
from apps.office.forms.base import EmptyForm
from apps.office.forms.offering import OfferForm, PickForm
from apps.office.selectors import offering as reads
from apps.office.views.common import POSTED, form_page, found, posted
from apps.rounds.choices import OfferState, TimeState
from apps.rounds.models import TimesOffered
from apps.visits.models import Visit


@require_http_methods(POSTED)
def visit_offer(request: HttpRequest, pk: UUID) -> HttpResponse:
    """Office: the times that the rounds have room for; POST offers those ticked to the client."""
    actor = office_of(request)
    visit = found(Visit.objects.visible_to(actor).select_related("place__client"), pk)
    if _made(request, actor, visit):
        return redirect("office:visit", visit.pk)
    choice = offering.choice_of(visit, actor.at)
    offerable = choice.refusal is None
    keys = [time.key for time in choice.times]
    form = OfferForm(
        posted(request), times=[(key, key) for key in keys],
        initial={"key": uuid4(), "times": keys, **OfferForm.initial_of(choice.until)},
    )  # fmt: skip
    if request.method == "POST":
        if choice.refusal is not None:
            form.add_error(None, choice.refusal.text)
        elif form.is_valid():
            made = attempt(form, lambda: _offer(visit, form, actor))
            if made is not None:
                messages.success(request, _("The times are held, and the letter is on its way."))
                return redirect("office:visit", visit.pk)
    contacts = Contact.objects.visible_to(actor).filter(
        client=visit.place.client, gets_letters=True
    )
    ticked: Any = form["times"].value() or []
    return form_page(
        request, form, "office/visit_offer.html", visit=visit, choice=choice, offerable=offerable,
        rows=reads.time_rows(actor, choice.times, ticked),
        all_late=all(time.late for time in choice.times), contacts=contacts.order_by("name"),
    )  # fmt: skip


def _made(request: HttpRequest, actor: Actor, visit: Visit) -> bool:
    """Whether this form was sent before: pressed twice, or sent again by the browser."""
    try:
        key = UUID(request.POST.get("key", ""))
    except ValueError:
        return False
    return bool(TimesOffered.objects.visible_to(actor).filter(pk=key, visit=visit).exists())


def _offer(visit: Visit, form: OfferForm, actor: Actor) -> TimesOffered:
    data = form.cleaned_data
    return offering.offer(
        visit=visit, keys=data["times"], until=form.deadline(), pk=data["key"], by=actor,
        at=actor.at,
    )  # fmt: skip


@require_http_methods(POSTED)
def offer_back(request: HttpRequest, pk: UUID) -> HttpResponse:
    """Office: ask once, then take an offer back; its times are free again."""
    actor, offer = _offer_of(request, pk)
    form = EmptyForm(posted(request))
    if request.method == "POST" and form.is_valid():
        done = attempt(form, lambda: offering.take_back(offer=offer, by=actor, at=actor.at))
        if done is not None:
            messages.success(request, _("Taken back; the times are free again."))
            return redirect("office:visit", offer.visit_id)
    return form_page(
        request, form, "office/confirm.html", heading=_("Take the offer back?"),
        text=_("The times are free again. Whoever opens the client's link reads that they can be had no more; tell them yourself what comes instead."),
        button=_("Take it back"), back=_visit_url(offer), pen=True,
    )  # fmt: skip


@require_http_methods(POSTED)
def offer_pick(request: HttpRequest, pk: UUID) -> HttpResponse:
    """Office: book the time that a client chose by telephone."""
    actor, offer = _offer_of(request, pk)
    times = [
        (str(row["row"].pk), row["label"])
        for row in map(reads.time_shown, offer.times.prefetch_related("holds__user"))
        if row["row"].state == TimeState.HELD
    ]
    form = PickForm(posted(request), times=times)
    if request.method == "POST" and form.is_valid():
        key = UUID(form.cleaned_data["time"])
        done = attempt(form, lambda: offering.pick(offer=offer, time_id=key, by=actor, at=actor.at))
        if done is not None:
            messages.success(request, _("Booked; the client gets the appointment by letter."))
            return redirect("office:visit", offer.visit_id)
    return form_page(
        request, form, heading=_("Chosen by telephone"), button=_("Book it"),
        back=_visit_url(offer), lead=str(offer.visit.place),
    )  # fmt: skip


def _offer_of(request: HttpRequest, pk: UUID) -> tuple[Actor, TimesOffered]:
    actor = office_of(request)
    rows = TimesOffered.objects.visible_to(actor).select_related("visit__place__client")
    return actor, found(rows, pk)


def _visit_url(offer: TimesOffered) -> str:
    return reverse("office:visit", args=[offer.visit_id])


def can_offer(visit: Visit) -> bool:
    """Whether the office may look for times to offer: nothing settles the visit yet."""
    if visit.times_offered.filter(state=OfferState.OPEN).exists():
        return False
    return offering.is_wanted(visit)
