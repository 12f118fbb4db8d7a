"""What a client writes when something is wrong: it opens an incident, or joins the one that is open."""

import datetime as dt
from collections.abc import Sequence
from typing import Any
from uuid import UUID

from django.db import transaction
from django.utils.translation import gettext as _

from apps.accounts.services import audit
from apps.calc.callscript import opening_answers
from apps.core.exceptions import Conflict
from apps.core.scoping import Actor
from apps.incidents.choices import ASKED, GRAVEST_FIRST, Entry, Said, Stand
from apps.incidents.models import Incident, IncidentNote, IncidentPhoto
from apps.incidents.services.calls import incident_open, incident_step
from apps.systems.models import System
from apps.visits.services.photos import Drawn
from apps.visits.services.steps import author


@transaction.atomic
def incident_ask(
    *,
    system: System,
    key: UUID,
    signs: Sequence[str],
    words: str,
    photos: Sequence[Drawn],
    caller: str,
    by: Actor,
    at: dt.datetime,
) -> Incident:
    """Keep what a client wrote with its photos, as one note of the incident of their system.

    `signs`: codes of Said, each kept once, the gravest first. `key`: the note's; the same key again is the same note. Where nothing
    is open an incident opens; one that was only watched opens again; one that is open takes over
    the gravest sign. Raises Invalid for a system that has ended, Conflict for another message's key.
    """
    # two taps at once: the second waits for the first
    System.objects.select_for_update().get(pk=system.pk)
    held = IncidentNote.objects.filter(pk=key).select_related("incident").first()
    if held is not None and held.incident.system_id == system.pk:
        return held.incident
    if held is not None:
        raise Conflict(_("This form belongs to another message; open it anew."), "key_taken")
    known = [code.value for code in GRAVEST_FIRST if code in signs]
    kind = next(iter(known), Said.OTHER.value)
    rows = Incident.objects.filter(system=system).exclude(state=Stand.CLOSED)
    incident = rows.order_by("-opened_at", "pk").first()
    if incident is None:
        incident = incident_open(
            system=system, kind=kind, said=words, caller=caller[:120], by=by, at=at
        )
    else:
        incident = _joined(incident, kind, by, at)
    note = IncidentNote(
        pk=key, incident=incident, at=at, by=author(by), kind=Entry.ACT, text=words,
        what={"act": ASKED, "signs": known, "photos": len(photos), "caller": caller[:120]},
    )  # fmt: skip
    note.full_clean()
    note.save(force_insert=True)
    for position, drawn in enumerate(photos):
        IncidentPhoto.objects.create(note=note, position=position, **vars(drawn))
    audit(at=at, by=by, verb="asked for help", kind="incident", object_id=incident.pk)
    return incident


def _joined(incident: Incident, kind: str, by: Actor, at: dt.datetime) -> Incident:
    """Open a watched incident again, and raise what it is about where it has become worse."""
    if incident.state == Stand.WATCHING:
        incident = incident_step(incident=incident, to=Stand.OPEN, by=by, at=at)
    held = Incident.objects.select_for_update().get(pk=incident.pk)
    order: list[Any] = list(GRAVEST_FIRST)
    if order.index(kind) < order.index(held.kind):
        held.kind = kind
        held.answers = {**opening_answers(kind), **held.answers}
        held.rev += 1
        held.save(update_fields=["kind", "answers", "rev"])
    return held
