"""Letters that came back, and addresses that get none until somebody has looked."""

import datetime as dt

from django.db import transaction
from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop as _noop

from apps.accounts.services import audit
from apps.core.exceptions import Conflict
from apps.core.returned_mail import COMPLAINED, DELAYED, DELIVERED, Returned
from apps.core.scoping import Actor
from apps.reports.choices import Delivery, WhyBlocked
from apps.reports.models import BlockedAddress, Letter, ReturnedMail
from apps.reports.services.letters import step_note

WENT = (Delivery.SENT, Delivery.UNSURE)
# how long it is known which notices were read
KEPT = dt.timedelta(days=90)


@transaction.atomic
def returned_take(*, mark: str, notice: Returned | None, at: dt.datetime) -> bool:
    """Take what a mail from the mailbox says, once for each mark; return whether it meant something.

    The same mail seen again, after a crash before it was deleted, changes nothing.
    """
    held, made = ReturnedMail.objects.get_or_create(mark=mark, defaults={"at": at})
    if made:
        letter = letter_named(notice) if notice else None
        if notice is not None and letter is not None:
            notice_take(letter=letter, notice=notice, at=at)
        held.meant = letter is not None
        held.save(update_fields=["meant"])
    return held.meant


def letter_named(notice: Returned) -> Letter | None:
    """Return the letter that a notice is about.

    Its own return address says so. Without one its Message-ID, which nobody can guess, must go
    with the address that it was sent to.
    """
    if notice.letter_id is not None:
        return Letter.objects.filter(pk=notice.letter_id).first()
    if not notice.message_id or not notice.recipient:
        return None
    return Letter.objects.filter(
        message_id=notice.message_id, address__iexact=notice.recipient
    ).first()


@transaction.atomic
def notice_take(*, letter: Letter, notice: Returned, at: dt.datetime) -> None:
    """Note what became of a letter after it was handed over."""
    words = " ".join(part for part in (notice.status, notice.words) if part)
    if notice.what == DELAYED:
        step_note(letter, letter.state, at, _noop("it has not arrived yet; their server tries on"))
    elif notice.what == DELIVERED:
        if Letter.objects.filter(pk=letter.pk, state=Delivery.UNSURE).update(
            state=Delivery.SENT, sent_at=at
        ):
            step_note(letter, Delivery.SENT, at, _noop("their server says that it arrived"))
    elif notice.what == COMPLAINED:
        step_note(letter, letter.state, at, _noop("the reader marked it as spam"))
        _block(letter, WhyBlocked.COMPLAINED, words, at)
    else:
        _came_back(letter, notice, words, at)


def _came_back(letter: Letter, notice: Returned, words: str, at: dt.datetime) -> None:
    taken = Letter.objects.filter(pk=letter.pk, state__in=WENT).update(
        state=Delivery.RETURNED, last_error=words[:2000]
    )
    if taken:
        step_note(letter, Delivery.RETURNED, at, words)
    if notice.for_good:
        _block(letter, WhyBlocked.BOUNCED, words, at)


def _block(letter: Letter, why: str, words: str, at: dt.datetime) -> None:
    if letter.contact_id is None:
        # the office's own address: nobody would hear that nothing is sent there
        return
    BlockedAddress.objects.get_or_create(
        address=letter.address.lower(),
        defaults={"why": why, "words": words[:400], "since": at, "letter": letter},
    )


@transaction.atomic
def address_free(*, row: BlockedAddress, by: Actor, at: dt.datetime) -> None:
    """Send letters to an address again. Raises Conflict where somebody was quicker."""
    if not BlockedAddress.objects.filter(pk=row.pk).delete()[0]:
        raise Conflict(_("This address gets letters again already."), "state", current="free")
    audit(at=at, by=by, verb="freed", kind="address", object_id=row.pk,
          change={"why": row.why, "since": row.since.isoformat()})  # fmt: skip


@transaction.atomic
def address_seen(*, row: BlockedAddress, by: Actor, at: dt.datetime) -> None:
    """Note that the office knows, and leaves the address blocked; a second time does nothing."""
    if BlockedAddress.objects.filter(pk=row.pk, seen_at__isnull=True).update(seen_at=at):
        audit(at=at, by=by, verb="seen", kind="address", object_id=row.pk)


def returned_forget_old(at: dt.datetime, kept: dt.timedelta = KEPT) -> int:
    """Drop which notices were read long ago; return how many."""
    return ReturnedMail.objects.filter(at__lt=at - kept).delete()[0]
