"""Calls for help: finding the caller, the script with the tank beside it, sending, closing."""

import datetime as dt
from typing import Any
from uuid import UUID, uuid4

from django.contrib import messages
from django.core.exceptions import BadRequest
from django.http import Http404, HttpRequest, HttpResponse, HttpResponseBase
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_safe

from apps.accounts.actors import office_of
from apps.accounts.selectors import firm_current, technicians
from apps.calc.callscript import FIRST_WORDS
from apps.catalogue.selectors import catalogue_current
from apps.core import clock, files
from apps.core.csv_text import csv_answer
from apps.core.exceptions import DomainError
from apps.core.refusing import attempt, refuse
from apps.core.scoping import Actor
from apps.flows import incident_calls
from apps.flows.letters_on_the_way import late_letters, late_letters_drafted
from apps.flows.middleware import list_seen
from apps.incidents import selectors, services
from apps.incidents.choices import Said, Stand
from apps.incidents.models import Incident, IncidentPhoto, PutOff
from apps.office.forms.base import EmptyForm, ReasonForm
from apps.office.forms.calls import CloseForm, NoteForm, OpenForm
from apps.office.selectors import incidents as reads
from apps.office.selectors import search as searching
from apps.office.selectors.call_tank import tank_of
from apps.office.selectors.dawn import dawn_words
from apps.office.views.common import (
    POSTED,
    attempt_based,
    chosen,
    form_page,
    found,
    page_of,
    posted,
)
from apps.office.views.letters import preview
from apps.office.views.search import query_of
from apps.office.wording import age_words, place_label
from apps.systems.models import System


@require_safe
def call(request: HttpRequest) -> HttpResponse:
    """Office: somebody calls: the first words, and who it is by name, phone, street or system."""
    actor = office_of(request)
    query = query_of(request)
    asked = len(query) >= searching.SHORTEST
    context = {
        "asked_for": query,
        "asked": asked,
        "systems": reads.callers(actor, searching.search(actor, query)) if asked else [],
        "first_words": [_(text) for text in FIRST_WORDS],
        "open": selectors.incidents_open(actor)[: reads.MOST_HERE],
    }
    return render(request, "office/call.html", context)


@require_http_methods(POSTED)
def call_open(request: HttpRequest, pk: UUID) -> HttpResponse:
    """Office: the caller's tank at a glance; POST opens an incident with what they say."""
    actor = office_of(request)
    system = found(System.objects.visible_to(actor).select_related("place__client"), pk)
    form = OpenForm(posted(request))
    if request.method == "POST" and form.is_valid():
        data = form.cleaned_data
        made = attempt(
            form,
            lambda: services.incident_open(
                system=system, kind=data["kind"], said=data["said"], caller=data["caller"],
                by=actor, at=actor.at,
            ),
        )  # fmt: skip
        if made is not None:
            return redirect("office:incident", made.pk)
    return form_page(
        request, form, "office/call_open.html", system=system, place=system.place,
        kinds=Said.choices, first_words=[_(text) for text in FIRST_WORDS],
        tank=tank_of(actor, system, catalogue_current()), firm=firm_current(),
        held=selectors.incidents_at(actor, system.pk).exclude(state=Stand.CLOSED),
    )  # fmt: skip


@require_safe
def incidents(request: HttpRequest) -> HttpResponse:
    """Office: all incidents, open ones first; filters, pages."""
    actor = office_of(request)
    kept = chosen(request, "show", reads.FILTERS)
    counts = selectors.incident_counts(actor)
    rows = selectors.incidents_of(actor)
    context = {
        "sentence": reads.opening(counts),
        "filters": reads.filter_words(counts, kept),
        "page": page_of(request, rows.filter(reads.FILTERS[kept]) if kept else rows),
    }
    return render(request, "office/incidents.html", context)


