"""Which proposals wait for the office: a client has written, or did not answer in time."""

import datetime as dt
from typing import Any

from django.db.models import F, FilteredRelation, Q
from django.urls import reverse
from django.utils import timezone
from django.utils.translation import gettext as _

from apps.core.scoping import Actor
from apps.office.selectors.waiting_item import Waiting, waits
from apps.office.wording import first_sentences, place_label
from apps.proposals.choices import Answer, Said
from apps.proposals.models import Proposal, ProposalVersion

MOST, MOST_LOOKED_AT = 12, 60


def proposals_waiting(actor: Actor) -> list[Waiting]:
    """Return what clients wrote that nobody has looked at, and what ran out unanswered: one query."""
    today = timezone.localdate(actor.at)
    over = Q(sending__isnull=False, proposal__answer=Answer.OPEN, proposal__valid_until__lt=today)
    rows: Any = (
        ProposalVersion.objects.visible_to(actor)
        .annotate(unseen=FilteredRelation("words_said", condition=Q(words_said__seen_at=None)))
        .filter(Q(unseen__isnull=False) | over)
        .annotate(said=F("unseen__kind"), said_words=F("unseen__words"), said_at=F("unseen__at"))
        .select_related("proposal__place__client")
        .order_by(F("said_at").asc(nulls_last=True), "proposal__valid_until", "-number")
    )
    words: list[Waiting] = []
    late: dict[Any, Waiting] = {}
    for row in rows[:MOST_LOOKED_AT]:
        if row.said:
            words.append(_word(actor, row.proposal, row.said, row.said_words, row.said_at))
        else:
            # several versions of one were sent
            late.setdefault(row.proposal_id, _over(actor, row.proposal))
    return [*words[:MOST], *list(late.values())[:MOST]]


def _word(actor: Actor, row: Proposal, kind: str, words: str, at: dt.datetime) -> Waiting:
    text = _(" would like %(name)s") if kind == Said.WANTED else _(" asks about %(name)s: %(what)s")
    said = {"name": row.name, "what": first_sentences(words, 90)}
    url = reverse("office:proposal", args=[row.pk])
    return waits(actor, at, url, row.place.client.name, text % said)


def _over(actor: Actor, row: Proposal) -> Waiting:
    ended = dt.datetime.combine(row.valid_until + dt.timedelta(days=1), dt.time.min)
    return waits(
        actor, timezone.make_aware(ended), reverse("office:proposal", args=[row.pk]),
        _("Proposal %(number)s") % {"number": row},
        _(", %(place)s: not answered, and no longer valid") % {"place": place_label(row.place)},
    )  # fmt: skip
