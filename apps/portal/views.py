"""The client's page. GET and HEAD only show; what acts is a POST with its token."""

from typing import Any
from uuid import UUID

from django.contrib import messages
from django.contrib.auth.decorators import login_not_required
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone, translation
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST, require_safe

from apps.accounts.choices import Purpose
from apps.accounts.selectors import firm_current
from apps.calc.weather import CAUTIONS, CHECKLISTS
from apps.catalogue.files import rows as data_rows
from apps.clients.models import Contact
from apps.core import clock, files
from apps.core.exceptions import DomainError
from apps.core.measures import sentence
from apps.core.scoping import Actor
from apps.flows import offering, visit_booking
from apps.flows.letter_parts import day_and_time
from apps.flows.on_the_way import road_words, tellings_of
from apps.flows.visit_letters import preparation_lines
from apps.flows.weather_letters import weather_sentence
from apps.incidents.choices import Reply
from apps.incidents.models import WeatherAsk
from apps.incidents.selectors import asks_open
from apps.incidents.services import ask_answer
from apps.portal.away import times_ahead
from apps.portal.home import homes_shown
from apps.portal.offers import cannot_come, offers_shown
from apps.portal.opening import by_link as _by_link
from apps.portal.opening import opened as _open
from apps.portal.opening import private as _private
from apps.portal.opening import typed as _typed
from apps.portal.proposals import proposals_shown
from apps.portal.selectors import (
    appointments,
    called_for_help,
    latest_parts,
    photo_shown,
    versions_for,
    weather_asked,
)
from apps.reports.models import ReportVersion
from apps.reports.services.copies import paper_for
from apps.rounds.choices import OfferState
from apps.rounds.exceptions import NotKept, TimeGone
from apps.rounds.models import TimesOffered
from apps.rounds.selectors.offers import visits_asked_anew
from apps.rounds.selectors.standing_in import visits_lacking
from apps.visits.choices import Answer
from apps.visits.models import Visit

ANSWERS = (Answer.CONFIRMED, Answer.OTHER_TIME, Answer.DECLINED)


@login_not_required
@require_safe
@_by_link
def page(request: HttpRequest, secret: str) -> HttpResponse:
    """Whoever holds the link: last reports, what to do, the next appointment."""
    now = clock.now()
    link, actor, language = _open(request, secret, now)
    with translation.override(language):
        whole = link.purpose == Purpose.PAGE
        versions = versions_for(actor) if whole else []
        visits = appointments(actor, now)
        if not whole:
            visits = [visit for visit in visits if visit.pk == link.subject_id]
        lacking = visits_lacking(visits)
        offers = offers_shown(
            actor, now, None if whole else link.subject_id, [visit.pk for visit in visits], lacking
        )
        # who may choose another time is not asked about the one that stands
        choosing = {item.row.visit_id for item in offers if item.is_open}
        visits = [visit for visit in visits if visit.pk not in choosing]
        said, anew = tellings_of(visits), visits_asked_anew(visits)
        proposals = proposals_shown(actor, now) if whole else []
        context = {
            "secret": secret,
            "whole": whole,
            "chooses": whole and link.contact_id is not None,
            "firm": firm_current(),
            "parts": latest_parts(versions, now),
            "versions": versions,
            "offers": offers,
            "visits": [
                _appointment(visit, lacking, anew, road_words(visit, said.get(visit.pk, []), now))
                for visit in visits
            ],
            "weather": [_asked(row) for row in weather_asked(actor, link.contact_id)] if whole else [],
            "proposals": [item for item in proposals if item.is_open],
            "ended_proposals": [item for item in proposals if not item.is_open],
            "homes": homes_shown(actor) if whole else [],
            "away": times_ahead(actor, timezone.localdate(now)) if whole else [],
            "first_aid": [_(row["say"]) for row in data_rows("emergency") if row["code"] == "gasping"],
        }  # fmt: skip
        return _private(render(request, "portal/page.html", context))


def _appointment(visit: Visit, lacking: set[UUID], anew: set[UUID], road: str) -> dict[str, Any]:
    """Return an appointment as its client reads it, and whether they are asked if it suits."""
    off = visit.pk in lacking and visit.client_answer != Answer.DECLINED
    return {
        "visit": visit, "preparation": preparation_lines(visit), "road": road,
        "people": ", ".join(str(row.user) for row in visit.assignments.all()),
        "called": called_for_help(visit), "cannot": cannot_come(visit.start) if off else "",
        "asks": visit.client_answer != Answer.CONFIRMED and not visit.is_told
        and visit.pk not in lacking | anew,
    }  # fmt: skip


def _asked(row: WeatherAsk) -> dict[str, Any]:
    checklist = CHECKLISTS[row.watch.kind]
    return {
        "row": row,
        "sentence": weather_sentence(row.watch.kind),
        "before": [sentence(line) for line in checklist.before],
        "after": [sentence(line) for line in checklist.after],
        "cautions": [sentence(line) for line in CAUTIONS],
    }