@require_safe
def incidents_csv(request: HttpRequest) -> HttpResponseBase:
    """Office: the incidents under the same filter, for a spreadsheet."""
    actor = office_of(request)
    kept = chosen(request, "show", reads.FILTERS)
    rows = selectors.incidents_of(actor)
    rows = rows.filter(reads.FILTERS[kept]) if kept else rows
    list_seen(request, rows)
    head = [
        _("called"), _("what was said"), _("system"), _("place"), _("stands"), _("closed"),
        _("cause"), _("more about the cause"), _("how it ended"), _("fish lost"),
    ]  # fmt: skip
    cells = (
        [
            row.opened_at, row.get_kind_display(), row.system.name, place_label(row.system.place),
            row.get_state_display(), row.closed_at, row.get_cause_display() if row.cause else "",
            row.cause_words, row.outcome, row.fish_lost,
        ]
        for row in rows.iterator(chunk_size=500)
    )  # fmt: skip
    return csv_answer("incidents", head, cells)


@require_http_methods(POSTED)
def incident(request: HttpRequest, pk: UUID) -> HttpResponse:
    """Office: an incident: script, tank, notes, who is nearest; each button also keeps the note."""
    actor = office_of(request)
    row = found(_full(actor), pk)
    form = NoteForm(posted(request), initial={"key": uuid4()})
    if request.method == "POST" and form.is_valid():
        form = _act(request, row, form, actor)
        if form.is_valid():
            return redirect(f"{reverse('office:incident', args=[row.pk])}#call")
        row = found(_full(actor), pk)
    return _page(request, row, form, actor)


def _full(actor: Actor) -> Any:
    return selectors.incidents_of(actor).select_related("system__place__client", "visit")


def _act(request: HttpRequest, row: Incident, form: NoteForm, actor: Actor) -> NoteForm:
    """Keep the note, then do what the button says; return the form with what was refused.

    What was typed stands in it until it is kept, and is kept though the button be refused.
    """
    text, what = form.cleaned_data["text"], str(request.POST.get("do", "note"))
    word, _sep, rest = what.partition(":")
    if word == "note" and not text:
        form.add_error("text", _("Write at least one word."))
        return form
    if text:
        key = form.cleaned_data["key"]
        kept = attempt(
            form,
            lambda: services.incident_note(incident=row, text=text, pk=key, by=actor, at=actor.at),
        )
        if kept is None:
            return form
        form = NoteForm({"key": uuid4()})
        form.is_valid()
    try:
        _do(word, rest, row, actor)
    except DomainError as error:
        refuse(form, error)
    return form


def _do(word: str, rest: str, row: Incident, actor: Actor) -> None:
    if word == "answer":
        step, _sep, answer = rest.partition(":")
        services.incident_answer(incident=row, step=step, answer=answer, by=actor, at=actor.at)
    elif word == "stand":
        services.incident_step(incident=row, to=rest, by=actor, at=actor.at)
    elif word == "send":
        try:
            key = UUID(rest)
        except ValueError:
            raise BadRequest("do: " + _("not known here")) from None
        user = found(technicians(actor), key)
        incident_calls.send(incident=row, technician=user, by=actor, at=actor.at)
    elif word != "note":
        raise BadRequest("do: " + _("not known here"))


def _page(request: HttpRequest, row: Incident, form: NoteForm, actor: Actor) -> HttpResponse:
    catalogue = catalogue_current()
    system = row.system
    tank = tank_of(actor, system, catalogue)
    closed = row.state == Stand.CLOSED
    tomorrow = clock.today() + dt.timedelta(days=1)
    near = [] if closed or reads.on_the_way(row) else reads.nearest_of(actor, row, catalogue)
    context = {
        "incident": row,
        "system": system,
        "place": system.place,
        "sentence": reads.state_sentence(row),
        "tank": tank,
        "script": reads.script_of(row, tank, catalogue, request.GET.get("step", "")),
        "notes": reads.notes_of(actor, row),
        "near": near,
        "skill": reads.skill_wanted(row, near),
        "dawn": "" if closed else dawn_words(actor, system.place, [system.pk], tomorrow),
        "tomorrow": tomorrow,
        "on_the_way": reads.on_the_way(row),
        "waits": reads.waits_of(actor, row),
        "weather": reads.weather_of(row),
        "firm": firm_current(),
        "now": actor.at,
        "age": age_words(row.opened_at, actor.at),
        "wrote": row.opened_by.startswith("client:"),
        "closed": closed,
    }
    return form_page(request, form, "office/incident.html", **context)


