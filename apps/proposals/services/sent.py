"""Versions that go to the client, and what the client writes to them on their page."""

import datetime as dt
from uuid import UUID

from django.db import transaction
from django.utils import timezone
from django.utils.translation import gettext as _

from apps.accounts.services import audit
from apps.core.exceptions import Conflict, DomainError
from apps.core.scoping import Actor
from apps.proposals.choices import Answer, Said
from apps.proposals.models import Proposal, ProposalVersion, ProposalWord, Sending
from apps.proposals.services.proposals import must_be_open, version_is_current
from apps.visits.services.steps import author

MOST_WORDS = 40  # on one version


def version_sendable(version: ProposalVersion, at: dt.datetime) -> None:
    """Raise Conflict where a version must not go out: answered, over, or no longer what holds."""
    row = version.proposal
    must_be_open(row)
    if row.valid_until < timezone.localdate(at):
        raise Conflict(
            _("It is no longer valid: set another day under Prices and terms, and make its PDF "
              "anew."), "expired",
        )  # fmt: skip
    newest = row.versions.order_by("-number").first()
    if newest is None or newest.pk != version.pk or not version_is_current(version, at):
        raise Conflict(
            _("This version no longer says what the proposal says: make its PDF, and send that."),
            "outdated",
        )  # fmt: skip


@transaction.atomic
def version_sent(*, version: ProposalVersion, by: Actor, at: dt.datetime) -> Sending:
    """Let the client read a version from now on; once is enough.

    Raises Conflict as version_sendable does.
    """
    Proposal.objects.select_for_update().get(pk=version.proposal_id)
    version.proposal.refresh_from_db()
    version_sendable(version, at)
    row, made = Sending.objects.get_or_create(
        version=version, defaults={"at": at, "by": author(by)}
    )
    if made:
        audit(at=at, by=by, verb="sent", kind="proposal", object_id=version.proposal_id,
              change={"version": version.number})  # fmt: skip
    return row


@transaction.atomic
def word_add(
    *,
    version: ProposalVersion,
    kind: str,
    words: str,
    contact_id: UUID | None,
    pk: UUID,
    by: Actor,
    at: dt.datetime,
) -> ProposalWord:
    """Keep what a client wrote to a version that was sent; the same key again is the same note.

    So is the same wish again: whoever would like a version has said so once, unless other words
    come with it.

    Raises Conflict where it can be answered no more, DomainError for a question without words.
    """
    row = Proposal.objects.select_for_update().get(pk=version.proposal_id)
    held = ProposalWord.objects.filter(pk=pk).first()
    if held is not None:
        if held.version_id != version.pk:
            raise Conflict(_("This key belongs to another note."), "key_reused")
        return held
    _must_wait_for_them(row, version, at)
    if kind == Said.QUESTION and not words.strip():
        raise DomainError(_("Write your question in a few words."), "no_words")
    wished = (
        version.words_said.filter(kind=Said.WANTED).order_by("at") if kind == Said.WANTED else ()
    )
    for word in wished:
        if words.strip() in ("", word.words.strip()):
            return word
    if version.words_said.count() >= MOST_WORDS:
        raise Conflict(_("You have written a lot already: please call us."), "too_many")
    word = ProposalWord(
        pk=pk, version=version, kind=kind, words=words, contact_id=contact_id, at=at
    )
    word.full_clean()
    word.save(force_insert=True)
    audit(at=at, by=by, verb=f"said {kind}", kind="proposal", object_id=row.pk)
    return word


def _must_wait_for_them(row: Proposal, version: ProposalVersion, at: dt.datetime) -> None:
    if row.answer != Answer.OPEN:
        raise Conflict(_("This proposal is answered already: please call us."), "answered")
    if row.valid_until < timezone.localdate(at):
        raise Conflict(
            _("This proposal is no longer valid: please call us, and we write it anew."), "expired"
        )
    newest = row.versions.filter(sending__isnull=False).order_by("-number").first()
    if newest is None or newest.pk != version.pk:
        raise Conflict(_("There is a newer version: read that one first."), "outdated")


@transaction.atomic
def word_seen(*, word: ProposalWord, by: Actor, at: dt.datetime) -> None:
    """Note that the office has looked at what a client wrote; once is enough."""
    taken = ProposalWord.objects.filter(pk=word.pk, seen_at=None).update(
        seen_at=at, seen_by=author(by)
    )
    if taken:
        audit(at=at, by=by, verb="looked at", kind="proposalword", object_id=word.pk)
