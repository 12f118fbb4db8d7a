"""What several letters have in common: how they greet, when something is, and their links."""

import base64
import datetime as dt
from uuid import UUID

from django.conf import settings
from django.utils import timezone
from django.utils.crypto import salted_hmac
from django.utils.translation import gettext as _

from apps.clients.models import Contact
from apps.core.dates import day_text


def link_secret(letter_id: UUID, purpose: str) -> str:
    """Return the secret of a letter's link: the same however often the letter is written."""
    digest = salted_hmac(f"letter-link-{purpose}", str(letter_id), algorithm="sha256").digest()
    return base64.urlsafe_b64encode(digest).rstrip(b"=").decode()


def client_address(secret: str) -> str:
    """Return the full address of a client's link."""
    return f"{settings.BACKYARD_BASE_URL}/c/{secret}/"


def greeting(contact: Contact | None) -> str:
    """Return how a letter begins."""
    return _("Dear %(name)s,") % {"name": contact.name} if contact else ""


def day_and_time(moment: dt.datetime) -> str:
    """Return a moment of the firm's clock as a letter says it."""
    local = timezone.localtime(moment)
    day = day_text(local.date(), "long")
    return _("%(day)s at %(time)s") % {"day": day, "time": f"{local:%H:%M}"}


def time_of_day(moment: dt.datetime) -> str:
    """Return a moment as "09:00" on the firm's clock, where its day is known."""
    return f"{timezone.localtime(moment):%H:%M}"


def span(start: dt.datetime, end: dt.datetime) -> str:
    """Return between which times somebody comes."""
    first, last = timezone.localtime(start), timezone.localtime(end)
    return _("between %(start)s and %(end)s") % {"start": f"{first:%H:%M}", "end": f"{last:%H:%M}"}


def day_and_span(start: dt.datetime, end: dt.datetime) -> str:
    """Return a day and between which times of it somebody comes."""
    day = day_text(timezone.localdate(start), "long")
    return _("%(day)s, %(span)s") % {"day": day, "span": span(start, end)}