@require_safe
def incident_photo(request: HttpRequest, pk: UUID) -> HttpResponse:
    """Office: a photo that a client sent with a call for help; ?size=small for the small one."""
    row = found(IncidentPhoto.objects.visible_to(office_of(request)), pk)
    stored = row.small if request.GET.get("size") == "small" else row.screen
    return files.jpeg_answer(stored, f"photo-{row.pk}")


@require_http_methods(POSTED)
def incident_close(request: HttpRequest, pk: UUID) -> HttpResponse:
    """Office: close an incident with what it was, how it ended and what was lost."""
    actor = office_of(request)
    row = found(_full(actor), pk)
    held = {name: getattr(row, name) for name in ("cause", "cause_words", "outcome", "fish_lost")}
    form = CloseForm(posted(request), initial=held | {"rev": row.rev})
    both: list[tuple[str, str, str]] = []
    if request.method == "POST" and form.is_valid():
        done, both = attempt_based(
            form, row, {},
            lambda rev: services.incident_close(
                incident=row, rev=rev, by=actor, at=actor.at, **form.values()
            ),
        )  # fmt: skip
        if done:
            messages.success(request, _("Closed."))
            return redirect("office:incident", row.pk)
    return form_page(
        request, form, heading=_("How did it end?"), button=_("Close it"), both=both,
        lead=reads.state_sentence(row), back=reverse("office:incident", args=[row.pk]),
        trail=[(row.system.name, reverse("office:incident", args=[row.pk]))],
    )  # fmt: skip


@require_http_methods(POSTED)
def incident_again(request: HttpRequest, pk: UUID) -> HttpResponse:
    """Office: open a closed incident again, with a reason that stays on record."""
    actor = office_of(request)
    row = found(_full(actor), pk)
    form = ReasonForm(posted(request))
    if request.method == "POST" and form.is_valid():
        reason = form.cleaned_data["reason"]
        done = attempt(
            form,
            lambda: services.incident_step(
                incident=row, to=Stand.OPEN, by=actor, at=actor.at, reason=reason
            ),
        )
        if done is not None:
            messages.success(request, _("Open again."))
            return redirect("office:incident", row.pk)
    return form_page(
        request, form, heading=_("Open it again?"), button=_("Open it again"),
        lead=reads.state_sentence(row), back=reverse("office:incident", args=[row.pk]),
    )  # fmt: skip


@require_http_methods(POSTED)
def running_late(request: HttpRequest, pk: UUID, visit: UUID) -> HttpResponse:
    """Office: look at the letter that says that we come later, then send it; once a visit."""
    actor = office_of(request)
    rows = PutOff.objects.visible_to(actor).select_related("visit__place__client", "incident")
    row: PutOff | None = rows.filter(incident=pk, visit=visit, now__isnull=False).first()
    if row is None:
        raise Http404
    form = EmptyForm(posted(request))
    drafts = late_letters_drafted(row.visit, row.incident_id, row.was, actor.at)
    if not drafts and request.method == "POST":
        form.add_error(None, _("Nobody there gets letters; call them."))
    if request.method == "POST" and form.is_valid():
        late_letters(row.visit, row.incident_id, row.was, actor.at)
        messages.success(request, _("The letter is on its way."))
        return redirect("office:incident", row.incident_id)
    return form_page(
        request, form, "office/running_late.html", row=row,
        letters=[{"letter": draft, "text": preview(draft)} for draft in drafts],
        back=reverse("office:incident", args=[row.incident_id]),
    )  # fmt: skip
