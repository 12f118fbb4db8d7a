"""The one place that asks what time it is. Called at the edge only; passed down as arguments."""

import datetime as dt

from django.conf import settings
from django.utils import timezone


def now() -> dt.datetime:
    """Return the aware time; a demo's clock is ahead of the real one, or behind it, all day long."""
    real = timezone.now()  # noqa: TID251 - the edge
    return real + dt.timedelta(seconds=settings.BACKYARD_CLOCK_AHEAD)


def today() -> dt.date:
    """Return the firm's local date."""
    return timezone.localdate(now())
