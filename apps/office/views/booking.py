"""Booking a visit, moving it, and what the client said to it."""

import datetime as dt
from typing import Any
from uuid import UUID

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.db.models import QuerySet
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.urls import reverse
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods

from apps.accounts.actors import office_of
from apps.accounts.models import User
from apps.accounts.selectors import firm_current, technicians
from apps.catalogue.selectors import catalogue_current
from apps.clients.models import Contact, Place
from apps.core import clock
from apps.core.asked import day_of, time_of
from apps.core.refusing import attempt
from apps.core.scoping import Actor
from apps.flows import visit_booking
from apps.office.forms.base import DayField
from apps.office.forms.booking import AnswerForm, BookForm, MoveForm, TimesForm
from apps.office.selectors import booking as reads
from apps.office.selectors.away import away_on
from apps.office.selectors.dawn import dawn_words
from apps.office.selectors.offering import open_offer
from apps.office.selectors.time_doubts import time_doubts
from apps.office.selectors.visit_days import systems_on
from apps.office.views.common import POSTED, attempt_based, form_page, found, posted
from apps.systems.models import System
from apps.visits.choices import State
from apps.visits.models import Visit


def _people(actor: Actor) -> QuerySet[User]:
    return technicians().visible_to(actor)  # type: ignore[attr-defined]


def _calendar(actor: Actor, place: Place, first: dt.date, chosen: dt.date) -> dict[str, Any]:
    taken = reads.taken_between(actor, first, 7 * reads.WEEKS)
    return {
        "weeks": reads.calendar(place, taken, first, clock.today(), chosen),
        "before": first - dt.timedelta(days=7 * reads.WEEKS),
        "after": first + dt.timedelta(days=7 * reads.WEEKS),
        "taken": taken,
    }


def _day_typed(request: HttpRequest) -> dt.date | None:
    """Return the day of a form that was sent, so that a refused one shows that day; None: no day."""
    try:
        return DayField().clean(request.POST.get("day")) if request.method == "POST" else None
    except ValidationError:
        return None


@require_http_methods(POSTED)
def book(request: HttpRequest, pk: UUID) -> HttpResponse:
    """Office: book a visit to a system and others of its place; POST pencils it in."""
    actor = office_of(request)
    system = found(System.objects.visible_to(actor).select_related("place__client"), pk)
    place = system.place
    systems = System.objects.visible_to(actor).filter(place=place, active=True).order_by("name")
    today = clock.today()
    wished = _day_typed(request) or day_of(request, "day")
    day = wished or reads.first_open(place, today + dt.timedelta(days=1), today)
    first = day_of(request, "from") or reads.first_day(min(day, today + dt.timedelta(days=6)))
    if day >= first + dt.timedelta(days=7 * reads.WEEKS):
        first = reads.first_day(day)
    shown = _calendar(actor, place, reads.first_day(first), day)
    work = reads.work_on(list(systems), day, catalogue_current())
    people = _people(actor)
    if request.method == "POST":
        form = BookForm(request.POST, people=people, systems=systems)
        sure = form.is_valid() and not _doubted(form)
        visit = _book(form, place, actor) if sure else None
        if visit is not None:
            asked = visit.state == State.BOOKED
            messages.success(
                request,
                _("Booked; the client has been told.") if visit.is_told
                else _("Booked; the client has been asked.") if asked
                else _("Pencilled in; the client has not been asked yet."),
            )  # fmt: skip
            return redirect("office:visit", visit.pk)
    else:
        # a visit day of the place is for more systems than the one that it is booked from
        wanted = {system.pk, *systems_on(actor, place, day)}
        minutes = sum(work[pk].minutes for pk in wanted if pk in work)
        start = reads.suggest(place, day, minutes, list(people), shown["taken"], firm_current())
        start |= reads.agreed(actor, place, day, people)
        form = BookForm(initial=start | {"systems": list(wanted)}, people=people, systems=systems)
    contacts = Contact.objects.visible_to(actor).filter(client=place.client, gets_letters=True)
    return form_page(
        request, form, "office/book.html", system=system, place=place, day=day,
        work=[(row, work[row.pk]) for row in systems], contacts=contacts,
        dawn=dawn_words(actor, place, [row.pk for row in systems], day), **shown,
        away=away_on(actor, place.pk, today, first + dt.timedelta(days=7 * reads.WEEKS)),
    )  # fmt: skip


