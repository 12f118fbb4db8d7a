"""The steps of a visit: one conditional update each, logged."""

import datetime as dt

from django.db import transaction
from django.db.models import F, Max
from django.utils.translation import gettext as _

from apps.accounts.services import audit
from apps.core.exceptions import Forbidden, Invalid
from apps.core.scoping import Actor
from apps.visits.choices import HOLDING, NEEDS_REASON, TRANSITIONS, State
from apps.visits.exceptions import IllegalTransition
from apps.visits.models import Assignment, Visit, VisitStep


def allowed_from(state: str, role: str) -> list[str]:
    """Return the states that this role may bring a visit to from here."""
    return [to for to, roles in TRANSITIONS[state].items() if role in roles]


def author(by: Actor) -> str:
    """Return how an actor is written down."""
    return f"{by.role}:{by.user_id or by.client_id or by.reason}"[:160]


@transaction.atomic
def visit_step(
    *, visit: Visit, to: str, by: Actor, at: dt.datetime, reason: str = "", flow: bool = False
) -> Visit:
    """Bring a visit to another state.

    Raises IllegalTransition (409) with the current and the allowed states, Forbidden (403) for a
    step of another role, Invalid where a reason is missing. `flow` marks the job's own steps.
    """
    current = Visit.objects.select_for_update().get(pk=visit.pk)
    edges = TRANSITIONS[current.state]
    role = "flow" if flow else by.role
    if to not in edges or (to in edges and edges[to] == ("flow",) and not flow):
        raise IllegalTransition(current.state, to, allowed_from(current.state, by.role))
    if role not in edges[to] and not flow:
        raise Forbidden(
            _("Only these may do that: %(allowed)s.") % {"allowed": ", ".join(edges[to])}
        )
    if (current.state, to) in NEEDS_REASON and not reason.strip():
        raise Invalid(
            [
                {
                    "pointer": "/reason",
                    "value": reason,
                    "message": "reason: " + _("say why, in a few words"),
                }
            ]
        )
    taken = Visit.objects.filter(pk=visit.pk, state=current.state).update(
        state=to, rev=F("rev") + 1, **_times(current, to, at)
    )
    if not taken:
        raise IllegalTransition(current.state, to, [])
    _log(visit, current.state, to, at, author(by), reason)
    # a reported visit holds still, so what its technicians' day holds is settled before
    if to != State.REPORTED:
        Assignment.objects.filter(visit=visit).update(holds=to in HOLDING)
    audit(
        at=at, by=by, verb=f"visit {to}", kind="visit", object_id=visit.pk,
        change={"from": current.state, "to": to, "reason": reason},
    )  # fmt: skip
    visit.refresh_from_db()
    return visit


def _times(visit: Visit, to: str, at: dt.datetime) -> dict[str, dt.datetime | None]:
    if to == State.UNDER_WAY and visit.started_at is None:
        return {"started_at": at}
    if to in (State.BOOKED, State.PENCILLED):
        return {"started_at": None}
    if to == State.WRITTEN_UP:
        return {"written_up_at": at, "finished_at": visit.finished_at or at}
    return {}


def _log(visit: Visit, before: str, to: str, at: dt.datetime, by: str, reason: str) -> None:
    last = VisitStep.objects.filter(visit=visit).aggregate(Max("number"))["number__max"] or 0
    VisitStep.objects.create(
        visit=visit, number=last + 1, from_state=before, to_state=to, at=at, by=by, reason=reason
    )
