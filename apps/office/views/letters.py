"""Letters: what went to whom, where it stands, and what to do about one that did not arrive."""

import re
from uuid import UUID

from django.contrib import messages
from django.db import transaction
from django.db.models import Count, Q, QuerySet
from django.http import HttpRequest, HttpResponse, HttpResponseBase
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from apps.accounts.actors import office_of
from apps.accounts.selectors import firm_current
from apps.accounts.services import quiet_hours_set
from apps.core.csv_text import csv_answer
from apps.core.exceptions import DomainError
from apps.core.refusing import attempt
from apps.core.scoping import Actor
from apps.flows.letters import compose
from apps.office.forms.base import EmptyForm
from apps.office.forms.letters import QuietForm
from apps.office.selectors.due import FilterWord
from apps.office.views.common import POSTED, chosen, form_page, found, page_of, posted
from apps.office.wording import people_by_author
from apps.reports.choices import Delivery, LetterKind
from apps.reports.models import DeliveryStep, Letter
from apps.reports.services import letters as services

STATES = {
    "troubled": Q(state__in=(Delivery.FAILED, Delivery.UNSURE)),
    "waiting": Q(state__in=(Delivery.QUEUED, Delivery.SENDING)),
    "sent": Q(state=Delivery.SENT),
}
_SECRET = re.compile(r"/c/[^\s/]+")


def _rows(request: HttpRequest, actor: Actor) -> tuple[QuerySet[Letter], list[FilterWord], str]:
    kept, kind = chosen(request, "show", STATES), chosen(request, "kind", dict(LetterKind.choices))
    rows = Letter.objects.visible_to(actor).select_related("contact__client", "visit__place")
    rows = rows.filter(kind=kind) if kind else rows
    counts = rows.order_by().aggregate(
        all=Count("pk"), **{code: Count("pk", filter=rule) for code, rule in STATES.items()}
    )
    labels = {"": _("All"), "troubled": _("In trouble"), "waiting": _("Waiting"), "sent": _("Sent")}
    words = [
        FilterWord(code, label, counts[code or "all"], code == kept)
        for code, label in labels.items()
    ]
    rows = rows.filter(STATES[kept]) if kept else rows
    return rows.order_by("-made_at", "id"), words, kind


@require_safe
def letters(request: HttpRequest) -> HttpResponse:
    """Office: all letters, newest first, with where each stands."""
    rows, words, kind = _rows(request, office_of(request))
    context = {
        "filters": words, "kind": kind, "kinds": LetterKind.choices, "page": page_of(request, rows),
        "quiet": firm_current(),
    }  # fmt: skip
    return render(request, "office/letters.html", context)


@require_safe
def letters_csv(request: HttpRequest) -> HttpResponseBase:
    """Office: the letters under the same filters, for a spreadsheet."""
    rows, _words, _kind = _rows(request, office_of(request))
    head = [
        _("written"), _("kind"), _("to"), _("address"), _("subject"), _("state"), _("tries"),
        _("sent"), _("last words"),
    ]  # fmt: skip
    cells = (
        [
            row.made_at, row.get_kind_display(), row.contact.name if row.contact else "",
            row.address, row.subject_line, row.get_state_display(), row.tries, row.sent_at,
            row.last_error,
        ]
        for row in rows.iterator(chunk_size=500)
    )  # fmt: skip
    return csv_answer("letters", head, cells)


def preview(letter: Letter) -> str:
    """Return a letter's text as it is written now, its link hidden; nothing is stored."""
    try:
        with transaction.atomic():
            text = str(compose(letter).body)
            # writing a letter makes its link; a look at it must not
            transaction.set_rollback(True)
    except (DomainError, OSError, KeyError, ValueError) as error:
        return _("It cannot be written just now: %(why)s") % {"why": error}
    return _SECRET.sub("/c/…", text)


