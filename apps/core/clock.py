"""The one place that asks what time it is. Called at the edge only; passed down as arguments."""

import datetime as dt

from django.conf import settings
from django.utils import timezone


def now() -> dt.datetime:
    """Return the aware time; on a demo's day (BACKYARD_TODAY) the real time of day on that day."""
    real = timezone.now()  # noqa: TID251 - the edge
    if not settings.BACKYARD_TODAY:
        return real
    local = timezone.localtime(real)
    day = dt.date.fromisoformat(settings.BACKYARD_TODAY)
    return local.replace(year=day.year, month=day.month, day=day.day)


def today() -> dt.date:
    """Return the firm's local date."""
    return timezone.localdate(now())
