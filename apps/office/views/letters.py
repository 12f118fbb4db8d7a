"""Letters: what went to whom, where it stands, and what to do about one that did not arrive."""

import base64
import re
from email.mime.image import MIMEImage
from typing import Any
from uuid import UUID

from csp.decorators import csp
from django.contrib import messages
from django.db import transaction
from django.db.models import Count, Q, QuerySet
from django.http import HttpRequest, HttpResponse, HttpResponseBase
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils.html import escape
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from apps.accounts.actors import office_of
from apps.accounts.selectors import firm_current
from apps.accounts.services import quiet_hours_set
from apps.core.csv_text import csv_answer
from apps.core.exceptions import DomainError
from apps.core.refusing import attempt
from apps.core.scoping import Actor
from apps.core.texting import TextMessage
from apps.flows.letters import compose
from apps.flows.middleware import list_seen
from apps.office.forms.base import EmptyForm
from apps.office.forms.letters import QuietForm
from apps.office.selectors.due import FilterWord
from apps.office.views.common import POSTED, chosen, form_page, found, page_of, posted
from apps.office.wording import people_by_author
from apps.reports.choices import SENDABLE, TROUBLED, Delivery, LetterKind
from apps.reports.models import BlockedAddress, DeliveryStep, Letter, MailServer
from apps.reports.services import letters as services

STATES = {
    "troubled": Q(state__in=TROUBLED),
    "waiting": Q(state__in=(Delivery.QUEUED, Delivery.SENDING)),
    "sent": Q(state=Delivery.SENT),
    "withheld": Q(state__in=(Delivery.WITHHELD, Delivery.REPLACED)),
}
# a mail is shown with its own styles, and can reach nothing; typed for views without a key
CLOSED_OFF: Any = csp({
    "default-src": ["'none'"], "img-src": ["data:"], "style-src": ["'unsafe-inline'"],
    "base-uri": ["'none'"], "form-action": ["'none'"], "frame-ancestors": ["'none'"],
    "sandbox": True,
})  # fmt: skip
# a link of a letter acts for its reader, so nobody else may follow it here
_HREF = re.compile(r"""\shref=(?:"[^"]*"|'[^']*')""")
_SECRET = re.compile(r"/c/[^\s/]+")


def _rows(request: HttpRequest, actor: Actor) -> tuple[QuerySet[Letter], list[FilterWord], str]:
    kept, kind = chosen(request, "show", STATES), chosen(request, "kind", dict(LetterKind.choices))
    rows = Letter.objects.visible_to(actor).select_related("contact__client", "visit__place")
    rows = rows.filter(kind=kind) if kind else rows
    counts = rows.order_by().aggregate(
        all=Count("pk"), **{code: Count("pk", filter=rule) for code, rule in STATES.items()}
    )
    labels = {
        "": _("All"), "troubled": _("In trouble"), "waiting": _("Waiting"), "sent": _("Sent"),
        "withheld": _("Not sent"),
    }  # fmt: skip
    words = [
        FilterWord(code, label, counts[code or "all"], code == kept)
        for code, label in labels.items()
    ]
    rows = rows.filter(STATES[kept]) if kept else rows
    return rows.order_by("-made_at", "id"), words, kind


@require_safe
def letters(request: HttpRequest) -> HttpResponse:
    """Office: all letters, newest first, with where each stands."""
    actor = office_of(request)
    rows, words, kind = _rows(request, actor)
    context = {
        "filters": words, "kind": kind, "kinds": LetterKind.choices, "page": page_of(request, rows),
        "quiet": firm_current(), "server": MailServer.objects.visible_to(actor).first(),
        "blocked": BlockedAddress.objects.visible_to(actor).count(),
    }  # fmt: skip
    return render(request, "office/letters.html", context)


@require_safe
def letters_csv(request: HttpRequest) -> HttpResponseBase:
    """Office: the letters under the same filters, for a spreadsheet."""
    rows, _words, _kind = _rows(request, office_of(request))
    list_seen(request, rows)
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


def _as_mail(letter: Letter) -> str:
    """Return a letter's HTML as it is written now: pictures inside it, its links leading nowhere."""
    with transaction.atomic():
        message = compose(letter)
        # writing a letter makes its link; a look at it must not
        transaction.set_rollback(True)
    if isinstance(message, TextMessage):
        return f"<p>{escape(message.body)}</p>"
    html = next(str(text) for text, kind in message.alternatives if kind == "text/html")
    for part in message.attachments:
        if isinstance(part, MIMEImage):
            picture: Any = part.get_payload(decode=True)
            data = base64.b64encode(picture).decode()
            cid = str(part["Content-ID"]).strip("<>")
            html = html.replace(f"cid:{cid}", f"data:image/png;base64,{data}")
    return _HREF.sub("", html)


@require_safe
@CLOSED_OFF
def letter_mail(request: HttpRequest, pk: UUID) -> HttpResponse:
    """Office: a letter as its reader's mail program shows it, closed off from the rest."""
    rows = Letter.objects.visible_to(office_of(request)).select_related(
        "contact__client", "visit__place__client"
    )
    row = found(rows, pk)
    try:
        text = _as_mail(row)
    except (DomainError, OSError, KeyError, ValueError) as error:
        words = _("It cannot be written just now: %(why)s") % {"why": error}
        text = f"<p>{escape(words)}</p>"
    answer = HttpResponse(text)
    answer.headers["Cache-Control"] = "private, no-store"
    return answer


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
        "sendable": row.state in SENDABLE,
        "unsure": row.state == Delivery.UNSURE,
        "waits": row.state == Delivery.QUEUED
        and any(time and time > actor.at for time in (row.not_before, row.next_try)),
    }
    return render(request, "office/letter.html", context)


@require_http_methods(POSTED)
def letter_again(request: HttpRequest, pk: UUID) -> HttpResponse:
    """Office: ask once, then send a letter again that did not arrive for certain."""
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
    """Office: send a letter now that waits for the morning, or for its next try."""
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
