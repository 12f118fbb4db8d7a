"""Making room in a technician's day for something that cannot wait.

Nobody is written to here, and hours that a place keeps are not asked: the office sees who waits,
and tells them.
"""

import datetime as dt

from django.db import transaction

from apps.accounts.models import User
from apps.accounts.services import audit
from apps.core.scoping import Actor
from apps.visits.choices import State
from apps.visits.exceptions import IllegalTransition
from apps.visits.models import Assignment, Visit
from apps.visits.services.booking import free_check
from apps.visits.services.steps import visit_change, visit_locked

LEAST = dt.timedelta(minutes=1)


@transaction.atomic
def visit_put_off(
    *, visit: Visit, start: dt.datetime, by: Actor, at: dt.datetime, reason: str
) -> Visit:
    """Let a visit that has not begun begin later, as long as it was planned to last.

    What the client answered stays: they were asked about the day. Raises IllegalTransition once it
    has begun, DoubleBooked where its technicians are elsewhere by then.
    """
    held = visit_locked(visit.pk)
    if held.state not in (State.PENCILLED, State.BOOKED):
        raise IllegalTransition(held.state, "put off", [])
    end = start + (held.end - held.start)
    free_check(list(held.technicians.all()), start, end, held.pk)
    change = {"from": held.start.isoformat(), "to": start.isoformat(), "reason": reason}
    visit_change(held, start=start, end=end)
    Assignment.objects.filter(visit=held).update(start=start, end=end)
    audit(at=at, by=by, verb="put off", kind="visit", object_id=held.pk, change=change)
    return held


@transaction.atomic
def technician_called_away(
    *, visit: Visit, technician: User, until: dt.datetime, by: Actor, at: dt.datetime, reason: str
) -> None:
    """Free a technician's time from `until` on.

    Of a visit that others make too they are taken off; of one under way their time ends there.
    """
    own = Assignment.objects.filter(visit=visit, user=technician)
    if visit.state != State.UNDER_WAY:
        own.delete()
    elif not own.filter(start__lte=until - LEAST).update(end=until):
        own.update(holds=False)
    audit(
        at=at, by=by, verb="called away", kind="visit", object_id=visit.pk,
        change={"technician": str(technician.pk), "reason": reason},
    )  # fmt: skip
