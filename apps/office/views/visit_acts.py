"""What the office does with a visit: its steps, release, corrections, advice, notes of calls."""

from typing import Any
from uuid import UUID

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse, HttpResponseNotAllowed
from django.shortcuts import redirect
from django.urls import reverse
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_POST

from apps.accounts.actors import office_of
from apps.advice.choices import Close
from apps.advice.models import Advice
from apps.advice.selectors import advice_text
from apps.advice.services import advice_close, advice_reopen
from apps.catalogue.selectors import catalogue_current
from apps.clients.choices import ReportsAs
from apps.clients.models import Contact, Place
from apps.core.exceptions import Conflict
from apps.core.refusing import attempt
from apps.core.scoping import Actor
from apps.flows import visit_booking, visit_closing
from apps.flows.releasing import correct, release
from apps.flows.report_letters import report_letters_drafted
from apps.flows.visit_letters import preparation_lines
from apps.office.forms.base import EmptyForm, ReasonForm
from apps.office.forms.booking import CallForm
from apps.office.forms.visits import CorrectForm
from apps.office.selectors.offering import open_offer
from apps.office.services import call_note
from apps.office.views.common import POSTED, form_page, found, posted
from apps.office.views.letters import preview
from apps.office.wording import place_label
from apps.systems.models import System
from apps.visits.choices import NEEDS_REASON, State
from apps.visits.models import Reading, Visit
from apps.visits.services.steps import allowed_from


def _step_words(visit: Visit, to: str) -> dict[str, Any]:
    """Return heading, text and button of a step from where the visit stands."""
    words: dict[tuple[str, str], tuple[str, str, str]] = {
        ("pencilled", "booked"): (
            _("Ask the client?"),
            _("The appointment goes out as a letter with a link to confirm, move or decline it."),
            _("Ask the client"),
        ),
        ("booked", "under_way"): (
            _("Has it begun?"), _("The checklist opens and the time of now stands as its start."),
            _("It has begun"),
        ),
        ("booked", "pencilled"): (
            _("Back to pencil?"),
            _("The visit stays on the calendar, unsettled. The client is not written to."),
            _("Back to pencil"),
        ),
        ("under_way", "booked"): (
            _("Wrong place?"), _("The visit goes back to booked; what was typed is kept."),
            _("Back to booked"),
        ),
        ("under_way", "pencilled"): (
            _("Nobody there?"), _("The visit goes back to pencil; book it again with the client."),
            _("Back to pencil"),
        ),
        ("under_way", "written_up"): (
            _("Write it up?"),
            _("The checklist closes, the readings are assessed and the report is drawn."),
            _("Write it up"),
        ),
        ("written_up", "under_way"): (
            _("Reopen the visit?"),
            _("The checklist opens again; what changes becomes a correction. The report is drawn anew."),
            _("Reopen it"),
        ),
    }  # fmt: skip
    if to == State.CALLED_OFF:
        told = _("The client is told by letter.") if visit.appointment_sequence else ""
        return {
            "heading": _("Call the visit off?"), "pen": True, "button": _("Call it off"),
            "text": " ".join(
                part for part in (_("This cannot be undone; book a new one instead."), told) if part
            ),
        }  # fmt: skip
    heading, text, button = words[(visit.state, to)]
    return {"heading": heading, "text": text, "button": button, "pen": False}


@require_http_methods(POSTED)
def visit_step(request: HttpRequest, pk: UUID, to: str) -> HttpResponse:
    """Office: ask once, then bring a visit to another state; the client is told where it matters."""
    actor = office_of(request)
    visit = found(Visit.objects.visible_to(actor).select_related("place__client"), pk)
    writing_up = (visit.state, to) == (State.UNDER_WAY, State.WRITTEN_UP)
    if to not in State.values or (to not in allowed_from(visit.state, "office") and not writing_up):
        if request.method == "POST":
            messages.error(request, _("The visit has moved on meanwhile; see how it stands."))
            return redirect("office:visit", visit.pk)
        raise Http404
    needs = (visit.state, to) in NEEDS_REASON
    form = ReasonForm(posted(request)) if needs else EmptyForm(posted(request))
    if request.method == "POST" and form.is_valid():
        reason = form.cleaned_data.get("reason", "")
        if attempt(form, lambda: _step(visit, to, actor, reason)) is not None:
            messages.success(request, _("The visit is %(state)s now.") % {"state": State(to).label})
            return redirect("office:visit", visit.pk)
    asks = to == State.BOOKED and visit.state == State.PENCILLED
    contacts = Contact.objects.visible_to(actor).filter(
        client=visit.place.client, gets_letters=True
    )
    return form_page(
        request, form, "office/visit_step.html", visit=visit, back=_visit_url(visit.pk),
        contacts=contacts if asks else [], asks=asks,
        offer=open_offer(actor, visit) if to != State.PENCILLED else None,
        preparation=preparation_lines(visit) if asks else [], **_step_words(visit, to),
    )  # fmt: skip


def _step(visit: Visit, to: str, actor: Actor, reason: str) -> Any:
    if to == State.WRITTEN_UP:
        return visit_closing.finish(visit=visit, by=actor, at=actor.at)
    return visit_booking.step(visit=visit, to=to, by=actor, at=actor.at, reason=reason)


def _visit_url(pk: UUID) -> str:
    return reverse("office:visit", args=[pk])


def readers_words(actor: Actor, client_id: UUID) -> tuple[str, bool]:
    """Return who gets a letter about a report that is released, in words, and whether anybody does."""
    contacts = Contact.objects.visible_to(actor).filter(client=client_id, gets_letters=True)
    readers = contacts.exclude(reports_as=ReportsAs.PAUSED).order_by("name")
    names = ", ".join(f"{contact.name} ({contact.email})" for contact in readers)
    if not names:
        return _("The client can read it from now on. Nobody there gets a letter about it."), False
    words = _("The client can read it from now on, and a letter goes to %(names)s.")
    return words % {"names": names}, True


