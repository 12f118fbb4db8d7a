"""A client asks for help from their page: words, ticks, photos; seen at once at the call desk.

Whoever needs help must get through: what can be taken is taken, and what cannot (a picture of
another kind, one too many) is named beside it. Only a message of which nothing is left is refused.
"""

import datetime as dt
from collections.abc import Sequence
from dataclasses import dataclass
from uuid import UUID

from django.db import transaction
from django.utils.translation import gettext as _

from apps.core.exceptions import Conflict, Invalid
from apps.core.scoping import Actor
from apps.flows.office_letters import help_letter
from apps.incidents.choices import ASKED
from apps.incidents.models import Incident, IncidentNote, IncidentPhoto
from apps.incidents.services import incident_ask
from apps.systems.models import System
from apps.visits.services.photos import CLIENT_PIXELS, Redrawn, photo_redraw

# own choice: no household writes more in a day, and one message is looked at within minutes
MOST_A_DAY = 12
MOST_PHOTOS = 4
MOST_PHOTOS_A_DAY = 24


@dataclass(frozen=True)
class Asked:
    """What a client sends at once. `key` is the form's own; `photos`: (name of the file, bytes)."""

    key: UUID
    signs: Sequence[str]
    words: str
    photos: Sequence[tuple[str, bytes]]
    caller: str = ""


@dataclass(frozen=True)
class Taken:
    """The incident that a message became part of, and what of its photos could not be taken."""

    incident: Incident
    left_out: list[str]


def help_ask(*, system: System, asked: Asked, by: Actor, at: dt.datetime) -> Taken:
    """Keep what a client sends; sent twice, it counts once.

    Raises Invalid where nothing is said or nothing of it can be taken, Conflict where too much was
    sent in a day: both name whom to call instead.
    """
    held = IncidentNote.objects.filter(pk=asked.key, incident__system=system).first()
    if held is not None:
        return Taken(held.incident, [])
    if not asked.signs and not asked.words.strip() and not asked.photos:
        text = _("Tick what you see, write a word, or choose a photo.")
        raise Invalid([{"pointer": "/signs", "value": None, "message": text}])
    drawn, left_out = _drawn(asked.photos, _room(system, at))
    _anything(asked, drawn, left_out)
    return _keep(system, asked, drawn, left_out, by, at)


def _anything(asked: Asked, drawn: Sequence[Redrawn], left_out: list[str]) -> None:
    """Raise Invalid where nothing of a message can be taken."""
    if not drawn and left_out and not asked.signs and not asked.words.strip():
        raise Invalid([{"pointer": "/photos", "value": None, "message": " ".join(left_out)}])


@transaction.atomic
def _keep(
    system: System, asked: Asked, drawn: list[Redrawn], left_out: list[str], by: Actor,
    at: dt.datetime,
) -> Taken:  # fmt: skip
    # two at once: the second waits for the first, and has what that one left of the day's room
    System.objects.select_for_update().get(pk=system.pk)
    if IncidentNote.objects.filter(pk=asked.key).exists():
        drawn = []
    else:
        room = _room(system, at)
        if len(drawn) > room:
            drawn, left_out = drawn[:room], [*left_out, _full()]
        _anything(asked, drawn, left_out)
    incident = incident_ask(
        system=system, key=asked.key, signs=asked.signs, words=asked.words.strip(),
        photos=[one.stored() for one in drawn], caller=asked.caller, by=by, at=at,
    )  # fmt: skip
    # somebody may look at their mail who does not look at the screen
    help_letter(IncidentNote.objects.get(pk=asked.key), at)
    return Taken(incident, left_out)


def _full() -> str:
    return _("That is more photos than one day takes; tell us on the telephone.")


def _room(system: System, at: dt.datetime) -> int:
    """Return how many photos may still come today. Raises Conflict after too many messages."""
    since = at - dt.timedelta(days=1)
    mine = IncidentNote.objects.filter(incident__system=system, what__act=ASKED, at__gt=since)
    if mine.count() >= MOST_A_DAY:
        raise Conflict(
            _("We have all that you sent today. Call us now, that is quicker."), "too_many"
        )
    return max(0, MOST_PHOTOS_A_DAY - IncidentPhoto.objects.filter(note__in=mine).count())


def _drawn(photos: Sequence[tuple[str, bytes]], room: int) -> tuple[list[Redrawn], list[str]]:
    """Return the pictures that can be taken, and a sentence for each that cannot."""
    drawn: list[Redrawn] = []
    left_out: list[str] = []
    most = min(MOST_PHOTOS, room)
    for name, data in photos[:most]:
        try:
            drawn.append(photo_redraw(data, CLIENT_PIXELS))
        except Invalid as error:
            why = str(error.errors[0]["message"]).removeprefix("photo: ")
            left_out.append(_("%(name)s: %(why)s.") % {"name": name[:60], "why": why})
    over = len(photos) - most
    if over > 0 and most == MOST_PHOTOS:
        left_out.append(
            _("%(most)s photos at once are taken; send the others after these.")
            % {"most": MOST_PHOTOS}
        )
    elif over > 0:
        left_out.append(_full())
    return drawn, left_out
