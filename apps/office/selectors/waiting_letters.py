"""Which letters and addresses wait for the office, and whether mail can be sent at all."""

from django.urls import reverse
from django.utils.translation import gettext as _

from apps.core.scoping import Actor
from apps.office.selectors.waiting_item import Waiting, waits
from apps.reports.choices import TROUBLED, Delivery, WhyBlocked
from apps.reports.models import BlockedAddress, Letter, MailServer

MOST = 12


def letters_waiting(actor: Actor) -> list[Waiting]:
    """Return what is wrong with letters, addresses and the mail server: three queries."""
    return [*_letters(actor), *_addresses(actor), *_server(actor)]


def _letters(actor: Actor) -> list[Waiting]:
    rows = (
        Letter.objects.visible_to(actor)
        .filter(state__in=TROUBLED)
        .select_related("contact__client")
        .order_by("made_at")[:MOST]
    )
    words = {
        Delivery.FAILED: _(" was refused"),
        Delivery.UNSURE: _(" was handed over without an answer: did it arrive?"),
        Delivery.RETURNED: _(" came back"),
    }
    return [
        waits(
            actor, row.made_at, reverse("office:letter", args=[row.pk]),
            row.contact.client.name if row.contact else row.address, words[Delivery(row.state)],
            _("Letter to"),
        )
        for row in rows
    ]  # fmt: skip


def _addresses(actor: Actor) -> list[Waiting]:
    """Return the addresses that get nothing any more and that nobody has looked at."""
    rows = BlockedAddress.objects.visible_to(actor).filter(seen_at__isnull=True)
    words = {
        WhyBlocked.BOUNCED: _(" gets no letters: its mail came back. Ask for another address"),
        WhyBlocked.COMPLAINED: _(" gets no letters: the reader called one spam. Ask them"),
    }
    return [
        waits(actor, row.since, reverse("office:addresses"), row.address,
              words[WhyBlocked(row.why)])
        for row in rows.order_by("since")[:MOST]
    ]  # fmt: skip


def _server(actor: Actor) -> list[Waiting]:
    row = MailServer.objects.visible_to(actor).first()
    if row is None:
        return []
    url, found = reverse("office:letters"), []
    if row.paused_until and row.away_since:
        text = _(" cannot be reached: letters wait and go out by themselves once it answers")
        found.append(waits(actor, row.away_since, url, _("The mail server"), text))
    if row.mailbox_failing_since:
        text = _(" cannot be read: nobody hears of letters that come back")
        found.append(
            waits(actor, row.mailbox_failing_since, url, _("The mailbox of returned mail"), text)
        )
    return found
