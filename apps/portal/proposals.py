"""Proposals on the client's page: read, and answered by a note that binds nobody."""

import datetime as dt
from dataclasses import dataclass
from uuid import UUID, uuid4

from django.contrib import messages
from django.contrib.auth.decorators import login_not_required
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.utils import timezone, translation
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST, require_safe

from apps.accounts.choices import Purpose
from apps.accounts.models import ClientLink
from apps.core import clock, files
from apps.core.dates import day_text
from apps.core.exceptions import DomainError
from apps.core.scoping import Actor
from apps.portal.opening import by_link, opened, private, typed
from apps.proposals.choices import Answer, Said
from apps.proposals.models import ProposalVersion, ProposalWord
from apps.proposals.rendering.wording import price_sentence, promise_sentence, until_sentence
from apps.proposals.selectors import versions_sent
from apps.proposals.services import word_add


@dataclass(frozen=True)
class ProposalShown:
    """A proposal as its client sees it; `state`: how it stands where it can be answered no more.

    `key`: what the next note is called, so that one sent twice counts once.
    """

    version: ProposalVersion
    name: str
    promise: str
    price: str
    until: str
    state: str
    said: list[ProposalWord]
    key: UUID

    @property
    def is_open(self) -> bool:
        """True where the client may still say something."""
        return not self.state

    @property
    def is_wanted(self) -> bool:
        """True where they have said that they would like it."""
        return any(word.kind == Said.WANTED for word in self.said)


def proposals_shown(actor: Actor, at: dt.datetime) -> list[ProposalShown]:
    """Return the proposals that were sent to a client, newest first: two queries."""
    return [_shown(row, at) for row in versions_sent(ProposalVersion.objects.visible_to(actor))]


def _shown(version: ProposalVersion, at: dt.datetime) -> ProposalShown:
    snapshot = version.snapshot
    return ProposalShown(
        version, snapshot["name"], promise_sentence(snapshot), price_sentence(snapshot),
        until_sentence(snapshot), _state(version, at), list(version.words_said.all()), uuid4(),
    )  # fmt: skip


def _state(version: ProposalVersion, at: dt.datetime) -> str:
    row = version.proposal
    if row.answer == Answer.OPEN:
        over = row.valid_until < timezone.localdate(at)
        return _("no longer valid; ask us for a new one") if over else ""
    day = day_text(row.answered_on, "year") if row.answered_on else ""
    text = _("accepted on %(day)s") if row.answer == Answer.ACCEPTED else _("declined on %(day)s")
    return text % {"day": day}


def _version(
    request: HttpRequest, secret: str, pk: UUID
) -> tuple[ClientLink, Actor, str, ProposalVersion]:
    """Return the link, its actor, language and the version. Raises Http404 for what is not theirs."""
    link, actor, language = opened(request, secret, clock.now())
    row = ProposalVersion.objects.visible_to(actor).select_related("proposal").filter(pk=pk).first()
    if row is None or link.purpose != Purpose.PAGE:
        raise Http404
    return link, actor, language, row


@login_not_required
@require_safe
@by_link
def proposal(request: HttpRequest, secret: str, version: UUID) -> HttpResponse:
    """Whoever holds the link: a proposal that was sent, as PDF."""
    _link, _actor, _language, row = _version(request, secret, version)
    return private(files.pdf_answer(row.pdf, f"proposal-{row.proposal}-{row.number}"))


@login_not_required
@require_POST
@by_link
def proposal_said(request: HttpRequest, secret: str, version: UUID) -> HttpResponse:
    """Whoever holds the link: say that they would like a proposal, or ask about it."""
    link, actor, language, row = _version(request, secret, version)
    kind, words = str(request.POST.get("kind", "")), typed(request).strip()
    with translation.override(language):
        try:
            pk = UUID(str(request.POST.get("key", "")))
        except ValueError:
            pk = uuid4()
        if kind not in Said.values:
            messages.error(request, _("Choose one of the answers."))
        else:
            try:
                word = word_add(
                    version=row, kind=kind, words=words, contact_id=link.contact_id, pk=pk,
                    by=actor, at=actor.at,
                )  # fmt: skip
                messages.success(request, _thanks(kind) if word.pk == pk else _told(word))
            except DomainError as error:
                messages.error(request, error.message)
    return private(redirect("portal:page", secret=secret))


def _told(word: ProposalWord) -> str:
    local = timezone.localtime(word.at)
    said = _(
        "You told us on %(day)s at %(time)s that you would like this. We speak with you first."
    )
    return said % {"day": day_text(local.date()), "time": f"{local:%H:%M}"}


def _thanks(kind: str) -> str:
    if kind == Said.WANTED:
        return _("Thank you. We have noted that you would like it, and speak with you before anything is ordered.")  # fmt: skip
    return _("Thank you. We have your question, and answer you.")
