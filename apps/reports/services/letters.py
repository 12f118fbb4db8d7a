"""Letters: one row a letter, one Message-ID, never two by accident.

queued -> sending -> sent. What fails before the letter itself is handed over is tried again; what
fails after, nobody can know: it stands as 'unsure' until the office decides.
"""

import datetime as dt
import hashlib
import logging
import smtplib
from typing import Any
from uuid import UUID

from django.conf import settings
from django.core.mail import EmailMessage
from django.db import transaction
from django.db.models import F
from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop as _noop

from apps.accounts.services import audit
from apps.clients.models import Contact
from apps.core import outbox
from apps.core.exceptions import Conflict
from apps.core.mail import Unsure
from apps.core.scoping import Actor
from apps.reports.choices import LETTER_SUBJECTS, Delivery, LetterKind
from apps.reports.models import DeliveryStep, Letter
from apps.reports.services.quiet import goes_out, replaced_by
from apps.visits.models import Visit
from apps.visits.services.steps import author

logger = logging.getLogger(__name__)
LEASE = dt.timedelta(minutes=2)
MAX_TRIES = 12


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
            "contact": contact,
            "address": address,
            "visit": visit,
            "parameters": parameters,
            "message_id": f"<{digest}@{domain}>",
            "made_at": at,
            "not_before": None if at_once else goes_out(kind, contact, visit, at),
        },
    )
    if made:
        _step(letter, Delivery.QUEUED, at, "")
        replaced_by(letter, at)
        outbox.enqueue(
            "letters.send", _job(letter), {"letter_id": str(letter.pk)}, at=at,
            run_at=letter.not_before,
        )  # fmt: skip
    return letter


def _job(letter: Letter) -> str:
    return f"letter:{letter.pk}"


def _step(letter: Letter, state: str, at: dt.datetime, words: str, by: str = "") -> None:
    DeliveryStep.objects.create(letter=letter, at=at, state=state, words=words[:2000], by=by)


def _claim(letter_id: UUID, at: dt.datetime) -> Letter | None:
    with transaction.atomic():
        taken = Letter.objects.filter(pk=letter_id, state=Delivery.QUEUED).update(
            state=Delivery.SENDING, tries=F("tries") + 1, lease_until=at + LEASE
        )
        if not taken:
            return None
        letter = Letter.objects.select_related("contact", "visit__place__client").get(pk=letter_id)
        _step(letter, Delivery.SENDING, at, "")
    return letter


def _end(letter: Letter, state: str, at: dt.datetime, words: str = "", **more: Any) -> bool:
    with transaction.atomic():
        taken = Letter.objects.filter(pk=letter.pk, state=Delivery.SENDING).update(
            state=state, lease_until=None, last_error=words[:2000], **more
        )
        if taken:
            _step(letter, state, at, words)
    return bool(taken)


def letter_send(*, letter_id: UUID, compose: Any, at: dt.datetime) -> None:
    """Send a letter once.

    Raises outbox.Transient where it may safely be tried again. A failure after the data began
    leaves it unsure; a refusal for good leaves it failed.
    """
    letter = _claim(letter_id, at)
    if letter is None:
        return
    try:
        message: EmailMessage = compose(letter)
    except Exception as error:
        _end(letter, Delivery.QUEUED, at, f"could not be written: {error}")
        raise
    try:
        message.send()
    except Unsure as error:
        _end(letter, Delivery.UNSURE, at, f"handed over, no answer: {error}")
    except smtplib.SMTPRecipientsRefused as error:
        codes = [code for code, _words in error.recipients.values()]
        _refused(letter, min(codes, default=500), str(error), at)
    except smtplib.SMTPResponseException as error:
        _refused(letter, error.smtp_code, str(error), at)
    except (OSError, smtplib.SMTPException) as error:
        _again(letter, str(error), at)
    except ValueError as error:
        _end(letter, Delivery.FAILED, at, str(error))
    else:
        _end(letter, Delivery.SENT, at, sent_at=at, subject_line=message.subject[:300])


def _refused(letter: Letter, code: int, words: str, at: dt.datetime) -> None:
    if 400 <= code < 500:
        _again(letter, words, at)
    _end(letter, Delivery.FAILED, at, words)


def _again(letter: Letter, words: str, at: dt.datetime) -> None:
    if letter.tries >= MAX_TRIES:
        _end(letter, Delivery.FAILED, at, words)
        return
    _end(letter, Delivery.QUEUED, at, words)
    raise outbox.Transient(words)


def leases_reap(at: dt.datetime) -> int:
    """Mark letters whose sender died in the middle as unsure; return how many."""
    count = 0
    for letter in Letter.objects.filter(state=Delivery.SENDING, lease_until__lt=at)[:200]:
        count += _end(letter, Delivery.UNSURE, at, _noop("the sender stopped in the middle"))
    return count


@transaction.atomic
def letter_again(*, letter: Letter, by: Actor, at: dt.datetime) -> Letter:
    """Send a failed or unsure letter once more, under the same Message-ID."""
    taken = Letter.objects.filter(
        pk=letter.pk, state__in=[Delivery.FAILED, Delivery.UNSURE]
    ).update(state=Delivery.QUEUED, tries=0)
    if not taken:
        raise Conflict(
            _("Only a failed or unsure letter can be sent again."), "state", current=letter.state
        )
    steps = letter.steps.count()
    _step(letter, Delivery.QUEUED, at, _noop("asked for by the office"), author(by))
    outbox.enqueue(
        "letters.send", f"letter:{letter.pk}:{steps}", {"letter_id": str(letter.pk)}, at=at
    )
    audit(at=at, by=by, verb="sent again", kind="letter", object_id=letter.pk)
    letter.refresh_from_db()
    return letter


@transaction.atomic
def letter_now(*, letter: Letter, by: Actor, at: dt.datetime) -> Letter:
    """Send a letter that waits for the end of quiet hours. Raises Conflict where none waits."""
    taken = Letter.objects.filter(pk=letter.pk, state=Delivery.QUEUED, not_before__gt=at).update(
        not_before=None
    )
    if not taken:
        letter.refresh_from_db()
        raise Conflict(
            _("Only a letter that waits for the morning can be sent now."), "state",
            current=letter.state,
        )  # fmt: skip
    _step(letter, Delivery.QUEUED, at, _noop("sent now by the office"), author(by))
    outbox.hasten(_job(letter), at)
    audit(at=at, by=by, verb="sent now", kind="letter", object_id=letter.pk)
    letter.refresh_from_db()
    return letter


@transaction.atomic
def letter_arrived(*, letter: Letter, by: Actor, at: dt.datetime) -> Letter:
    """Note that an unsure letter did arrive."""
    taken = Letter.objects.filter(pk=letter.pk, state=Delivery.UNSURE).update(
        state=Delivery.SENT, sent_at=at
    )
    if not taken:
        raise Conflict(_("Only an unsure letter can be settled."), "state", current=letter.state)
    _step(letter, Delivery.SENT, at, _noop("settled by the office"), author(by))
    letter.refresh_from_db()
    return letter
