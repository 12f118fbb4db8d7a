"""What a visit is worth on each day: by what waits there, and how long it has waited."""

import datetime as dt
from collections.abc import Iterable
from dataclasses import dataclass
from uuid import UUID

from apps.care.choices import Criticality
from apps.care.models import CareTask
from apps.care.selectors import HARMFUL, LATE, LATE_A, OUT_OF_BAND, QUIET
from apps.rounds.planning.prizes import Urgency, base_above, prize
from apps.rounds.planning.problem import MONEY
from apps.rounds.selectors.facts import Facts

PRESSING = Urgency(overdue=50 * MONEY, late=40 * MONEY, early=0)
CLEAR = Urgency(overdue=20 * MONEY, late=15 * MONEY, early=MONEY)
PLAIN = Urgency(overdue=5 * MONEY, late=4 * MONEY, early=2 * MONEY)
"""Own choice, a day in the firm's currency: fish at risk; out of band or late care; care due.

A day overdue adds more than a day of waiting takes: whoever has waited longest never counts less.
"""
MARGIN = {PRESSING: 100, CLEAR: 40, PLAIN: 10}
"""How much more than a lone trip a visit is worth [%]; own choice."""
LONGEST = 365
"""Days overdue that count: more say nothing about which of two comes first."""


@dataclass(frozen=True)
class Wanted:
    """When a visit is wanted: days of the horizon, those gone by below 0, and how it weighs."""

    opens: int
    due: int
    late: int
    urgency: Urgency


def wanted(facts: Facts, systems: Iterable[UUID], own_day: dt.date | None = None) -> Wanted:
    """Return when systems want a visit together, by the task that is late first.

    ``own_day``: the day that a visit stands on, which counts where no task has a date.
    """
    systems = list(systems)
    tasks = [task for pk in systems for task in facts.tasks.get(pk, ()) if task.next_due]
    soon = [facts.soon[pk] for pk in systems if pk in facts.soon]
    urgency = _urgency(facts, systems, tasks, bool(soon))
    if any(facts.ranks.get(pk, QUIET) <= HARMFUL for pk in systems):
        return _by(facts, facts.on, urgency)
    lead = min(tasks, key=_late_first, default=None)
    if lead is None or (soon and min(soon) < _due(lead)):
        return _by(facts, min(soon) if soon else own_day or facts.on, urgency)
    due = (_due(lead) - facts.first).days
    opens = ((lead.next_open or _due(lead)) - facts.first).days
    late = ((lead.next_late or _due(lead)) - facts.first).days
    if own_day is not None:
        # somebody wanted it before anything is due
        own = (own_day - facts.first).days
        opens, due = min(opens, own), min(due, own)
    return Wanted(opens, due, late, urgency)


def late_by(facts: Facts, systems: Iterable[UUID]) -> dt.date | None:
    """Return the last day on which no task of systems is late; None where none has a date."""
    tasks = [task for pk in systems for task in facts.tasks.get(pk, ()) if task.next_due]
    return min((task.next_late or _due(task) for task in tasks), default=None)


def _due(task: CareTask) -> dt.date:
    return task.next_due or dt.date.max


def _late_first(task: CareTask) -> tuple[dt.date, dt.date, str]:
    return (task.next_late or _due(task), _due(task), str(task.pk))


def _by(facts: Facts, day: dt.date, urgency: Urgency) -> Wanted:
    """Return a wish for a day, or as soon as may be."""
    number = (day - facts.first).days
    return Wanted(min(number, 0), number, number, urgency)


def _urgency(facts: Facts, systems: list[UUID], tasks: list[CareTask], soon: bool) -> Urgency:
    rank = min((facts.ranks.get(pk, QUIET) for pk in systems), default=QUIET)
    late = [task for task in tasks if task.next_late and task.next_late < facts.on]
    if any(task.criticality == Criticality.A for task in late):
        rank = min(rank, LATE_A)
    elif late or soon:
        rank = min(rank, LATE)
    if rank <= LATE_A:
        return PRESSING
    return CLEAR if rank in (OUT_OF_BAND, LATE) else PLAIN


def prizes_of(wish: Wanted, trip: int, days: int) -> dict[int, int]:
    """Return what a visit is worth on each day, when a lone trip there costs ``trip``.

    After its late day each day of waiting counts twice. On the last day it is still worth a lone
    trip, as going late is better than never; before it opens or is due it may be worth less.
    """
    due = max(wish.due, -LONGEST)

    def lost(day: int) -> int:
        return wish.urgency.late * max(day - max(wish.late, 0), 0)

    waiting = wish.urgency.late * max(days - 1 - due, 0) + lost(days - 1)
    base = base_above(trip, MARGIN[wish.urgency]) + waiting
    return {
        day: max(prize(base, wish.urgency, due, day) - lost(day), wish.urgency.floor)
        for day in range(days)
    }
