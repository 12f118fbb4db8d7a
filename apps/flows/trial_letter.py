"""A letter that only tries the mail: made and sent as all others, kept nowhere."""

import datetime as dt
import smtplib
from dataclasses import dataclass
from uuid import UUID

from django.conf import settings
from django.utils import translation
from django.utils.translation import gettext as _

from apps.accounts.selectors import firm_current
from apps.core.mail import Unreached, Unsure
from apps.core.verp import return_address
from apps.flows.letter_parts import day_and_time
from apps.reports.rendering.mailing import Mail, message_of


@dataclass(frozen=True)
class Tried:
    """What became of it: whether the server took it, its words where not, and the mail's marks."""

    taken: bool
    words: str
    message_id: str
    sender: str
    envelope: str


def trial_send(*, address: str, key: UUID, at: dt.datetime) -> Tried:
    """Send a letter that tries the mail to an address, over the server of the settings."""
    firm, envelope = firm_current(), return_address(key)
    domain = settings.DEFAULT_FROM_EMAIL.rsplit("@", 1)[-1].rstrip(">")
    with translation.override(firm.language):
        sentence = _("A letter to try the mail")
        mail = Mail(
            kind="trial", subject=sentence, address=address, message_id=f"<trial-{key.hex}@{domain}>",
            firm_name=firm.name, reply_to=firm.email, envelope=envelope,
            context={
                "firm": firm, "sentence": sentence, "preheader": "", "envelope": envelope,
                "when": day_and_time(at), "host": settings.EMAIL_HOST,
            },
        )  # fmt: skip
        message = message_of(mail)
    words = ""
    try:
        message.send()
    except Unreached as error:
        words = f"the server could not be reached: {error}"
    except Unsure as error:
        words = f"handed over, no answer: {error}"
    except (smtplib.SMTPException, ValueError, OSError) as error:
        words = f"refused: {error}"
    return Tried(not words, words, mail.message_id, settings.DEFAULT_FROM_EMAIL, message.from_email)
