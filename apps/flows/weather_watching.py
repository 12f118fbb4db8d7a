"""A weather that is coming: its list goes out, one letter a contact."""

import datetime as dt
from collections.abc import Iterable

from django.db import transaction

from apps.clients.models import Contact
from apps.clients.selectors import letter_contacts
from apps.core.scoping import Actor
from apps.flows.weather_letters import weather_letters
from apps.incidents.models import WeatherWatch
from apps.incidents.services import watch_make
from apps.systems.models import System


@transaction.atomic
def send_list(
    *, kind: str, systems: Iterable[System], words: str, by: Actor, at: dt.datetime
) -> WeatherWatch:
    """Send the list of a weather to the contacts of systems who get letters, each once.

    Raises Invalid for an unknown weather and where nobody there gets letters.
    """
    asked: dict[Contact, list[System]] = {}
    by_client: dict[object, list[Contact]] = {}
    for system in systems:
        client = system.place.client_id
        if client not in by_client:
            by_client[client] = letter_contacts(client)
        for contact in by_client[client]:
            asked.setdefault(contact, []).append(system)
    watch = watch_make(kind=kind, words=words, asked=asked, by=by, at=at)
    weather_letters(watch, at)
    return watch
