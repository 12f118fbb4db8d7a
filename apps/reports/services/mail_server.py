"""The mail server as a whole: where it is away, all letters wait instead of each one trying.

Beside it stands how the mailbox of returned mail fares.
"""

import datetime as dt
import logging
import secrets

from apps.core import outbox
from apps.reports.models import MailServer

logger = logging.getLogger(__name__)
# after so many letters in a row that did not even connect, nothing is tried for so long
AWAY_AFTER = 5
PAUSE = dt.timedelta(minutes=5)
# those that waited do not all come back in the same second
SPREAD_S = 30


def server_wait(at: dt.datetime) -> None:
    """Raise outbox.Transient while the server's pause lasts: nothing is tried before its end."""
    row = MailServer.objects.filter(paused_until__gt=at).first()
    if row is not None and row.paused_until is not None:
        wait = row.paused_until - at + dt.timedelta(seconds=secrets.randbelow(SPREAD_S))
        raise outbox.Transient("the mail server is away", after=wait, patient=True)


def server_away(words: str, at: dt.datetime) -> None:
    """Note that it could not be reached; begin a pause once that happened often enough in a row.

    One more failure after a pause begins the next one at once.
    """
    row, _made = MailServer.objects.get_or_create(pk=1)
    row.failures += 1
    row.away_since = row.away_since or at
    row.last_error = words[:2000]
    if row.failures >= AWAY_AFTER:
        row.paused_until = at + PAUSE
        logger.log(logging.WARNING, "mail server not reached %d times; pause until %s",
                   row.failures, row.paused_until.isoformat())  # fmt: skip
    row.save(update_fields=["failures", "away_since", "paused_until", "last_error"])


def server_answers() -> None:
    """Note that it spoke to us, whatever it said."""
    MailServer.objects.filter(pk=1, failures__gt=0).update(
        failures=0, away_since=None, paused_until=None, last_error=""
    )


def mailbox_read(trouble: str, at: dt.datetime) -> None:
    """Note when the mailbox of returned mail was read last, or since when it cannot be, and why."""
    row, _made = MailServer.objects.get_or_create(pk=1)
    if trouble:
        row.mailbox_error = trouble[:2000]
        row.mailbox_failing_since = row.mailbox_failing_since or at
    else:
        row.mailbox_error, row.mailbox_failing_since, row.mailbox_read_at = "", None, at
    row.save(update_fields=["mailbox_error", "mailbox_failing_since", "mailbox_read_at"])
