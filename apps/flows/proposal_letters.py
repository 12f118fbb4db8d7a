"""A proposal to its client: what the letter says, who gets it, and how it is put together."""

import datetime as dt
from typing import Any
from uuid import UUID

from django.db import transaction
from django.utils.translation import gettext as _

from apps.accounts.choices import Purpose
from apps.accounts.selectors import firm_current
from apps.accounts.services import link_issue
from apps.clients.choices import ReportsAs
from apps.clients.selectors import letter_contacts
from apps.core import files
from apps.core.exceptions import Invalid
from apps.core.scoping import Actor
from apps.flows.letter_parts import client_address, greeting, link_secret
from apps.proposals.models import ProposalVersion
from apps.proposals.rendering.wording import price_sentence, promise_sentence, until_sentence
from apps.proposals.services import version_sent
from apps.reports.choices import Delivery, LetterKind
from apps.reports.models import Letter
from apps.reports.rendering.mailing import Mail
from apps.reports.services.letters import letter_make

# the reader may have it
ARRIVED = (Delivery.SENT, Delivery.UNSURE)


def _parameters(version: ProposalVersion, words: str) -> dict[str, Any]:
    return {
        "proposal": str(version.proposal_id), "version": str(version.pk), "words": words,
        "until": version.snapshot["valid_until"],
    }  # fmt: skip


def proposal_letters_drafted(
    *, version: ProposalVersion, words: str, at: dt.datetime
) -> list[Letter]:
    """Return the letters that sending a version would write, one a reader; not kept, not sent."""
    return [
        Letter(kind=LetterKind.PROPOSAL, contact=contact, address=contact.email, made_at=at,
               parameters=_parameters(version, words))
        for contact in letter_contacts(version.proposal.place.client_id)
    ]  # fmt: skip


@transaction.atomic
def proposal_send(*, version: ProposalVersion, words: str, by: Actor, at: dt.datetime) -> int:
    """Let the client read a version and write one letter a reader; each gets it once.

    Returns how many letters were new. Raises Conflict where it must not go out, Invalid where
    nobody there gets letters.
    """
    version_sent(version=version, by=by, at=at)
    drafts = proposal_letters_drafted(version=version, words=words, at=at)
    if not drafts:
        message = "words: " + _("nobody there gets letters; print it, or set an address first")
        raise Invalid([{"pointer": "/words", "value": None, "message": message}])
    held = set(Letter.objects.filter(parameters__version=str(version.pk)).values_list("pk"))
    made = {
        letter_make(
            kind=draft.kind, key=f"proposal:{version.pk}", address=draft.address,
            contact=draft.contact, visit=None, parameters=draft.parameters, at=at,
        ).pk
        for draft in drafts
    }  # fmt: skip
    return len(made - {pk for (pk,) in held})


def compose_proposal(letter: Letter) -> Mail:
    """Put the letter together, the paper attached where its reader wants that and it is small."""
    contact, firm = letter.contact, firm_current()
    assert contact is not None  # noqa: S101 - the kind asks for one
    version = ProposalVersion.objects.select_related("proposal").get(
        pk=UUID(letter.parameters["version"])
    )
    snapshot = version.snapshot
    secret = link_issue(
        client_id=contact.client_id, purpose=Purpose.PAGE, at=letter.made_at,
        contact_id=contact.pk, secret=link_secret(letter.pk, Purpose.PAGE),
    )  # fmt: skip
    small = version.pdf_size <= firm.attach_limit_mb * 1_000_000
    attach = small and contact.reports_as == ReportsAs.ATTACHED
    sentence = _("Our proposal: %(name)s") % {"name": snapshot["name"]}
    before = _before(letter)
    if before:
        sentence = _("Our proposal, changed: %(name)s") % {"name": snapshot["name"]}
    return Mail(
        kind=letter.kind,
        subject=sentence,
        context={
            "firm": firm, "greeting": greeting(contact), "sentence": sentence, "attached": attach,
            "number": str(version.proposal), "promise": promise_sentence(snapshot),
            "price": price_sentence(snapshot), "until": until_sentence(snapshot),
            "words": [line.strip() for line in letter.parameters["words"].split("\n") if line.strip()],
            "place": f"{snapshot['place']['name']}, {snapshot['place']['address']}",
            "preheader": promise_sentence(snapshot), "link": client_address(secret),
        },
        address=letter.address,
        message_id=letter.message_id,
        firm_name=firm.name,
        reply_to=firm.email,
        attachments=[
            (f"proposal-{version.proposal}-{version.number}.pdf", files.read(version.pdf),
             "application/pdf")
        ] if attach else (),
        references=before,
    )  # fmt: skip


def _before(letter: Letter) -> list[str]:
    """Return the letters that the reader has had about the same proposal, oldest first."""
    rows = Letter.objects.filter(
        contact=letter.contact, kind=LetterKind.PROPOSAL, made_at__lt=letter.made_at,
        parameters__proposal=letter.parameters["proposal"], state__in=ARRIVED,
    )  # fmt: skip
    return list(rows.order_by("made_at").values_list("message_id", flat=True))
