"""The steps of a visit: one conditional update each, logged."""

import datetime as dt
from typing import Any
from uuid import UUID

from django.db import transaction
from django.db.models import Max
from django.utils.translation import gettext as _

from apps.accounts.services import audit
from apps.core.exceptions import Forbidden, Invalid, StaleVersion
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


def visit_locked(pk: UUID) -> Visit:
    """Return a visit with its place; nobody else changes it until the transaction ends."""
    return Visit.objects.select_for_update(of=("self",)).select_related("place").get(pk=pk)


@transaction.atomic
def visit_step(
    *, visit: Visit, to: str, by: Actor, at: dt.datetime, reason: str = "", flow: bool = False
) -> Visit:
    """Bring a visit to another state. See step_take for what it raises."""
    step_take(visit=visit_locked(visit.pk), to=to, by=by, at=at, reason=reason, flow=flow)
    visit.refresh_from_db()
    return visit


def step_take(
    *, visit: Visit, to: str, by: Actor, at: dt.datetime, reason: str = "", flow: bool = False
) -> None:
    """Bring a visit that is locked already to another state, in the caller's transaction.

    Raises IllegalTransition (409) with the current and the allowed states, Forbidden (403) for a
    step of another role, Invalid where a reason is missing. `flow` marks the job's own steps.
    """
    before = visit.state
    edges = TRANSITIONS[before]
    role = "flow" if flow else by.role
    if to not in edges or (to in edges and edges[to] == ("flow",) and not flow):
        raise IllegalTransition(before, to, allowed_from(before, by.role))
    if role not in edges[to] and not flow:
        raise Forbidden(
            _("Only these may do that: %(allowed)s.") % {"allowed": ", ".join(edges[to])}
        )
    if (before, to) in NEEDS_REASON and not reason.strip():
        raise Invalid(
            [
                {
                    "pointer": "/reason",
                    "value": reason,
                    "message": "reason: " + _("say why, in a few words"),
                }
            ]
        )
    visit_change(visit, state=to, **_times(visit, to, at))
    _log(visit, before, to, at, author(by), reason)
    # a reported visit holds still, so what its technicians' day holds is settled before
    if to != State.REPORTED:
        Assignment.objects.filter(visit=visit).update(holds=to in HOLDING)
    audit(
        at=at, by=by, verb=f"visit {to}", kind="visit", object_id=visit.pk,
        change={"from": before, "to": to, "reason": reason},
    )  # fmt: skip


def visit_change(visit: Visit, **changes: Any) -> None:
    """Change a visit that is locked already, here and in the database: a new revision.

    Raises StaleVersion where it was not locked and somebody else was quicker.
    """
    changes["rev"] = visit.rev + 1
    if not Visit.objects.filter(pk=visit.pk, rev=visit.rev).update(**changes):
        raise StaleVersion(_("Somebody else changed this visit; read it again."))
    for name, value in changes.items():
        setattr(visit, name, value)


def _times(visit: Visit, to: str, at: dt.datetime) -> dict[str, dt.datetime | None]:
    if to == State.UNDER_WAY and visit.started_at is None:
        return {"started_at": at}
    if to in (State.BOOKED, State.PENCILLED):
        return {"started_at": None}
    if to == State.WRITTEN_UP:
        return {
            "written_up_at": at,
            "started_at": visit.started_at,
            "finished_at": visit.finished_at or at,
        }
    return {}


def _log(visit: Visit, before: str, to: str, at: dt.datetime, by: str, reason: str) -> None:
    last = VisitStep.objects.filter(visit=visit).aggregate(Max("number"))["number__max"] or 0
    VisitStep.objects.create(
        visit=visit, number=last + 1, from_state=before, to_state=to, at=at, by=by, reason=reason
    )