@require_safe
def letter(request: HttpRequest, pk: UUID) -> HttpResponse:
    """Office: a letter with its whole delivery history; ?text=1 shows what it says."""
    actor = office_of(request)
    rows = Letter.objects.visible_to(actor).select_related(
        "contact__client", "visit__place__client"
    )
    row = found(rows, pk)
    steps = list(DeliveryStep.objects.visible_to(actor).filter(letter=row).order_by("at", "id"))
    names = people_by_author([step.by for step in steps if step.by])
    context = {
        "letter": row,
        "steps": [
            {
                "step": step,
                "word": step.get_state_display(),
                "by": names.get(step.by, ""),
                "words": _(step.words) if step.words else "",
            }
            for step in steps
        ],
        "text": preview(row) if request.GET.get("text") == "1" else "",
        "troubled": row.state in (Delivery.FAILED, Delivery.UNSURE),
        "unsure": row.state == Delivery.UNSURE,
        "waits": row.state == Delivery.QUEUED
        and bool(row.not_before)
        and row.not_before > actor.at,
    }
    return render(request, "office/letter.html", context)


@require_http_methods(POSTED)
def letter_again(request: HttpRequest, pk: UUID) -> HttpResponse:
    """Office: ask once, then send a failed or unsure letter again under the same Message-ID."""
    actor = office_of(request)
    row = found(Letter.objects.visible_to(actor), pk)
    form = EmptyForm(posted(request))
    if request.method == "POST" and form.is_valid():
        done = attempt(form, lambda: services.letter_again(letter=row, by=actor, at=actor.at))
        if done is not None:
            messages.success(request, _("The letter goes out again."))
            return redirect("office:letter", row.pk)
    unsure = _("Nobody knows whether the first one arrived; a second may reach the client too.")
    return form_page(
        request, form, "office/confirm.html", heading=_("Send it again?"), button=_("Send it again"),
        text=unsure if row.state == Delivery.UNSURE
        else _("It goes to %(address)s.") % {"address": row.address},
        back=reverse("office:letter", args=[row.pk]),
    )  # fmt: skip


@require_http_methods(POSTED)
def letter_arrived(request: HttpRequest, pk: UUID) -> HttpResponse:
    """Office: ask once, then note that an unsure letter did arrive."""
    actor = office_of(request)
    row = found(Letter.objects.visible_to(actor), pk)
    form = EmptyForm(posted(request))
    if request.method == "POST" and form.is_valid():
        done = attempt(form, lambda: services.letter_arrived(letter=row, by=actor, at=actor.at))
        if done is not None:
            messages.success(request, _("Settled: it arrived."))
            return redirect("office:letter", row.pk)
    return form_page(
        request, form, "office/confirm.html", heading=_("It did arrive?"),
        text=_("The letter then stands as sent, and is not sent again."), button=_("It did arrive"),
        back=reverse("office:letter", args=[row.pk]),
    )  # fmt: skip


@require_POST
def letter_now(request: HttpRequest, pk: UUID) -> HttpResponse:
    """Office: send a letter now that waits for the end of quiet hours."""
    actor = office_of(request)
    row = found(Letter.objects.visible_to(actor), pk)
    services.letter_now(letter=row, by=actor, at=actor.at)
    messages.success(request, _("The letter goes out now."))
    return redirect("office:letter", row.pk)


@require_http_methods(POSTED)
def quiet(request: HttpRequest) -> HttpResponse:
    """Office: say when letters to clients wait for the morning."""
    actor, firm = office_of(request), firm_current()
    initial = {"quiet_from": firm.quiet_from, "quiet_until": firm.quiet_until}
    form = QuietForm(posted(request), initial=initial)
    if request.method == "POST" and form.is_valid():
        quiet_hours_set(**form.cleaned_data, by=actor, at=actor.at)
        messages.success(request, _("Kept."))
        return redirect("office:letters")
    return form_page(
        request, form, heading=_("When do letters wait?"), button=_("Keep it"),
        lead=_("Reports, appointments and reminders that become ready then go out at the end. "
               "What cannot wait goes at once: that we come later, a weather warning, an answer "
               "to what somebody has just done on their page."),
        back=reverse("office:letters"),
    )  # fmt: skip
