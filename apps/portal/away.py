"""Times away: told, changed, withdrawn; the paper for whoever looks after the fish meanwhile."""

import datetime as dt
from typing import Any
from uuid import UUID, uuid4

from django import forms
from django.contrib import messages
from django.contrib.auth.decorators import login_not_required
from django.core.exceptions import ValidationError
from django.db.models import QuerySet
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone, translation
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy
from django.views.decorators.http import require_http_methods, require_safe

from apps.accounts.choices import Purpose
from apps.accounts.models import ClientLink
from apps.accounts.selectors import firm_current
from apps.calc.away import CARD
from apps.calc.callscript import FIRST_AID
from apps.clients.choices import Backup
from apps.clients.models import Contact, Place, TimeAway
from apps.core import clock
from apps.core.exceptions import DomainError
from apps.core.fields import LongWordsField, WordsField
from apps.core.refusing import refuse
from apps.core.scoping import Actor
from apps.flows.times_away import Away, away_add, away_change, away_withdraw
from apps.portal.away_plan import plan_of
from apps.portal.forms import DAY_ERRORS
from apps.portal.opening import by_link, opened, private

METHODS = ["GET", "HEAD", "POST"]
BACKUP = (
    (Backup.YES, gettext_lazy("Yes")), (Backup.NO, gettext_lazy("No")),
    (Backup.UNSURE, gettext_lazy("Not sure")),
)  # fmt: skip
COLUMNS = ("first", "last", "carer_name", "carer_phone", "backup", "may_come", "notes")


def _day(label: Any) -> forms.DateField:
    box = forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d")
    return forms.DateField(label=label, widget=box, error_messages=DAY_ERRORS)


class AwayForm(forms.Form):
    """When a household is away, and who looks after its systems."""

    key = forms.UUIDField(widget=forms.HiddenInput, initial=uuid4)
    rev = forms.IntegerField(widget=forms.HiddenInput, initial=1)
    first = _day(gettext_lazy("First day away"))
    last = _day(gettext_lazy("Last day away"))
    carer_name = WordsField(
        label=gettext_lazy("Who looks after it"), required=False, max_length=120,
        help_text=gettext_lazy("Somebody who comes once a day. Empty: nobody does."),
    )  # fmt: skip
    carer_phone = WordsField(
        label=gettext_lazy("Their number"), required=False, max_length=40,
        widget=forms.TextInput(attrs={"type": "tel"}),
    )  # fmt: skip
    backup = forms.ChoiceField(
        label=gettext_lazy("Is there air that runs without mains power?"),
        choices=BACKUP,
        widget=forms.RadioSelect,
        error_messages={"required": gettext_lazy("Choose one of them."),
                        "invalid_choice": gettext_lazy("Choose one of them.")},
    )  # fmt: skip
    may_come = forms.BooleanField(
        label=gettext_lazy("You may come in while we are away"), required=False, initial=True
    )
    notes = LongWordsField(
        label=gettext_lazy("What else we should know"), required=False, max_length=1000,
        widget=forms.Textarea(attrs={"rows": 3}),
    )  # fmt: skip

    def __init__(self, data: Any, *, places: list[Place], initial: Any = None) -> None:
        super().__init__(data, initial=initial)
        self.places = places
        if len(places) > 1:
            self.fields["place"] = forms.ChoiceField(
                label=_("Where"), choices=[(str(row.pk), f"{row.name}, {row.address}") for row in places]
            )  # fmt: skip

    def said(self) -> Away:
        """Return what a valid form says."""
        return Away(**{name: self.cleaned_data[name] for name in COLUMNS})

    def chosen_place(self) -> Place:
        """Return the place that a valid form is about."""
        chosen = self.cleaned_data.get("place")
        return next(row for row in self.places if chosen in (None, str(row.pk)))


def _whole(request: HttpRequest, secret: str) -> tuple[ClientLink, Actor, str]:
    """Return an opened link of the whole page. Raises Http404 for one of an appointment."""
    link, actor, language = opened(request, secret, clock.now())
    if link.purpose != Purpose.PAGE:
        raise Http404
    return link, actor, language


def times_ahead(actor: Actor, today: dt.date) -> QuerySet[TimeAway]:
    """Return a client's times away that are not over, soonest first."""
    rows = TimeAway.objects.visible_to(actor).select_related("place__client")
    return rows.filter(withdrawn_at=None, last__gte=today).order_by("first", "pk")


def _row(actor: Actor, pk: UUID) -> TimeAway:
    row: TimeAway | None = (
        TimeAway.objects.visible_to(actor)
        .select_related("place__client")
        .filter(pk=pk, withdrawn_at=None)
        .first()
    )
    if row is None:
        raise Http404
    return row


