"""Words that letters of several kinds begin with."""

import datetime as dt

from django.utils import timezone
from django.utils.translation import gettext as _

from apps.clients.models import Contact
from apps.core.dates import day_text


def greeting(contact: Contact | None) -> str:
    """Return how a letter addresses its reader; nothing where that is nobody's name."""
    return _("Dear %(name)s,") % {"name": contact.name} if contact else ""


def day_and_time(moment: dt.datetime) -> str:
    """Return a moment as "Thursday 11 June at 09:00" on the firm's clock."""
    local = timezone.localtime(moment)
    day = day_text(local.date(), "long")
    return _("%(day)s at %(time)s") % {"day": day, "time": f"{local:%H:%M}"}


def time_of_day(moment: dt.datetime) -> str:
    """Return a moment of today as "09:00" on the firm's clock."""
    return f"{timezone.localtime(moment):%H:%M}"
