"""The demo firm's visits in a year, by how the tasks of a place are bundled: counts, no timing.

All tasks of the demo firm that are the firm's and come round, place by place, on its workdays, with
no visit promised yet. Three ways, as in benchmarks.visits_a_year: each task on its due day, the look
ahead that plans the visit days, and the bound below which nobody comes, the visits that the most
frequent task of a place takes alone.
"""

import datetime as dt
from dataclasses import dataclass

from apps.accounts.selectors import closed_days
from apps.calc.bundling import CAN_WAIT, CLIENT_DOES_IT
from apps.calc.bundling.model import CLIENT, Task
from apps.care.services.proposing import YEAR_DAYS, Ground, ground_of, propose
from apps.clients.models import Place
from apps.flows.visit_days import places_looked_after
from benchmarks.measure import Told
from benchmarks.visits_a_year import as_late_as_may_be, on_due_days
from demo.loading import load

# the client does them, or their turn comes after the year
EXPECTED = (CLIENT_DOES_IT, CAN_WAIT)
TODAY = dt.date(2026, 6, 11)


@dataclass(frozen=True)
class Counts:
    """The visits of a place in a year, and the tasks that a plan left without a day."""

    on_due_days: int
    look_ahead: int
    bound: int
    tasks: int
    not_placed: int


def run() -> list[Told]:
    """Return the sums over the firm's places."""
    load(TODAY)
    until = TODAY + dt.timedelta(days=YEAR_DAYS)
    closed = closed_days(TODAY, until)
    grounds = [
        ground_of(place=place, on=TODAY, fixed=(), closed=closed, horizon=YEAR_DAYS)
        for place in Place.objects.filter(pk__in=places_looked_after())
    ]
    rows = [_counts(ground) for ground in grounds]
    alone, ours, bound = (
        sum(getattr(row, name) for row in rows) for name in ("on_due_days", "look_ahead", "bound")
    )
    return [
        Told(
            f"demo firm, {len(rows)} places, {sum(row.tasks for row in rows)} tasks, {YEAR_DAYS} days "
            f"from {TODAY.isoformat()}: each on its due day {alone} visits, look ahead {ours} "
            f"({alone / ours:.1f} x fewer), the most frequent task alone {bound} "
            f"({100 * (ours / bound - 1):+.0f} %)"
        ),
        Told(f"  tasks without a day in the plan: {sum(row.not_placed for row in rows)}"),
    ]


def _counts(ground: Ground) -> Counts:
    tasks = _rounds(ground)
    plan, _way = propose(ground)
    done = [visit for visit in plan.visits if visit.tasks]
    return Counts(
        on_due_days=on_due_days(tasks, ground.until), look_ahead=len(done),
        bound=max((as_late_as_may_be([task], ground.until) for task in tasks), default=0),
        tasks=len(tasks), not_placed=sum(row.reason not in EXPECTED for row in plan.not_placed),
    )  # fmt: skip


def _rounds(ground: Ground) -> list[Task]:
    """Return the firm's tasks that come round."""
    return [
        task for task in ground.tasks if task.who != CLIENT and task.again and task.again(task.due).due
    ]  # fmt: skip