@login_not_required
@require_http_methods(METHODS)
@by_link
def away_new(request: HttpRequest, secret: str) -> HttpResponse:
    """Whoever holds the link: say when nobody is at home, and who looks after the fish."""
    _link, actor, language = _whole(request, secret)
    today = timezone.localdate(actor.at)
    places = list(
        Place.objects.visible_to(actor).filter(systems__active=True).distinct().order_by("name")
    )
    if not places:
        raise Http404
    with translation.override(language):
        form = AwayForm(request.POST if request.method == "POST" else None, places=places)
        if request.method == "POST" and form.is_valid():
            try:
                made = away_add(
                    place=form.chosen_place(), said=form.said(), key=form.cleaned_data["key"], by=actor,
                    at=actor.at, today=today,
                )  # fmt: skip
            except (DomainError, ValidationError) as error:
                refuse(form, error)
            else:
                messages.success(request, _("Thank you, we know. Print this page for the tank."))
                return private(redirect("portal:away", secret=secret, pk=made.pk))
        return _form(request, secret, form, ahead=times_ahead(actor, today))


@login_not_required
@require_http_methods(METHODS)
@by_link
def away_edit(request: HttpRequest, secret: str, pk: UUID) -> HttpResponse:
    """Whoever holds the link: change one of their own times away."""
    _link, actor, language = _whole(request, secret)
    row = _row(actor, pk)
    with translation.override(language):
        form = AwayForm(
            request.POST if request.method == "POST" else None, places=[row.place],
            initial={name: getattr(row, name) for name in (*COLUMNS, "rev")} | {"key": row.pk},
        )  # fmt: skip
        if request.method == "POST" and form.is_valid():
            try:
                away_change(
                    row=row, said=form.said(), rev=form.cleaned_data["rev"], by=actor, at=actor.at,
                    today=timezone.localdate(actor.at),
                )  # fmt: skip
            except (DomainError, ValidationError) as error:
                refuse(form, error)
            else:
                messages.success(request, _("Kept. An older paper at the tank is wrong now."))
                return private(redirect("portal:away", secret=secret, pk=row.pk))
        return _form(request, secret, form, row=row)


def _form(request: HttpRequest, secret: str, form: AwayForm, **more: Any) -> HttpResponse:
    context = {"secret": secret, "firm": firm_current(), "form": form, **more}
    status = 422 if form.is_bound and form.errors else 200
    return private(render(request, "portal/away_form.html", context, status=status))


@login_not_required
@require_safe
@by_link
def away(request: HttpRequest, secret: str, pk: UUID) -> HttpResponse:
    """Whoever holds the link: the paper for whoever looks after the fish, to print."""
    link, actor, language = _whole(request, secret)
    row = _row(actor, pk)
    with translation.override(language):
        firm = firm_current()
        contacts = Contact.objects.visible_to(actor).filter(client_id=row.place.client_id)
        own = contacts.filter(pk=link.contact_id) if link.contact_id else contacts.order_by("name")
        context = {
            "secret": secret, "firm": firm, "row": row, "plans": plan_of(row, actor),
            "phone": firm.emergency_phone or firm.phone, "contact": own.exclude(phone="").first(),
            "look": [_(text) for text in CARD.look], "leave": [_(text) for text in CARD.leave],
            "before": _before(row), "after": [_(text) for text in CARD.after],
            "first_aid": [_(text) for text in FIRST_AID],
            "over": row.last < timezone.localdate(actor.at),
        }  # fmt: skip
        return private(render(request, "portal/away.html", context))


def _before(row: TimeAway) -> list[str]:
    """Return what is done before leaving, as far as there is air to try and somebody to show."""
    found = [_(CARD.backup)] if row.backup == Backup.YES else []
    return found + ([_(text) for text in CARD.handing_over] if row.carer_name else [])


@login_not_required
@require_http_methods(METHODS)
@by_link
def away_end(request: HttpRequest, secret: str, pk: UUID) -> HttpResponse:
    """Whoever holds the link: withdraw one of their own times away."""
    _link, actor, language = _whole(request, secret)
    row = _row(actor, pk)
    with translation.override(language):
        if request.method == "POST":
            try:
                away_withdraw(row=row, by=actor, at=actor.at, today=timezone.localdate(actor.at))
                messages.success(request, _("Withdrawn: we take it that you are at home."))
            except DomainError as error:
                messages.error(request, error.message)
            return private(redirect("portal:page", secret=secret))
        context = {"secret": secret, "firm": firm_current(), "row": row}
        return private(render(request, "portal/away_end.html", context))
