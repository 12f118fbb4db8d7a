"""Which letters wait for the end of their reader's quiet hours, and what they take the place of."""

import datetime as dt
from zoneinfo import ZoneInfo

from django.utils import timezone

from apps.accounts.selectors import firm_current
from apps.clients.models import Contact
from apps.core.quiet_hours import QuietHours
from apps.reports.choices import AT_ONCE, Delivery, LetterKind
from apps.reports.models import DeliveryStep, Letter
from apps.visits.models import Visit

# a letter about a visit has to be read before it: common practice
NOTICE = dt.timedelta(hours=2)
# of these the newest says all
APPOINTMENTS = (LetterKind.APPOINTMENT, LetterKind.CALLED_OFF, LetterKind.REMINDER)


def goes_out(
    kind: str, contact: Contact | None, visit: Visit | None, at: dt.datetime
) -> dt.datetime | None:
    """Return the time before which a letter does not go out; None: at once.

    The office's letters and those that cannot wait go at once, and so does what would come too
    late before the visit that it is about.
    """
    if contact is None or kind in AT_ONCE:
        return None
    firm = firm_current()
    hours = QuietHours(firm.quiet_from, firm.quiet_until)
    zone = contact.time_zone or timezone.get_default_timezone_name()
    moment = hours.over_at(at, ZoneInfo(zone))
    too_late = visit is not None and at < visit.start < moment + NOTICE
    return None if moment <= at or too_late else moment


def replaced_by(letter: Letter, at: dt.datetime) -> None:
    """Let go of what still waits and this letter says anew, so that nobody gets both at once."""
    if letter.contact is None:
        return
    waiting = Letter.objects.filter(
        contact=letter.contact, state=Delivery.QUEUED, channel=letter.channel
    ).exclude(pk=letter.pk)
    of = letter.parameters.get("proposal")
    if letter.kind == LetterKind.PROPOSAL and of:
        waiting = waiting.filter(kind=LetterKind.PROPOSAL, parameters__proposal=of)
    elif letter.kind in APPOINTMENTS and letter.visit is not None:
        besides = [row["visit"] for row in letter.parameters.get("besides") or []]
        # a reminder of several visits leaves out by itself what no longer holds once it is sent
        waiting = waiting.filter(
            visit__in=[letter.visit.pk, *besides], kind__in=APPOINTMENTS, not_before__gt=at
        ).exclude(parameters__has_key="besides")
    else:
        return
    for older in waiting:
        if Letter.objects.filter(pk=older.pk, state=Delivery.QUEUED).update(
            state=Delivery.REPLACED
        ):
            DeliveryStep.objects.create(letter=older, at=at, state=Delivery.REPLACED)
