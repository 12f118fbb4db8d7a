"""The due list against the bare SQL that it runs, at 300 and at 100,000 systems of 15 tasks."""

import datetime as dt
from collections.abc import Callable
from typing import Any

from django.db import connection
from django.test.utils import CaptureQueriesContext

from apps.care.models import CareTask, Standing
from apps.care.selectors import due_rows, ranked
from apps.clients.models import Client, Place
from apps.core.scoping import Actor
from apps.systems.models import System
from benchmarks.measure import Claim, paired

ON = dt.date(2026, 6, 11)
NOW = dt.datetime(2026, 6, 11, 9, tzinfo=dt.UTC)
TASKS = 15
PAGE = 50


def grow(count: int) -> None:
    """Make systems in 100 areas, 15 tasks each, one in twelve tasks due; standings to match."""
    from uuid import UUID

    client = Client.objects.create(name="Bench")
    places = [
        Place(pk=UUID(int=10**6 + n), client=client, name=f"P{n}", street="s", town="t", area=f"A{n % 100}")
        for n in range(count)
    ]  # fmt: skip
    Place.objects.bulk_create(places, batch_size=2000)
    systems = [
        System(pk=UUID(int=n + 1), place=place, name=f"S{n}", kind="coupled")
        for n, place in enumerate(places)
    ]
    System.objects.bulk_create(systems, batch_size=2000)
    standings = []
    for start in range(0, count, 2000):
        tasks = []
        for n, system in enumerate(systems[start : start + 2000], start):
            dates = [ON + dt.timedelta(days=(n * 7 + k * 13) % 60 - 4) for k in range(TASKS)]
            tasks += [
                CareTask(
                    system=system, code=f"t{k}", next_open=due - dt.timedelta(days=3), next_due=due,
                    next_late=due + dt.timedelta(days=3), criticality="ABC"[k % 3],
                )
                for k, due in enumerate(dates)
            ]  # fmt: skip
            standings.append(
                Standing(
                    system=system, due_from=min(dates), due_by=min(dates) + dt.timedelta(days=3),
                    late_a_from=min(dates[::3]) + dt.timedelta(days=3),
                    fixed_class=1 if n % 400 == 0 else 9,
                )
            )  # fmt: skip
        CareTask.objects.bulk_create(tasks, batch_size=5000)
    Standing.objects.bulk_create(standings, batch_size=5000)


def pages(area: str | None) -> tuple[Callable[[], object], Callable[[], object], int]:
    """Return our page, the bare SQL of the same page, and how many queries it takes."""
    office = Actor(role="office", at=NOW)

    def ours() -> object:
        rows = ranked(office, ON).select_related("system__place__client")
        if area is not None:
            rows = rows.filter(system__place__area=area)
        return due_rows(list(rows[:PAGE]), ON)

    with CaptureQueriesContext(connection) as seen:
        ours()
    statements = [query["sql"] for query in seen.captured_queries]

    def bare() -> object:
        out: list[Any] = []
        with connection.cursor() as cursor:
            for statement in statements:
                cursor.execute(statement)
                out.append(cursor.fetchall())
        return out

    return ours, bare, len(statements)


def run(large: int = 100_000) -> list[Claim]:
    """Return the claims; the number of queries is the same at both sizes."""
    import time

    claims, queries = [], set()
    grow(300)
    ours, bare, count = pages(None)
    queries.add(count)
    claims.append(
        paired("due list, whole firm of 300", ours, bare, inner=3, limit=None,
               against="the bare SQL", clock=time.perf_counter)
    )  # fmt: skip
    for model in (Standing, CareTask, System, Place, Client):
        model.objects.all().delete()
    grow(large)
    with connection.cursor() as cursor:
        cursor.execute("ANALYZE")
    ours, bare, count = pages("A7")
    queries.add(count)
    claims.append(
        paired(f"due list, one area of {large:,}", ours, bare, limit=2.0,
               against="the bare SQL", clock=time.perf_counter)
    )  # fmt: skip
    assert len(queries) == 1, f"the number of queries changed with the size: {queries}"
    return claims