@login_not_required
@require_POST
@_by_link
def weather(request: HttpRequest, secret: str, ask: UUID) -> HttpResponse:
    """Whoever holds the link: say that a list is done, or ask for help."""
    now = clock.now()
    link, actor, language = _open(request, secret, now)
    row = asks_open(actor).filter(pk=ask).first()
    mine = link.contact_id is None or (row is not None and row.contact_id == link.contact_id)
    if row is None or link.purpose != Purpose.PAGE or not mine:
        raise Http404
    reply, words = str(request.POST.get("reply", "")), _typed(request).strip()
    with translation.override(language):
        if reply not in (Reply.DONE, Reply.HELP):
            messages.error(request, _("Choose one of the answers."))
        elif reply == Reply.HELP and not words:
            messages.error(request, _("Tell us in a few words what you need."))
        else:
            try:
                ask_answer(ask=row, reply=reply, words=words, by=actor, at=now)
                messages.success(request, _("Thank you. We have noted your answer."))
            except DomainError as error:
                messages.error(request, error.message)
    return _private(redirect("portal:page", secret=secret))


@login_not_required
@require_POST
@_by_link
def times(request: HttpRequest, secret: str, offer: UUID) -> HttpResponse:
    """Whoever holds the link: choose one of the times offered, or say that none suits."""
    now = clock.now()
    link, actor, language = _open(request, secret, now)
    row = TimesOffered.objects.visible_to(actor).filter(pk=offer).first()
    if row is None or (link.purpose == Purpose.APPOINTMENT and link.subject_id != row.visit_id):
        raise Http404
    with translation.override(language):
        try:
            if request.POST.get("answer") == "none":
                _none_suits(request, row, actor)
            else:
                _pick(request, row, actor)
        except DomainError as error:
            messages.error(request, _why_not(row, error))
    return _private(redirect("portal:page", secret=secret))


def _pick(request: HttpRequest, row: TimesOffered, actor: Actor) -> None:
    try:
        key = UUID(str(request.POST.get("time", "")))
    except ValueError:
        messages.error(request, _("Choose one of the times."))
        return
    visit = offering.pick(offer=row, time_id=key, by=actor, at=actor.at)
    when = day_and_time(visit.start)
    messages.success(request, _("Thank you. We come on %(when)s.") % {"when": when})


def _none_suits(request: HttpRequest, row: TimesOffered, actor: Actor) -> None:
    words = _typed(request)
    if not words.strip():
        messages.error(request, _("Tell us in a few words when would suit you."))
        return
    offering.none_suits(offer=row, words=words, by=actor, at=actor.at)
    messages.success(request, _("Thank you. We look for other times and write to you."))


def _why_not(row: TimesOffered, error: DomainError) -> str:
    """Return in the client's words why their choice could not be taken."""
    row.refresh_from_db()
    if isinstance(error, TimeGone) and row.state == OfferState.OPEN:
        return _("This time is taken by now; the others are still free.")
    if row.state == OfferState.PICKED:
        return _("You have chosen a time already. Ask for another one below if it does not suit.")
    if row.state == OfferState.OPEN and row.until > clock.now():
        return _("Choose one of the times.")
    return _("These times can be had no more; please call us.")


@login_not_required
@require_POST
@_by_link
def answer(request: HttpRequest, secret: str, visit: UUID) -> HttpResponse:
    """Whoever holds the link: confirm an appointment, ask for another time, decline."""
    now = clock.now()
    link, actor, language = _open(request, secret, now)
    row = Visit.objects.visible_to(actor).filter(pk=visit).first()
    if row is None or (link.purpose == Purpose.APPOINTMENT and link.subject_id != row.pk):
        raise Http404
    word = str(request.POST.get("answer", ""))
    words = _typed(request)
    with translation.override(language):
        if word not in ANSWERS:
            messages.error(request, _("Choose one of the answers."))
        elif word == Answer.OTHER_TIME and not words.strip():
            messages.error(request, _("Tell us in a few words when would suit you."))
        else:
            try:
                visit_booking.answer(visit=row, answer=word, words=words, by=actor, at=now)
                messages.success(request, _("Thank you. We have noted your answer."))
            except NotKept as error:
                messages.error(request, error.message)
            except DomainError:
                messages.error(
                    request, _("This appointment has changed meanwhile; please call us.")
                )
    return _private(redirect("portal:page", secret=secret))


@login_not_required
@require_safe
@_by_link
def report(request: HttpRequest, secret: str, version: UUID) -> HttpResponse:
    """Whoever holds the link: a released report as PDF."""
    now = clock.now()
    link, actor, _language = _open(request, secret, now)
    if link.purpose != Purpose.PAGE:
        raise Http404
    row = (
        ReportVersion.objects.visible_to(actor).select_related("report").filter(pk=version).first()
    )
    if row is None:
        raise Http404
    contact = Contact.objects.filter(pk=link.contact_id).first() if link.contact_id else None
    paper = paper_for(row, contact, now)
    return _private(files.pdf_answer(paper.pdf, f"report-{row.report.number:04d}-{row.number}"))


@login_not_required
@require_safe
@_by_link
def photo(request: HttpRequest, secret: str, photo: UUID) -> HttpResponse:
    """Whoever holds the link: a photo out of one of their reports, small enough for a telephone."""
    link, actor, _language = _open(request, secret, clock.now())
    row = photo_shown(actor, photo) if link.purpose == Purpose.PAGE else None
    if row is None:
        raise Http404
    return _private(files.jpeg_answer(row.small, f"photo-{row.pk}"))
