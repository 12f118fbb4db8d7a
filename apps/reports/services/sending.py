"""Sending a letter: claimed by one, put together, handed over, and what became of that.

queued -> sending -> sent. What fails before the letter itself is handed over is tried again, for a
day; what fails after, nobody can know: it stands as 'unsure' until the office decides.
"""

import datetime as dt
import logging
import secrets
import smtplib
from typing import Any
from uuid import UUID

from django.core.mail import EmailMessage
from django.db import transaction
from django.db.models import F, Q
from django.utils.translation import gettext_noop as _noop

from apps.core import outbox
from apps.core.mail import Unreached, Unsure
from apps.core.texting import Refused, TextMessage
from apps.reports.choices import Channel, Delivery
from apps.reports.models import Letter
from apps.reports.services.letters import job_begin, step_note
from apps.reports.services.mail_server import server_answers, server_away, server_wait
from apps.reports.services.quiet import goes_out
from apps.reports.services.wanted import why_not

logger = logging.getLogger(__name__)
# longer than a worker's hard limit, so that no living sender is taken for dead
LEASE = dt.timedelta(minutes=2)
GIVEN_UP_AFTER = dt.timedelta(hours=24)
LONGEST_PAUSE_MIN = 60
# senders that died over one letter before it was handed over
MOST_DEATHS = 5
_WHOLE = 1000


def pause_before(tries: int, share: float) -> dt.timedelta:
    """Return how long to wait after so many tries: 1, 2, 4 ... 60 minutes, times a share.

    `share`, from 0.5 to 1, keeps letters that failed together from coming back together.

    >>> [pause_before(tries, 1.0).seconds // 60 for tries in (1, 2, 3, 6, 7, 40)]
    [1, 2, 4, 32, 60, 60]
    """
    return dt.timedelta(minutes=min(LONGEST_PAUSE_MIN, 2 ** min(tries - 1, 6)) * share)


def _share() -> float:
    return 0.5 + secrets.randbelow(_WHOLE) / (2 * _WHOLE)


def letter_send(*, letter_id: UUID, compose: Any, at: dt.datetime) -> None:
    """Send a letter once, if it is still wanted.

    Raises outbox.Transient where it waits or may safely be tried again. A failure after the data
    began leaves it unsure; a refusal for good leaves it failed, and so does a day of failures.
    """
    row = _queued(letter_id)
    if row is None or _let_be(row, at):
        return
    _wait_for_morning(row, at)
    if row.channel == Channel.MAIL:
        server_wait(at)
    letter = _claim(letter_id, at)
    if letter is None:
        return
    try:
        message: EmailMessage | TextMessage = compose(letter)
    except Exception as error:
        logger.exception("letter %s could not be written", letter.pk)
        _again(letter, f"could not be written: {error}", at)
    else:
        if _hand_over(letter):
            _send(letter, message, at)


def _send(letter: Letter, message: EmailMessage | TextMessage, at: dt.datetime) -> None:
    try:
        message.send()
    except Unsure as error:
        _end(letter, Delivery.UNSURE, at, f"handed over, no answer: {error}")
    except Unreached as error:
        if letter.channel == Channel.MAIL:
            server_away(str(error), at)
        _again(letter, str(error), at)
    except smtplib.SMTPRecipientsRefused as error:
        codes = [code for code, _words in error.recipients.values()]
        _refused(letter, min(codes, default=500), str(error), at)
    except smtplib.SMTPResponseException as error:
        _refused(letter, error.smtp_code, str(error), at)
    except (ValueError, Refused) as error:
        _end(letter, Delivery.FAILED, at, str(error))
    except Exception as error:  # noqa: BLE001 - the data had not begun: whatever it was, try again
        _again(letter, str(error) or type(error).__name__, at)
    else:
        if letter.channel == Channel.MAIL:
            server_answers()
        _end(letter, Delivery.SENT, at, sent_at=at, subject_line=message.subject[:300])


def _queued(letter_id: UUID) -> Letter | None:
    return (
        Letter.objects.filter(pk=letter_id, state=Delivery.QUEUED)
        .select_related("contact__client", "visit")
        .first()
    )


