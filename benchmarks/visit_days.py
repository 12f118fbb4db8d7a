"""Visit days: places planned a CPU second from rows to rows, and the visits that it saves.

Places with one system of fifteen tasks that come round after they were done, as in
benchmarks.visits_a_year, each task early or late by a fifth of its interval, last done on days of
their own; weekdays alone, 90 days. The time is that of the whole step, reading and replacing the
rows in one transaction, against the search alone; the visits are those of the stored plan against
each task on its own due day.
"""

import datetime as dt
import random
import time

from apps.calc.bundling import ahead
from apps.care.models import CareTask, VisitDay
from apps.care.services import dates_set
from apps.care.services.proposing import HORIZON_DAYS, ground_of
from apps.clients.models import Place
from apps.flows.visit_days import visit_days_make
from apps.systems.models import System
from benchmarks.measure import Claim, Told, paired
from benchmarks.visits_a_year import EVERY, on_due_days
from tests import factories

PLACES = 20
SHARE = 0.2
LEAST_SAVED = 2.0


def grow() -> list[Place]:
    """Make the places with their tasks; the same in every run."""
    drawn = random.Random(1)
    factories.firm()
    owner = factories.client("Bench")
    places = []
    for number in range(PLACES):
        place = factories.place(owner, name=f"P{number}")
        system = System.objects.create(place=place, name="Patio", kind="coupled")
        CareTask.objects.bulk_create(_tasks(system, drawn))
        places.append(place)
    return places


def _tasks(system: System, drawn: random.Random) -> list[CareTask]:
    tasks = []
    for number, days in enumerate(EVERY):
        slack = int(SHARE * days)
        task = CareTask(
            system=system, code=f"t{number}", every_n=days, minutes=10, early_min_days=slack,
            early_max_days=slack, late_min_days=slack, late_max_days=slack,
            last_done=factories.TODAY - dt.timedelta(days=drawn.randrange(days) + 1),
        )  # fmt: skip
        dates_set(task, factories.NOW, {})
        tasks.append(task)
    return tasks


def run() -> list[Claim | Told]:
    """Return the time of a place against its search alone, places a second, and visits saved."""
    places = grow()
    grounds = [ground_of(place=place, on=factories.TODAY, fixed=[], closed=()) for place in places]

    def whole() -> None:
        for place in places:
            visit_days_make(place_id=place.pk, at=factories.NOW)

    def search() -> None:
        for ground in grounds:
            ahead(ground.tasks, ground.days([]), until=ground.until)

    claim = paired(
        f"visit days of {PLACES} places, rows to rows", whole, search, rounds=5, limit=3.0,
        against="the search alone",
    )  # fmt: skip
    began = time.process_time()
    whole()
    pace = PLACES / (time.process_time() - began)
    end = factories.TODAY + dt.timedelta(days=HORIZON_DAYS)
    alone = sum(on_due_days(ground.tasks, end) for ground in grounds)
    visits = VisitDay.objects.count()
    saved = alone / visits
    return [
        claim,
        Told(
            f"{pace:.1f} places a CPU second; 100,000 in {100_000 / pace / 3600:.1f} h of one core"
        ),
        Told(
            f"{visits} visits in {HORIZON_DAYS} days on weekdays; each task on its own due day "
            f"{alone}: {saved:.1f} x (at least {LEAST_SAVED:g})",
            far_over=saved < LEAST_SAVED,
        ),
    ]
