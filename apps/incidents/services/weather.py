"""A weather that is coming: whom the list goes to, and what they answer."""

import datetime as dt
from collections.abc import Mapping, Sequence

from django.db import transaction
from django.utils.translation import gettext as _

from apps.accounts.services import audit
from apps.clients.models import Contact
from apps.core.exceptions import Conflict, Invalid
from apps.core.scoping import Actor
from apps.incidents.choices import Reply, Said, Stand, Weather
from apps.incidents.models import WeatherAsk, WeatherWatch
from apps.incidents.selectors import ANSWERED_FOR
from apps.incidents.services.calls import incident_note, incident_open
from apps.systems.models import System
from apps.visits.services.steps import author

REPLIES = (Reply.DONE, Reply.HELP)


@transaction.atomic
def watch_make(
    *,
    kind: str,
    words: str,
    asked: Mapping[Contact, Sequence[System]],
    by: Actor,
    at: dt.datetime,
) -> WeatherWatch:
    """Note whom the list of a weather goes to, each contact once, with their systems.

    Raises Invalid for an unknown weather and where nobody would be written to.
    """
    if kind not in Weather.values:
        allowed = ", ".join(Weather.values)
        message = "kind: " + _("one of %(allowed)s") % {"allowed": allowed}
        raise Invalid([{"pointer": "/kind", "value": kind, "message": message}])
    if not asked:
        message = "systems: " + _("nobody there gets letters; call them")
        raise Invalid([{"pointer": "/systems", "value": None, "message": message}])
    watch = WeatherWatch(kind=kind, words=words, made_at=at, by=author(by))
    watch.full_clean()
    watch.save(force_insert=True)
    for contact, systems in asked.items():
        ask = WeatherAsk.objects.create(watch=watch, contact=contact)
        ask.systems.set(systems)
    audit(at=at, by=by, verb="sent out", kind="weather", object_id=watch.pk,
          change={"kind": kind, "contacts": len(asked)})  # fmt: skip
    return watch


@transaction.atomic
def ask_answer(
    *, ask: WeatherAsk, reply: str, words: str, by: Actor, at: dt.datetime
) -> WeatherAsk:
    """Note what a client answers; 'help' opens an incident, once, or adds to the one that is open.

    Raises Invalid for another word, Conflict where the list is too old to be answered.
    """
    if reply not in REPLIES:
        message = "reply: " + _("one of %(allowed)s") % {"allowed": ", ".join(REPLIES)}
        raise Invalid([{"pointer": "/reply", "value": reply, "message": message}])
    held = WeatherAsk.objects.select_for_update(of=("self",)).select_related("watch").get(pk=ask.pk)
    if at > held.watch.made_at + ANSWERED_FOR:
        raise Conflict(_("This list is over; please call us."), "too_late")
    held.reply, held.words, held.answered_at = reply, words, at
    if reply == Reply.HELP:
        _call_for_help(held, words, by, at)
    held.full_clean()
    held.save()
    audit(at=at, by=by, verb=f"weather {reply}", kind="weather_ask", object_id=held.pk)
    return held


def _call_for_help(ask: WeatherAsk, words: str, by: Actor, at: dt.datetime) -> None:
    if ask.incident is not None and ask.incident.state != Stand.CLOSED:
        if words:
            incident_note(incident=ask.incident, text=words, by=by, at=at)
        return
    system = ask.systems.filter(active=True).order_by("name").first()
    if system is None:
        raise Conflict(_("This system is not with us any more; please call us."), "ended")
    ask.incident = incident_open(
        system=system, kind=Said.OTHER, said=words, caller=ask.contact.name, by=by, at=at
    )
