"""A proposal to its client: seen before it goes, and what they write back."""

import datetime as dt
from typing import Any
from uuid import UUID

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.urls import reverse
from django.utils.translation import gettext as _
from django.utils.translation import ngettext
from django.views.decorators.http import require_http_methods, require_POST

from apps.accounts.actors import office_of
from apps.clients.choices import ReportsAs
from apps.core.exceptions import DomainError
from apps.core.refusing import attempt
from apps.flows.proposal_letters import proposal_letters_drafted, proposal_send
from apps.office.forms.proposals import ProposalLetterForm
from apps.office.views.common import POSTED, form_page, found, posted
from apps.office.views.letters import preview
from apps.proposals.models import ProposalVersion, ProposalWord
from apps.proposals.services import version_sendable, word_seen


@require_http_methods(POSTED)
def version_send(request: HttpRequest, pk: UUID) -> HttpResponse:
    """Office: send a version to the client; its letters are seen first, and go at a second press."""
    actor = office_of(request)
    rows = ProposalVersion.objects.visible_to(actor).select_related("proposal__place__client")
    version = found(rows, pk)
    row, form = version.proposal, ProposalLetterForm(posted(request))
    back = reverse("office:proposal", args=[row.pk])
    words = ""
    if request.method == "POST" and form.is_valid():
        words = form.cleaned_data["words"]
        if "send" in request.POST:
            count = attempt(
                form, lambda: proposal_send(version=version, words=words, by=actor, at=actor.at)
            )
            if count is not None:
                messages.success(request, _said(count))
                return redirect(back)
    why = "" if form.errors else _why_not(version, actor.at)
    drafts = [] if why or form.errors else _drafts(version, words, actor.at)
    return form_page(
        request, form, "office/proposal_send.html", version=version, proposal=row, back=back,
        drafts=drafts, why=why, sent=hasattr(version, "sending"),
        nobody=not (why or form.errors or drafts),
        paused=[item["letter"].contact.name for item in drafts
                if item["letter"].contact.reports_as == ReportsAs.PAUSED],
    )  # fmt: skip


def _said(count: int) -> str:
    if not count:
        return _("Everybody there has had it already; nothing goes out twice.")
    return ngettext(
        "Sent: %(count)d letter is on its way, and the client can read it on their page.",
        "Sent: %(count)d letters are on their way, and the client can read it on their page.",
        count,
    ) % {"count": count}  # fmt: skip


def _why_not(version: ProposalVersion, at: dt.datetime) -> str:
    """Return why a version must not go out; empty where it may."""
    try:
        version_sendable(version, at)
    except DomainError as error:
        return error.message
    return ""


def _drafts(version: ProposalVersion, words: str, at: dt.datetime) -> list[dict[str, Any]]:
    """Return the letters as they would go out, with what each says."""
    rows = proposal_letters_drafted(version=version, words=words, at=at)
    return [{"letter": letter, "text": preview(letter)} for letter in rows]


@require_POST
def word_noted(request: HttpRequest, pk: UUID) -> HttpResponse:
    """Office: note that what a client wrote was looked at."""
    actor = office_of(request)
    word = found(ProposalWord.objects.visible_to(actor).select_related("version"), pk)
    word_seen(word=word, by=actor, at=actor.at)
    messages.success(request, _("Noted."))
    return redirect("office:proposal", word.version.proposal_id)
