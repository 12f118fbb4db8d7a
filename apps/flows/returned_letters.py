"""Reading the mailbox to which letters come back."""

import datetime as dt
import logging

from django.conf import settings

from apps.core.mailbox import MOST_MAILS, Mailbox, OpenMailbox, Unreadable
from apps.core.returned_mail import read_returned
from apps.reports.models import ReturnedMail
from apps.reports.services.mail_server import mailbox_read
from apps.reports.services.returned import returned_take

logger = logging.getLogger(__name__)


def returned_read(at: dt.datetime) -> int:
    """Read what came back since the last time; return how many notices meant something.

    What was understood is deleted there, after it stands in the database; what was not is left for
    a person. Without a mailbox in the settings nothing is done.
    """
    if not settings.BOUNCE_MAILBOX:
        return 0
    box = Mailbox(settings.BOUNCE_MAILBOX, settings.BOUNCE_USER, settings.BOUNCE_PASSWORD)
    try:
        with box.opened() as held:
            count = _read(held, at)
    except Unreadable as error:
        logger.log(logging.WARNING, "the mailbox of returned mail could not be read: %s", error)
        mailbox_read(str(error), at)
        return 0
    mailbox_read("", at)
    return count


def _read(box: OpenMailbox, at: dt.datetime) -> int:
    here = box.mails()
    marks = [mark for mark, _number in here]
    known = dict(ReturnedMail.objects.filter(mark__in=marks).values_list("mark", "meant"))
    # a crash after the database and before the deletion
    done = [number for mark, number in here if known.get(mark)]
    count = 0
    for mark, number in [item for item in here if item[0] not in known][:MOST_MAILS]:
        if returned_take(mark=mark, notice=read_returned(box.read(number)), at=at):
            done.append(number)
            count += 1
    box.take_away(done)
    return count
