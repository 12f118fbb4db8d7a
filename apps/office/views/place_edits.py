"""Changes of a place: address, client, contacts, hours, water."""

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
from apps.accounts.services import links_revoke
from apps.care.selectors import standing_barred
from apps.clients.models import Contact, Place, SourceWater, VisitingHours
from apps.clients.services import contact_change, row_change, row_save
from apps.core import clock
from apps.core.refusing import attempt
from apps.core.scoping import Actor
from apps.flows.visit_days import hours_change
from apps.office.forms.base import ReasonForm
from apps.office.forms.places import (
    ClientEditForm,
    ContactForm,
    HoursForm,
    PlaceEditForm,
    SourceForm,
)
from apps.office.standing_words import standing_words
from apps.office.views.common import POSTED, attempt_based, form_page, found, posted
from apps.office.views.places import found_told, groups_of, near_of, place_values

CONTACT = (
    "name", "email", "phone", "language", "units", "gets_letters", "reports_as", "gets_notices",
    "gets_texts", "time_zone",
)  # fmt: skip


def _place(request: HttpRequest, pk: UUID) -> tuple[Actor, Place]:
    actor = office_of(request)
    return actor, found(Place.objects.visible_to(actor).select_related("client"), pk)


def _url(place: Place) -> str:
    return reverse("office:place", args=[place.pk])


@require_http_methods(POSTED)
def place_edit(request: HttpRequest, pk: UUID) -> HttpResponse:
    """Office: change a place; what somebody else changed meanwhile is shown beside."""
    actor, place = _place(request, pk)
    initial = {
        name: getattr(place, name) for name in PlaceEditForm.base_fields if hasattr(place, name)
    }
    form = PlaceEditForm(
        posted(request), initial=initial | {"place_name": place.name}, near=near_of(actor)
    )
    both: list[Any] = []
    if request.method == "POST" and form.is_valid():
        values = place_values(form.cleaned_data)
        done, both = attempt_based(
            form, place, {"place_name": "name"},
            lambda rev: row_change(row=place, changes=values, rev=rev, by=actor, at=actor.at),
        )  # fmt: skip
        if done:
            messages.success(request, _("Kept."))
            found_told(request, form)
            return redirect(_url(place))
    return form_page(
        request, form, "office/place_form.html", heading=_("Change the place"), button=_("Keep it"),
        back=_url(place), both=both, groups=groups_of(form),
    )  # fmt: skip


@require_http_methods(POSTED)
def client_edit(request: HttpRequest, pk: UUID) -> HttpResponse:
    """Office: change the client of a place."""
    actor, place = _place(request, pk)
    client = place.client
    names = ("kind", "since", "notes", "just_tell", "active", "rev")
    initial = {name: getattr(client, name) for name in names} | {"client_name": client.name}
    form = ClientEditForm(posted(request), initial=initial)
    both: list[Any] = []
    if request.method == "POST" and form.is_valid():
        data = form.cleaned_data
        values = {"name": data["client_name"]} | {name: data[name] for name in names[:-1]}
        done, both = attempt_based(
            form, client, {"client_name": "name"},
            lambda rev: row_change(row=client, changes=values, rev=rev, by=actor, at=actor.at),
        )  # fmt: skip
        if done:
            messages.success(request, _("Kept."))
            return redirect(_url(place))
    return form_page(
        request, form, heading=_("Change the client"), button=_("Keep it"), back=_url(place),
        both=both,
    )  # fmt: skip


@require_http_methods(POSTED)
def contact_new(request: HttpRequest, pk: UUID) -> HttpResponse:
    """Office: a new person at the client's."""
    actor, place = _place(request, pk)
    form = ContactForm(posted(request))
    if request.method == "POST" and form.is_valid():
        contact = Contact(client=place.client, **form.cleaned_data)
        if attempt(form, lambda: row_save(row=contact, by=actor, at=actor.at)) is not None:
            messages.success(request, _("Added."))
            return redirect(_url(place))
    return form_page(
        request, form, heading=_("Add a contact"), button=_("Add"), back=_url(place),
        lead=place.client.name,
    )  # fmt: skip


