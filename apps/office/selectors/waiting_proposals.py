"""Which proposals wait for the office: a client has written, or did not answer in time."""

import datetime as dt

from django.urls import reverse
from django.utils import timezone
from django.utils.translation import gettext as _

from apps.core.scoping import Actor
from apps.office.selectors.waiting_item import Waiting, waits
from apps.office.wording import first_sentences, place_label
from apps.proposals.choices import Answer, Said
from apps.proposals.models import Proposal, ProposalWord, Sending

MOST = 12


def proposals_waiting(actor: Actor) -> list[Waiting]:
    """Return what clients wrote that nobody has looked at, and what ran out unanswered: two queries."""
    return [*_words(actor), *_over(actor)]


def _words(actor: Actor) -> list[Waiting]:
    rows = (
        ProposalWord.objects.visible_to(actor)
        .filter(seen_at=None)
        .select_related("version__proposal__place__client")
        .order_by("at")[:MOST]
    )
    texts = {Said.WANTED: _(" would like %(name)s"), Said.QUESTION: _(" asks about %(name)s: %(what)s")}  # fmt: skip
    return [
        waits(
            actor, row.at, reverse("office:proposal", args=[row.version.proposal_id]),
            row.version.proposal.place.client.name,
            texts[Said(row.kind)]
            % {"name": row.version.proposal.name, "what": first_sentences(row.words, 90)},
        )
        for row in rows
    ]  # fmt: skip


def _over(actor: Actor) -> list[Waiting]:
    today = timezone.localdate(actor.at)
    rows = (
        Proposal.objects.visible_to(actor)
        .filter(answer=Answer.OPEN, valid_until__lt=today)
        .filter(pk__in=Sending.objects.values("version__proposal"))
        .select_related("place__client")
        .order_by("valid_until", "number")[:MOST]
    )
    return [
        waits(
            actor, _end_of(row.valid_until), reverse("office:proposal", args=[row.pk]),
            _("Proposal %(number)s") % {"number": row},
            _(", %(place)s: not answered, and no longer valid") % {"place": place_label(row.place)},
        )
        for row in rows
    ]  # fmt: skip


def _end_of(day: dt.date) -> dt.datetime:
    return timezone.make_aware(dt.datetime.combine(day + dt.timedelta(days=1), dt.time.min))
