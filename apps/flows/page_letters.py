"""A new link to their page, for a reader who asks for it."""

import datetime as dt
from uuid import UUID

from django.db import transaction
from django.utils.translation import gettext as _

from apps.accounts.choices import Purpose
from apps.accounts.selectors import firm_current
from apps.accounts.services import link_issue
from apps.clients.models import Contact
from apps.flows.letter_parts import client_address, greeting, link_secret
from apps.reports.choices import LetterKind
from apps.reports.models import Letter
from apps.reports.rendering.mailing import Mail
from apps.reports.services.letters import letter_make

# whoever knows a link's number can ask, so a reader gets no more; own choice
MOST_A_DAY = 3


@transaction.atomic
def page_link_send(*, contact: Contact, at: dt.datetime) -> None:
    """Write a letter with a new link, unless its reader has had enough of them within a day."""
    # one at a time, so that two at once do not both find room
    Contact.objects.select_for_update().get(pk=contact.pk)
    had = Letter.objects.filter(contact=contact, kind=LetterKind.PAGE)
    if had.filter(made_at__gt=at - dt.timedelta(days=1)).count() < MOST_A_DAY:
        letter_make(
            kind=LetterKind.PAGE, key=f"page:{contact.pk}:{had.count()}", address=contact.email,
            contact=contact, visit=None, parameters={"client": str(contact.client_id)}, at=at,
            at_once=True,
        )  # fmt: skip


def compose_page(letter: Letter) -> Mail:
    """Put the letter together: the link, and what to do for whoever did not ask."""
    contact, firm = letter.contact, firm_current()
    assert contact is not None  # noqa: S101 - the kind asks for one
    secret = link_issue(
        client_id=UUID(letter.parameters["client"]), purpose=Purpose.PAGE, at=letter.made_at,
        contact_id=contact.pk, secret=link_secret(letter.pk, Purpose.PAGE),
    )  # fmt: skip
    sentence = _("Here is the link to your page.")
    return Mail(
        kind=letter.kind,
        subject=_("The link to your page"),
        context={
            "firm": firm, "greeting": greeting(contact), "sentence": sentence,
            "preheader": sentence, "link": client_address(secret),
        },
        address=letter.address,
        message_id=letter.message_id,
        firm_name=firm.name,
        reply_to=firm.email,
    )  # fmt: skip