def _let_be(letter: Letter, at: dt.datetime) -> bool:
    """Settle a letter that nobody wants any more, or that says what no longer holds."""
    held = why_not(letter, at)
    if held is None:
        return False
    state, words = held
    with transaction.atomic():
        if Letter.objects.filter(pk=letter.pk, state=Delivery.QUEUED).update(
            state=state, last_error=words, next_try=None
        ):
            step_note(letter, state, at, words)
    return True


def _wait_for_morning(letter: Letter, at: dt.datetime) -> None:
    """Raise outbox.Transient where a later try falls into the reader's quiet hours."""
    moment = None if letter.at_once else goes_out(letter.kind, letter.contact, letter.visit, at)
    if moment is None:
        return
    Letter.objects.filter(pk=letter.pk, state=Delivery.QUEUED).update(
        not_before=moment, next_try=None
    )
    raise outbox.Transient("waits for the morning", after=moment - at, patient=True)


def _claim(letter_id: UUID, at: dt.datetime) -> Letter | None:
    with transaction.atomic():
        taken = Letter.objects.filter(pk=letter_id, state=Delivery.QUEUED).update(
            state=Delivery.SENDING, tries=F("tries") + 1, lease_until=at + LEASE, preparing=True,
            next_try=None,
        )  # fmt: skip
        if not taken:
            return None
        Letter.objects.filter(pk=letter_id, tried_from__isnull=True).update(tried_from=at)
        letter = Letter.objects.select_related("contact", "visit__place__client").get(pk=letter_id)
        step_note(letter, Delivery.SENDING, at, "")
    return letter


def _mine(letter: Letter) -> Q:
    """Narrow to the letter as this try holds it: no other sender has it meanwhile."""
    return Q(pk=letter.pk, tries=letter.tries)


def _hand_over(letter: Letter) -> bool:
    """Note, before a word is sent, that from here on nobody can know; return whether it is ours."""
    return bool(
        Letter.objects.filter(_mine(letter), state=Delivery.SENDING, preparing=True).update(
            preparing=False
        )
    )


def _end(letter: Letter, state: str, at: dt.datetime, words: str = "", **more: Any) -> bool:
    # who was taken for dead and then hears that it was taken knows more than 'unsure'
    held = [Delivery.SENDING, *([Delivery.UNSURE] if state == Delivery.SENT else [])]
    with transaction.atomic():
        taken = Letter.objects.filter(_mine(letter), state__in=held).update(
            state=state, lease_until=None, preparing=False, last_error=words[:2000], **more
        )
        if taken:
            step_note(letter, state, at, words)
    return bool(taken)


def _refused(letter: Letter, code: int, words: str, at: dt.datetime) -> None:
    server_answers()
    if 400 <= code < 500:
        _again(letter, words, at)
    else:
        _end(letter, Delivery.FAILED, at, words)


def _again(letter: Letter, words: str, at: dt.datetime) -> None:
    """Try later, at most for a day. Raises outbox.Transient where it is tried."""
    last = (letter.tried_from or at) + GIVEN_UP_AFTER
    if at >= last:
        _end(letter, Delivery.FAILED, at, words)
        return
    wait = min(pause_before(letter.tries, _share()), last - at)
    if _end(letter, Delivery.QUEUED, at, words, next_try=at + wait):
        raise outbox.Transient(words, after=wait, patient=True)


def leases_reap(at: dt.datetime) -> int:
    """Settle letters whose sender died in the middle; return how many.

    One that had not begun to hand it over has sent nothing: it goes out again. Else it is unsure.
    """
    count = 0
    for letter in Letter.objects.filter(state=Delivery.SENDING, lease_until__lt=at)[:200]:
        if letter.preparing and letter.tries < MOST_DEATHS:
            count += _restart(letter, at)
        elif letter.preparing:
            count += _end(letter, Delivery.FAILED, at, _noop("each sender stopped over it"))
        else:
            count += _end(letter, Delivery.UNSURE, at, _noop("the sender stopped in the middle"))
    return count


@transaction.atomic
def _restart(letter: Letter, at: dt.datetime) -> bool:
    words = _noop("the sender stopped before it was handed over")
    taken = Letter.objects.filter(
        _mine(letter), state=Delivery.SENDING, preparing=True, lease_until__lt=at
    ).update(state=Delivery.QUEUED, lease_until=None, preparing=False)
    if taken:
        step_note(letter, Delivery.QUEUED, at, words)
        job_begin(letter, at)
    return bool(taken)