def _doubted(form: TimesForm) -> bool:
    """Ask once about a time that speaks against the hours of somebody or of the firm."""
    data = form.cleaned_data
    return form.doubt(time_doubts(data["technicians"], data["day"], data["start"], data["end"]))


def _book(form: BookForm, place: Place, actor: Actor) -> Visit | None:
    def act() -> Visit:
        start, end = form.moments()
        data = form.cleaned_data
        visit_booking.day_check(start, actor.at)
        visit = visit_booking.pencil(
            place=place, systems=list(data["systems"]), start=start, end=end,
            technicians=list(data["technicians"]), by=actor, at=actor.at, reason=data["reason"],
        )  # fmt: skip
        if data["ask"]:
            visit = visit_booking.step(visit=visit, to=State.BOOKED, by=actor, at=actor.at)
        return visit

    return attempt(form, act)


@require_http_methods(POSTED)
def visit_move(request: HttpRequest, pk: UUID) -> HttpResponse:
    """Office: move a visit that has not begun to another time or other technicians."""
    actor = office_of(request)
    visit = found(Visit.objects.visible_to(actor).select_related("place__client"), pk)
    people = _people(actor)
    day = day_of(request, "day")
    initial = _times(visit, day)
    # from a checklist that takes longer than is booked
    initial["end"] = time_of(request, "until") or initial["end"]
    stale = False
    if request.method == "POST":
        form = MoveForm(request.POST, people=people)
        if form.is_valid() and not _doubted(form):
            start, end = form.moments()
            people_chosen = list(form.cleaned_data["technicians"])
            moved, _both = attempt_based(
                form, visit, {},
                lambda rev: visit_booking.move(
                    visit=visit, start=start, end=end, technicians=people_chosen, rev=rev,
                    by=actor, at=actor.at,
                ),
            )  # fmt: skip
            if moved:
                messages.success(request, _("Moved."))
                return redirect("office:visit", visit.pk)
            stale = str(visit.rev) == form.data["rev"] != request.POST["rev"]
    else:
        form = MoveForm(initial=initial, people=people)
    chosen = _day_typed(request) or day or timezone.localdate(visit.start)
    first = reads.first_day(day_of(request, "from") or chosen)
    return form_page(
        request, form, "office/visit_move.html", visit=visit, place=visit.place, stale=stale,
        day=chosen, offer=open_offer(actor, visit),
        dawn=dawn_words(actor, visit.place, visit.sheets.values_list("system", flat=True), chosen),
        **_calendar(actor, visit.place, first, chosen),
    )  # fmt: skip


def _times(visit: Visit, day: dt.date | None) -> dict[str, Any]:
    start, end = timezone.localtime(visit.start), timezone.localtime(visit.end)
    return {
        "day": day or start.date(), "start": start.time(), "end": end.time(), "rev": visit.rev,
        "technicians": list(visit.technicians.values_list("pk", flat=True)),
    }  # fmt: skip


@require_http_methods(POSTED)
def visit_answer(request: HttpRequest, pk: UUID) -> HttpResponse:
    """Office: note what the client said to an appointment by telephone or at the door."""
    actor = office_of(request)
    visit = found(Visit.objects.visible_to(actor).select_related("place__client"), pk)
    form = AnswerForm(
        posted(request),
        initial={"answer": visit.client_answer, "words": visit.client_words},
    )
    if request.method == "POST" and form.is_valid():
        data = form.cleaned_data
        done = attempt(
            form,
            lambda: visit_booking.answer(
                visit=visit, answer=data["answer"], words=data["words"], by=actor, at=actor.at
            ),
        )
        if done is not None:
            messages.success(request, _("Noted."))
            return redirect("office:visit", visit.pk)
    return form_page(
        request, form, heading=_("What the client said"), button=_("Note it"),
        back=visit_url(visit), lead=str(visit.place),
    )  # fmt: skip


def visit_url(visit: Visit) -> str:
    """Return the address of a visit's page."""
    return reverse("office:visit", args=[visit.pk])