@require_http_methods(POSTED)
def contact_edit(request: HttpRequest, pk: UUID, contact_pk: UUID) -> HttpResponse:
    """Office: change a person at the client's."""
    actor, place = _place(request, pk)
    contacts = Contact.objects.visible_to(actor).filter(client=place.client)
    contact = found(contacts, contact_pk)
    initial = {name: getattr(contact, name) for name in CONTACT}
    form = ContactForm(posted(request), initial=initial)
    if request.method == "POST" and form.is_valid():
        changes = dict(form.cleaned_data)
        done = attempt(
            form,
            lambda: contact_change(contact=contact, changes=changes, by=actor, at=actor.at),
        )
        if done is not None:
            messages.success(request, _("Kept."))
            return redirect(_url(place))
    return form_page(
        request, form, heading=_("Change the contact"), button=_("Keep it"), back=_url(place),
        lead=place.client.name,
    )  # fmt: skip


@require_http_methods(POSTED)
def hours(request: HttpRequest, pk: UUID) -> HttpResponse:
    """Office: set the hours at which somebody may come; none at all means any time."""
    actor, place = _place(request, pk)
    held = list(VisitingHours.objects.visible_to(actor).filter(place=place))
    form = HoursForm(posted(request), initial=HoursForm.initial_of(held))
    if "more" in request.POST:
        form = HoursForm.longer(request.POST.dict())
    elif request.method == "POST" and form.is_valid():
        spans = form.windows()

        def act() -> bool:
            hours_change(place=place, hours=spans, by=actor, at=actor.at)
            return True

        if attempt(form, act):
            messages.success(request, _("The hours are set."))
            _barred_say(request, place)
            return redirect(_url(place))
    return form_page(request, form, "office/hours.html", place=place, back=_url(place))


def _barred_say(request: HttpRequest, place: Place) -> None:
    """Name the standing appointments at which nobody may come any more."""
    rows = standing_barred(place.pk, clock.today())
    if not rows:
        return
    names = [f"{standing_words(row.rrule)}, {row.starts:%H:%M}–{row.ends:%H:%M}" for row in rows]
    said = _(
        "At these hours nobody may come for %(standing)s. Agree on another time, or change the hours."
    )
    messages.warning(request, said % {"standing": "; ".join(names)})


@require_http_methods(POSTED)
def source_new(request: HttpRequest, pk: UUID) -> HttpResponse:
    """Office: note a measurement of the water that the place tops up with."""
    actor, place = _place(request, pk)
    form = SourceForm(posted(request), initial={"on": clock.today()})
    if request.method == "POST" and form.is_valid():
        values = {name: value for name, value in form.cleaned_data.items() if value is not None}
        row = SourceWater(place=place, **values)
        if attempt(form, lambda: row_save(row=row, by=actor, at=actor.at)) is not None:
            messages.success(request, _("The water is noted."))
            return redirect(_url(place))
    return form_page(
        request, form, heading=_("Note the source water"), button=_("Note it"), back=_url(place),
        lead=_("What the place tops up with: without it no dose and no water change is advised."),
    )  # fmt: skip


@require_http_methods(POSTED)
def links_end(request: HttpRequest, pk: UUID) -> HttpResponse:
    """Office: end every link that a client's letters hold, with a reason that stays on record."""
    actor, place = _place(request, pk)
    form = ReasonForm(posted(request))
    if request.method == "POST" and form.is_valid():
        count = links_revoke(
            client_id=place.client_id, at=actor.at, by=actor, reason=form.cleaned_data["reason"]
        )
        said = ngettext("%(count)d link is ended.", "%(count)d links are ended.", count)
        messages.success(request, said % {"count": count})
        return redirect(_url(place))
    return form_page(
        request, form, button=_("End them"), back=_url(place),
        heading=_("End the links of %(name)s?") % {"name": place.client.name},
        lead=_("Whoever holds one opens nothing with it any more, the client too. The next letter "
               "brings a new one."),
    )  # fmt: skip
