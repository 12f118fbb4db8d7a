"""A weather that is coming: its list goes out, one letter a contact."""

import datetime as dt
from collections.abc import Iterable, Mapping, Sequence

from django.db import transaction
from django.utils import timezone
from django.utils.translation import gettext as _

from apps.clients.models import Contact
from apps.clients.selectors import letter_contacts
from apps.core.dates import day_text
from apps.core.exceptions import Invalid
from apps.core.phrases import list_words
from apps.core.scoping import Actor
from apps.flows.weather_letters import weather_letters
from apps.incidents.models import WeatherAsk, WeatherWatch
from apps.incidents.services import watch_make
from apps.systems.models import System

LATELY = dt.timedelta(hours=12)


@transaction.atomic
def send_list(
    *,
    kind: str,
    systems: Iterable[System],
    words: str,
    again: bool = False,
    by: Actor,
    at: dt.datetime,
) -> WeatherWatch:
    """Send the list of a weather to the contacts of systems who get letters, each once.

    `again`: also to those who had it for the same system within 12 hours. Raises Invalid for an
    unknown weather, where nobody there gets letters, and without `again` where somebody had it.
    """
    asked: dict[Contact, list[System]] = {}
    by_client: dict[object, list[Contact]] = {}
    for system in systems:
        client = system.place.client_id
        if client not in by_client:
            by_client[client] = letter_contacts(client)
        for contact in by_client[client]:
            asked.setdefault(contact, []).append(system)
    had = [] if again else _had_lately(kind, asked, at)
    if had:
        message = "again: " + _("%(who)s had this list already. Tick to send it again.")
        said = list_words([_named(row) for row in had])
        raise Invalid([{"pointer": "/again", "value": False, "message": message % {"who": said}}])
    watch = watch_make(kind=kind, words=words, asked=asked, by=by, at=at)
    weather_letters(watch, at)
    return watch


def _had_lately(
    kind: str, asked: Mapping[Contact, Sequence[System]], at: dt.datetime
) -> list[WeatherAsk]:
    """Return who of these was asked of the same weather lately, each once, the last time."""
    rows = (
        WeatherAsk.objects.filter(
            watch__kind=kind, watch__made_at__gt=at - LATELY, contact__in=asked
        )
        .select_related("watch", "contact")
        .prefetch_related("systems")
        .order_by("watch__made_at", "contact__name")
    )
    found = {row.contact: row for row in rows if set(row.systems.all()) & set(asked[row.contact])}
    return list(found.values())


def _named(ask: WeatherAsk) -> str:
    local = timezone.localtime(ask.watch.made_at)
    return _("%(name)s (%(day)s, %(time)s)") % {
        "name": ask.contact.name, "day": day_text(local.date()), "time": f"{local:%H:%M}",
    }  # fmt: skip