@require_http_methods(POSTED)
def visit_release(request: HttpRequest, pk: UUID) -> HttpResponse:
    """Office: release the latest version of a visit's reports; the client gets one letter.

    ?text=1 shows what it says.
    """
    actor = office_of(request)
    visit = found(Visit.objects.visible_to(actor).select_related("place__client"), pk)
    form = EmptyForm(posted(request))
    if request.method == "POST" and form.is_valid():
        released = attempt(form, lambda: release(visit=visit, by=actor, at=actor.at))
        if released is not None:
            messages.success(request, _("Released; the letter is on its way."))
            return redirect("office:visit", visit.pk)
    drafts = report_letters_drafted(visit, actor.at) if request.GET.get("text") == "1" else []
    text, can_show = readers_words(actor, visit.place.client_id)
    return form_page(
        request, form, "office/release.html", heading=_("Release the report?"), text=text,
        button=_("Release it"), back=_visit_url(visit.pk), can_show=can_show and not drafts,
        drafts=[{"letter": row, "text": preview(row)} for row in drafts],
    )  # fmt: skip


@require_http_methods(POSTED)
def reading_correct(request: HttpRequest, pk: UUID) -> HttpResponse:
    """Office: put a corrected reading beside the old one; a new version of the report follows."""
    actor = office_of(request)
    reading = found(
        Reading.objects.visible_to(actor).select_related("sheet__visit__place", "sheet__system"), pk
    )
    if reading.sheet is None:
        raise Http404
    entry = catalogue_current().measurand(reading.measurand) or {}
    initial = {"value": reading.value, "unit": reading.unit}
    form = CorrectForm(posted(request), initial=initial, measurand=entry)
    if request.method == "POST" and form.is_valid():
        data = form.cleaned_data
        changes = {
            name: data[name]
            for name in ("value", "unit", "basis")
            if data.get(name) not in (None, "")
        }
        fresh = attempt(
            form,
            lambda: correct(
                reading=reading, changes=changes, reason=data["reason"], by=actor, at=actor.at
            ),
        )
        if fresh is not None:
            messages.success(request, _("Corrected; the report is being drawn again."))
            return redirect("office:visit", reading.sheet.visit_id)
    name = _(str(entry.get("name") or reading.measurand))
    return form_page(
        request, form, heading=_("Correct %(name)s") % {"name": name}, button=_("Correct it"),
        back=_visit_url(reading.sheet.visit_id),
        lead=_("The old figure stays on record beside the new one, with the reason."),
    )  # fmt: skip


@require_http_methods(POSTED)
def advice_end(request: HttpRequest, pk: UUID, how: str) -> HttpResponse:
    """Office: note that an open advice was carried out, or, asked once, drop it."""
    actor = office_of(request)
    row = found(Advice.objects.visible_to(actor), pk)
    if how not in ("done", "dropped"):
        raise Http404
    if how == "done" and request.method != "POST":
        return HttpResponseNotAllowed(["POST"])
    back = reverse("office:system", args=[row.system_id]) + "#advice"
    if request.method == "POST":
        closed_as = Close.DONE if how == "done" else Close.DROPPED
        advice_close(advice=row, closed_as=closed_as, by=actor, at=actor.at)
        done = how == "done"
        messages.success(
            request, _("Noted as done.") if done else _("Dropped; it stays on record.")
        )
        return redirect(back)
    return form_page(
        request, EmptyForm(), "office/confirm.html", heading=_("Drop this advice?"),
        button=_("Drop it"), back=back, pen=True,
        text=row.decision_text or advice_text(row.rule, row.parameters),
    )  # fmt: skip


@require_POST
def advice_undo(request: HttpRequest, pk: UUID) -> HttpResponse:
    """Office: take back that an advice was noted as done, while no later visit took its place."""
    actor = office_of(request)
    row = found(Advice.objects.visible_to(actor), pk)
    try:
        advice_reopen(advice=row, by=actor, at=actor.at)
    except Conflict:
        messages.error(request, _("A later visit has taken its place; nothing was changed."))
    else:
        messages.success(request, _("Taken back; it is open again."))
    return redirect(reverse("office:system", args=[row.system_id]) + "#advice")


@require_http_methods(POSTED)
def call_new(request: HttpRequest, pk: UUID) -> HttpResponse:
    """Office: note a call, a message or a talk with the client of a place."""
    actor = office_of(request)
    place = found(Place.objects.visible_to(actor).select_related("client"), pk)
    systems = System.objects.visible_to(actor).filter(place=place).order_by("name")
    key = _key(request)
    visits = Visit.objects.visible_to(actor).filter(place=place)
    visit = visits.filter(pk=key).first() if key else None
    back = _visit_url(visit.pk) if visit else reverse("office:place", args=[place.pk])
    form = CallForm(posted(request), systems=systems)
    if request.method == "POST" and form.is_valid():
        data = form.cleaned_data
        done = attempt(
            form,
            lambda: call_note(
                client=place.client,
                system=data["system"],
                text=data["text"],
                way=data["way"],
                by=actor,
                at=actor.at,
            ),
        )
        if done is not None:
            messages.success(request, _("Noted."))
            return redirect(back)
    return form_page(
        request, form, heading=_("Note a call or a message"), button=_("Note it"), back=back,
        lead=place_label(place),
    )  # fmt: skip


def _key(request: HttpRequest) -> UUID | None:
    try:
        return UUID(request.GET.get("visit", ""))
    except ValueError:
        return None
