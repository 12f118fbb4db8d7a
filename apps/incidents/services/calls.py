"""Opening, noting, watching and closing incidents."""

import datetime as dt
from collections.abc import Iterable
from typing import Any
from uuid import UUID

from django.db import transaction
from django.db.models import F
from django.utils.translation import gettext as _

from apps.accounts.services import audit
from apps.calc.callscript import STEPS, opening_answers
from apps.core.exceptions import Conflict, Invalid, StaleVersion
from apps.core.scoping import Actor
from apps.incidents.choices import Cause, Entry, Said, Stand
from apps.incidents.models import Incident, IncidentNote, PutOff
from apps.systems.models import System
from apps.visits.models import Visit
from apps.visits.services.steps import author

MOST_LOST = 100_000
# from -> to; closing has a service of its own, since it asks for words
STEPS_BETWEEN = {
    Stand.OPEN: (Stand.WATCHING,),
    Stand.WATCHING: (Stand.OPEN,),
    Stand.CLOSED: (Stand.OPEN,),
}


def _refuse(pointer: str, value: object, message: str, **extra: object) -> Invalid:
    return Invalid([{"pointer": pointer, "value": value, "message": message, **extra}])


def _known(name: str, value: str, allowed: Iterable[str]) -> None:
    words = list(allowed)
    if value not in words:
        message = f"{name}: " + _("one of %(allowed)s") % {"allowed": ", ".join(words)}
        raise _refuse(f"/{name}", value, message, allowed=words)


def _not_now(current: str, wanted: str) -> Conflict:
    words = {"current": Stand(current).label, "wanted": Stand(wanted).label}
    message = _("This incident is %(current)s; it cannot become %(wanted)s.") % words
    return Conflict(message, "illegal_transition", current=current)


def _locked(pk: UUID) -> Incident:
    return Incident.objects.select_for_update().get(pk=pk)


def _note(
    incident: Incident, by: Actor, at: dt.datetime, kind: str, text: str = "", **what: Any
) -> IncidentNote:
    return IncidentNote.objects.create(
        incident=incident, at=at, by=author(by), kind=kind, text=text, what=what
    )


@transaction.atomic
def incident_open(
    *,
    system: System,
    kind: str,
    by: Actor,
    at: dt.datetime,
    said: str = "",
    caller: str = "",
    pk: UUID | None = None,
) -> Incident:
    """Open an incident; the same key is the same incident. Raises Invalid naming the field."""
    _known("kind", kind, Said.values)
    if not system.active:
        message = "system: " + _("%(system)s has ended") % {"system": system}
        raise _refuse("/system", str(system.pk), message)
    incident = Incident(
        system=system, kind=kind, opened_at=at, opened_by=author(by), said=said, caller=caller,
        answers=opening_answers(kind),
    )  # fmt: skip
    if pk is not None:
        held = Incident.objects.filter(pk=pk).first()
        if held is not None and held.system_id == system.pk:
            return held
        if held is not None:
            raise Conflict(_("This key belongs to another incident; make a new one."), "key_taken")
        incident.pk = pk
    incident.full_clean()
    incident.save(force_insert=True)
    _note(incident, by, at, Entry.ACT, act="opened", said=kind)
    audit(at=at, by=by, verb="opened", kind="incident", object_id=incident.pk)
    return incident


@transaction.atomic
def incident_note(
    *, incident: Incident, text: str, by: Actor, at: dt.datetime, pk: UUID | None = None
) -> IncidentNote:
    """Keep a note; the same key is the same note, however often it is sent.

    Raises Invalid without words, Conflict where the key belongs to something else.
    """
    if not text.strip():
        raise _refuse("/text", text, "text: " + _("write at least one word"))
    if pk is not None:
        held = IncidentNote.objects.filter(pk=pk).first()
        if held is not None and held.incident_id == incident.pk and held.text == text:
            return held
        if held is not None:
            raise Conflict(_("This key belongs to another note; make a new one."), "key_taken")
        row = IncidentNote(pk=pk, incident=incident, at=at, by=author(by), text=text)
        row.full_clean()
        row.save(force_insert=True)
        return row
    return _note(incident, by, at, Entry.NOTE, text)


