"""Why somebody should come at dawn: where water is warm, oxygen is lowest then."""

import datetime as dt
from collections.abc import Iterable
from uuid import UUID

from django.utils import timezone
from django.utils.translation import gettext as _

from apps.advice.models import Advice
from apps.calc.climate import sunrise_utc_h
from apps.clients.models import Place
from apps.core.scoping import Actor

WARM = ("too_hot", "oxygen_low")
"""Rules whose open advice says that the fish are short of oxygen when the night ends."""


def dawn_words(actor: Actor, place: Place, systems: Iterable[UUID], day: dt.date) -> str:
    """Return that a visit for fish belongs at dawn on a day, and when that is; empty elsewhere."""
    warm = Advice.objects.visible_to(actor).filter(
        system__in=list(systems), rule__in=WARM, closed_at__isnull=True
    )
    if not warm.exists():
        return ""
    rises = _sunrise(place, day)
    if rises is None:
        return _("The water was warm or short of oxygen: come at dawn, when oxygen is lowest.")
    return _(
        "The water was warm or short of oxygen: come at dawn (about %(time)s), when oxygen is lowest."
    ) % {"time": f"{rises:%H:%M}"}


def _sunrise(place: Place, day: dt.date) -> dt.datetime | None:
    if place.latitude is None or place.longitude is None:
        return None
    hours = sunrise_utc_h(place.latitude, place.longitude, day.timetuple().tm_yday)
    if hours is None:
        return None
    midnight = dt.datetime.combine(day, dt.time(), dt.UTC)
    # to five minutes: a hedge moves it by more
    minutes = 5 * round(hours * 12)
    return timezone.localtime(midnight + dt.timedelta(minutes=minutes))
