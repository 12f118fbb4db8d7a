"""Letters: one row a letter, one Message-ID, never two by accident; what the office decides."""

import datetime as dt
import hashlib
from typing import Any

from django.conf import settings
from django.db import transaction
from django.db.models import Q, QuerySet
from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop as _noop

from apps.accounts.services import audit
from apps.clients.models import Contact
from apps.core import outbox
from apps.core.exceptions import Conflict
from apps.core.scoping import Actor
from apps.core.texting import number_of
from apps.reports.choices import LETTER_SUBJECTS, SENDABLE, Channel, Delivery, LetterKind
from apps.reports.models import DeliveryStep, Letter
from apps.reports.services.quiet import goes_out, replaced_by
from apps.visits.models import Visit
from apps.visits.services.steps import author


@transaction.atomic
def letter_make(
    *,
    kind: str,
    key: str,
    address: str,
    contact: Contact | None,
    visit: Visit | None,
    parameters: dict[str, Any],
    at: dt.datetime,
    at_once: bool = False,
    channel: str = Channel.MAIL,
) -> Letter:
    """Write a letter and the job that sends it; the same key is the same letter.

    In its reader's quiet hours it waits for their end, unless its kind cannot wait or `at_once`
    says that it answers what the reader has just done.
    """
    if LETTER_SUBJECTS[LetterKind(kind)] == "visit" and visit is None:
        raise ValueError(f"a letter of kind {kind} is about a visit")
    digest = hashlib.sha256(f"{key}/{address.lower()}".encode()).hexdigest()[:40]
    domain = settings.DEFAULT_FROM_EMAIL.rsplit("@", 1)[-1].rstrip(">")
    letter, made = Letter.objects.get_or_create(
        key=f"{key}/{digest[:12]}",
        defaults={
            "kind": kind,
            "channel": channel,
            "contact": contact,
            "address": address,
            "visit": visit,
            "parameters": parameters,
            "message_id": f"<{digest}@{domain}>",
            "made_at": at,
            "at_once": at_once,
            "not_before": None if at_once else goes_out(kind, contact, visit, at),
        },
    )
    if made:
        step_note(letter, Delivery.QUEUED, at, "")
        replaced_by(letter, at)
        job_begin(letter, at)
    return letter


def job_begin(letter: Letter, at: dt.datetime) -> None:
    """Write the job that sends a letter, in the caller's transaction."""
    steps = letter.steps.count()
    letter.job = f"letter:{letter.pk}:{steps}" if steps > 1 else f"letter:{letter.pk}"
    Letter.objects.filter(pk=letter.pk).update(job=letter.job)
    outbox.enqueue(
        "letters.send", letter.job, {"letter_id": str(letter.pk)}, at=at, run_at=letter.not_before
    )


def step_note(letter: Letter, state: str, at: dt.datetime, words: str, by: str = "") -> None:
    """Note what happened to a letter, in the caller's transaction."""
    DeliveryStep.objects.create(letter=letter, at=at, state=state, words=words[:2000], by=by)


@transaction.atomic
def letter_again(*, letter: Letter, by: Actor, at: dt.datetime) -> Letter:
    """Send a letter once more that did not arrive for certain, under the same Message-ID.

    It goes to the address that the contact has by now, and at once. Raises Conflict for one that
    was sent, or still waits.
    """
    address = _address_now(letter)
    # the number of the try goes on: a sender of before that is still alive holds an older one
    taken = Letter.objects.filter(pk=letter.pk, state__in=SENDABLE).update(
        state=Delivery.QUEUED, tried_from=None, next_try=None, not_before=None, at_once=True,
        address=address, last_error="",
    )  # fmt: skip
    if not taken:
        raise Conflict(
            _("Only a letter that did not arrive for certain can be sent again."), "state",
            current=letter.state,
        )  # fmt: skip
    step_note(letter, Delivery.QUEUED, at, _noop("asked for by the office"), author(by))
    letter.refresh_from_db()
    job_begin(letter, at)
    audit(at=at, by=by, verb="sent again", kind="letter", object_id=letter.pk)
    return letter


def _address_now(letter: Letter) -> str:
    if letter.contact is None:
        return letter.address
    if letter.channel == Channel.TEXT:
        return number_of(letter.contact.phone) or letter.address
    return letter.contact.email or letter.address


@transaction.atomic
def letter_now(*, letter: Letter, by: Actor, at: dt.datetime) -> Letter:
    """Send a letter that waits for the morning or for its next try. Raises Conflict where none waits."""
    waits = Q(not_before__gt=at) | Q(next_try__gt=at)
    taken = Letter.objects.filter(waits, pk=letter.pk, state=Delivery.QUEUED).update(
        not_before=None, next_try=None, at_once=True
    )
    if not taken:
        letter.refresh_from_db()
        raise Conflict(
            _("Only a letter that waits for its time can be sent now."), "state",
            current=letter.state,
        )  # fmt: skip
    step_note(letter, Delivery.QUEUED, at, _noop("sent now by the office"), author(by))
    outbox.hasten(letter.job or f"letter:{letter.pk}", at)
    audit(at=at, by=by, verb="sent now", kind="letter", object_id=letter.pk)
    letter.refresh_from_db()
    return letter


@transaction.atomic
def letters_withhold(*, rows: QuerySet[Letter], words: str, at: dt.datetime) -> int:
    """Let those of some letters go that still wait, for a reason in words; return how many."""
    count = 0
    for letter in rows.filter(state=Delivery.QUEUED):
        if Letter.objects.filter(pk=letter.pk, state=Delivery.QUEUED).update(
            state=Delivery.WITHHELD, last_error=words, next_try=None
        ):
            step_note(letter, Delivery.WITHHELD, at, words)
            count += 1
    return count


@transaction.atomic
def letter_arrived(*, letter: Letter, by: Actor, at: dt.datetime) -> Letter:
    """Note that an unsure letter did arrive."""
    taken = Letter.objects.filter(pk=letter.pk, state=Delivery.UNSURE).update(
        state=Delivery.SENT, sent_at=at
    )
    if not taken:
        raise Conflict(_("Only an unsure letter can be settled."), "state", current=letter.state)
    step_note(letter, Delivery.SENT, at, _noop("settled by the office"), author(by))
    letter.refresh_from_db()
    return letter