@transaction.atomic
def incident_answer(
    *, incident: Incident, step: str, answer: str, by: Actor, at: dt.datetime
) -> Incident:
    """Note what the caller answers to a step of the script; an earlier answer stays in the notes.

    Raises Invalid for a step or answer that the script does not have, Conflict once it is closed.
    """
    _known("step", step, STEPS)
    _known("answer", answer, [one.code for one in STEPS[step].answers])
    held = _locked(incident.pk)
    if held.state == Stand.CLOSED:
        raise _not_now(held.state, Stand.OPEN)
    held.answers = {**held.answers, step: answer}
    held.rev += 1
    held.save(update_fields=["answers", "rev"])
    _note(held, by, at, Entry.ANSWER, step=step, answer=answer)
    return held


@transaction.atomic
def incident_step(
    *, incident: Incident, to: str, by: Actor, at: dt.datetime, reason: str = ""
) -> Incident:
    """Watch an incident, or open it again. Raises Conflict, Invalid where a reason is missing."""
    _known("state", to, Stand.values)
    held = _locked(incident.pk)
    if to not in STEPS_BETWEEN[Stand(held.state)]:
        raise _not_now(held.state, to)
    if held.state == Stand.CLOSED and not reason.strip():
        raise _refuse("/reason", reason, "reason: " + _("say why, in a few words"))
    held.state, held.closed_at, held.rev = to, None, held.rev + 1
    held.save(update_fields=["state", "closed_at", "rev"])
    _note(held, by, at, Entry.ACT, reason, act="stands", to=to)
    audit(at=at, by=by, verb=f"incident {to}", kind="incident", object_id=held.pk,
          change={"reason": reason})  # fmt: skip
    return held


@transaction.atomic
def incident_close(
    *,
    incident: Incident,
    cause: str,
    outcome: str,
    rev: int,
    by: Actor,
    at: dt.datetime,
    cause_words: str = "",
    fish_lost: int | None = None,
) -> Incident:
    """Close an incident with what it was and how it ended.

    Raises Invalid naming the field, StaleVersion where somebody else was quicker, Conflict where it
    is closed already.
    """
    _known("cause", cause, Cause.values)
    if not outcome.strip():
        raise _refuse("/outcome", outcome, "outcome: " + _("say in a few words how it ended"))
    if fish_lost is not None and not 0 <= fish_lost <= MOST_LOST:
        message = "fish_lost: " + _("a whole number from 0 to %(most)s is needed")
        raise _refuse("/fish_lost", fish_lost, message % {"most": MOST_LOST})
    taken = (
        Incident.objects.filter(pk=incident.pk, rev=rev)
        .exclude(state=Stand.CLOSED)
        .update(
            state=Stand.CLOSED, cause=cause, cause_words=cause_words, outcome=outcome,
            fish_lost=fish_lost, closed_at=max(at, incident.opened_at), rev=F("rev") + 1,
        )
    )  # fmt: skip
    if not taken:
        _say_why(incident.pk, rev)
    incident.refresh_from_db()
    _note(incident, by, at, Entry.ACT, act="closed", cause=cause, fish_lost=fish_lost)
    audit(at=at, by=by, verb="closed", kind="incident", object_id=incident.pk,
          change={"cause": cause, "fish_lost": fish_lost})  # fmt: skip
    return incident


def _say_why(pk: UUID, rev: int) -> None:
    held = Incident.objects.get(pk=pk)
    if held.rev == rev:
        raise _not_now(held.state, Stand.CLOSED)
    raise StaleVersion(_("Somebody else changed this incident; read it again."))


@transaction.atomic
def incident_followed(
    *,
    incident: Incident,
    visit: Visit,
    put_off: Iterable[tuple[Visit, dt.datetime, dt.datetime | None]],
    by: Actor,
    at: dt.datetime,
    **what: Any,
) -> Incident:
    """Note that a visit follows, and the visits that wait for it: (visit, was, now)."""
    held = _locked(incident.pk)
    if held.state == Stand.CLOSED:
        raise _not_now(held.state, Stand.OPEN)
    held.visit, held.rev = visit, held.rev + 1
    held.save(update_fields=["visit", "rev"])
    for row, was, now in put_off:
        PutOff.objects.update_or_create(
            incident=held, visit=row, defaults={"was": was, "now": now, "at": at}
        )
    _note(held, by, at, Entry.ACT, act="sent", visit=str(visit.pk), **what)
    return held
