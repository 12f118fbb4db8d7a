"""A call for help from start to end: opened, somebody sent, those who wait told."""

import datetime as dt

from django.db import transaction
from django.utils.translation import gettext as _

from apps.accounts.models import User
from apps.catalogue.selectors import catalogue_current
from apps.core.exceptions import Conflict
from apps.core.scoping import Actor
from apps.flows import visit_booking
from apps.flows.nearest import Candidate, Late, candidate_of, emergency_minutes
from apps.incidents.choices import Said, Stand
from apps.incidents.models import Incident
from apps.incidents.services import incident_followed
from apps.rounds.services.offers import times_gone, times_lock
from apps.visits.choices import HOLDING, Answer, State
from apps.visits.models import Visit
from apps.visits.services.booking import client_answer
from apps.visits.services.giving_way import technician_called_away, visit_put_off
from apps.visits.services.steps import visit_step

REASON = 400


@transaction.atomic
def send(*, incident: Incident, technician: User, by: Actor, at: dt.datetime) -> Visit:
    """Send a technician now: what they have to leave gives way, and a visit is booked for them.

    The client agreed on the telephone, so nobody is asked by letter; those who wait are told by
    `late_letters`, once the office has looked. Raises Conflict while somebody is on the way or
    once the incident is closed.
    """
    times_lock()
    held = Incident.objects.select_for_update().get(pk=incident.pk)
    _check(held)
    place = held.system.place
    minutes = emergency_minutes(catalogue_current())
    plan = candidate_of(by, technician, place, minutes)
    why = _reason(held)
    _make_room(plan, why, by, at)
    visit = visit_booking.pencil(
        place=place, systems=[held.system], start=plan.start, end=plan.end,
        technicians=[technician], by=by, at=at, reason=why, any_hour=True,
    )  # fmt: skip
    visit = visit_step(visit=visit, to=State.BOOKED, by=by, at=at)
    words = _("by telephone")
    visit = client_answer(visit=visit, answer=Answer.CONFIRMED, words=words, by=by, at=at)
    incident_followed(
        incident=held, visit=visit, put_off=[(row.visit, row.was, row.now) for row in plan.late],
        by=by, at=at, technician=str(technician.pk), there=plan.start.isoformat(),
    )  # fmt: skip
    incident.refresh_from_db()
    return visit


def _check(incident: Incident) -> None:
    if incident.state == Stand.CLOSED:
        raise Conflict(_("This incident is closed; open it again first."), "illegal_transition")
    visit = incident.visit
    if visit is not None and visit.state in HOLDING:
        names = ", ".join(str(row.user) for row in visit.assignments.select_related("user"))
        message = _("%(names)s goes there already; call that visit off first.") % {"names": names}
        raise Conflict(message, "sent_already", visit=str(visit.pk))


def _reason(incident: Incident) -> str:
    said = " ".join(incident.said.split())
    text = _("Call for help: %(what)s.") % {"what": Said(incident.kind).label}
    return f"{text} {said}".strip()[:REASON]


def _make_room(plan: Candidate, why: str, by: Actor, at: dt.datetime) -> None:
    """Move what waits, the last visit first, so that no two meet on the way."""
    if plan.leaves is not None:
        technician_called_away(
            visit=plan.leaves, technician=plan.user, until=plan.start, by=by, at=at, reason=why
        )
    for row in reversed(plan.late):
        _give_way(row, plan.user, why, by, at)


def _give_way(row: Late, user: User, why: str, by: Actor, at: dt.datetime) -> None:
    if row.now is None:
        technician_called_away(
            visit=row.visit, technician=user, until=row.was, by=by, at=at, reason=why
        )
        return
    visit = visit_put_off(visit=row.visit, start=row.now, by=by, at=at, reason=why)
    times_gone(technicians=visit.technicians.all(), start=visit.start, end=visit.end, by=by, at=at)
