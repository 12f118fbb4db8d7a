"""What an address asks for behind its question mark."""

import datetime as dt

from django.core.exceptions import BadRequest
from django.http import HttpRequest
from django.utils.dateparse import parse_date, parse_time
from django.utils.translation import gettext as _


def day_of(request: HttpRequest, name: str) -> dt.date | None:
    """Return a day out of the address. Raises BadRequest for another spelling."""
    text = request.GET.get(name, "")
    if not text:
        return None
    try:
        day = parse_date(text)
    except ValueError:
        day = None
    if day is None or not 2000 <= day.year <= 2100:
        raise BadRequest(f"{name}: " + _("a day is needed"))
    return day


def time_of(request: HttpRequest, name: str) -> dt.time | None:
    """Return a time of day out of the address. Raises BadRequest for another spelling."""
    text = request.GET.get(name, "")
    if not text:
        return None
    try:
        found = parse_time(text)
    except ValueError:
        found = None
    if found is None or found.tzinfo is not None:
        raise BadRequest(f"{name}: " + _("a time of day is needed, such as 10:30"))
    return found
