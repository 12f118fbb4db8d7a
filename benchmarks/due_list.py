"""The due list against the bare SQL that it runs, at 300 and at 100,000 systems of 15 tasks.

The whole list of a firm of 300, and the first page of one of its 100 areas at 100,000. The bare
SQL is the same statements through a cursor, with their parameters written in and their keys read
as UUIDs (PostgreSQL's driver does that by itself, SQLite keeps text): the values that the list is
made from, without the ORM, the ranks, the reasons and the grouping of tasks. Without even reading
the keys SQLite takes about half as long.

The bundle list is what the planning of rounds reads of an area: its due systems with all their
tasks, and of each system how many may be done that day, in how many minutes, and by when; its bare
SQL is one statement that groups. Both lists also against the loop that expands each rule anew
(dateutil, a series that began three years ago), on a share of the tasks and scaled; the loop must
find the same tasks due.
"""

import datetime as dt
import time
from collections.abc import Callable
from typing import Any
from uuid import UUID

from dateutil.rrule import DAILY, rrule
from django.db import connection
from django.test.utils import CaptureQueriesContext

from apps.care.models import CareTask, Standing
from apps.care.selectors import COLUMNS, DueTask, due_rows, ranked
from apps.clients.models import Client, Place
from apps.core.scoping import Actor
from apps.rounds.selectors import facts
from apps.rounds.selectors.stops import _open
from apps.systems.models import System
from benchmarks.measure import Claim, Told, paired
from benchmarks.visits_a_year import EVERY

ON = dt.date(2026, 6, 11)
NOW = dt.datetime(2026, 6, 11, 9, tzinfo=dt.UTC)
TASKS = len(EVERY)
PAGE = 50
AREA = "A7"
EXPANDED = 3000
LEAST = 3.0
LONG_AGO = 3 * 365
KEYS = [
    {place for place, name in enumerate(names) if str(name).endswith(("_id", "pk"))}
    for names in (COLUMNS, DueTask._fields)
]


def grow(count: int) -> None:
    """Make systems in 100 areas, 15 tasks each, one in twelve tasks due; standings to match."""
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
    for k in range(TASKS):
        _tasks(k)
    _standings()


def _tasks(k: int) -> None:
    """Insert one task for every system in one statement, copied from a template row."""
    template = CareTask(code=f"t{k}", criticality="ABC"[k % 3])
    fields = [f for f in CareTask._meta.concrete_fields if f.attname not in ("id", "system_id")]
    dated = {"next_open": -3, "next_due": 0, "next_late": 3}
    columns, values, params = [], [], []
    for field in fields:
        columns.append(connection.ops.quote_name(field.column))
        if field.attname in dated:
            values.append(_day(k, dated[field.attname]))
        else:
            values.append("%s")
            params.append(field.get_db_prep_save(getattr(template, field.attname), connection))
    key = "lower(hex(randomblob(16)))" if connection.vendor == "sqlite" else "gen_random_uuid()"
    with connection.cursor() as cursor:
        cursor.execute(
            f"INSERT INTO care_caretask (id, system_id, {', '.join(columns)}) "
            f"SELECT {key}, s.id, {', '.join(values)} FROM systems_system s",
            params,
        )


def _day(k: int, shift: int) -> str:
    """Return SQL for a day from 4 before to 55 after, spread by the system's number."""
    number = "CAST(substr(s.name, 2) AS integer)"
    days = f"(({number} * 7 + {k * 13}) %% 60 - 4 + {shift})"
    if connection.vendor == "sqlite":
        return f"date('{ON}', {days} || ' days')"
    return f"DATE '{ON}' + {days}"


def _standings() -> None:
    """Insert the standing that the tasks lead to, in one statement."""
    fields = [f for f in Standing._meta.concrete_fields if f.attname != "system_id"]
    blank = Standing()
    worked = {
        "due_from": "MIN(t.next_due)", "due_by": "MIN(t.next_late)",
        "late_a_from": "MIN(CASE WHEN t.criticality = 'A' THEN t.next_late END)",
        "fixed_class": "CASE WHEN CAST(substr(MIN(s.name), 2) AS integer) %% 400 = 0 THEN 1 ELSE 9 END",
    }  # fmt: skip
    columns, values, params = [], [], []
    for field in fields:
        columns.append(connection.ops.quote_name(field.column))
        if field.attname in worked:
            values.append(worked[field.attname])
        else:
            values.append("%s")
            params.append(field.get_db_prep_save(getattr(blank, field.attname), connection))
    with connection.cursor() as cursor:
        cursor.execute(
            f"INSERT INTO care_standing (system_id, {', '.join(columns)}) "
            f"SELECT s.id, {', '.join(values)} FROM systems_system s "
            "JOIN care_caretask t ON t.system_id = s.id GROUP BY s.id",
            params,
        )


def pages(area: str | None) -> tuple[Callable[[], object], Callable[[], object], int]:
    """Return our whole list or an area's first page, its bare SQL, and how many queries it takes."""
    office = Actor(role="office", at=NOW)

    def ours() -> object:
        rows = ranked(office, ON)
        return due_rows(rows.filter(system__place__area=area)[:PAGE] if area else rows, ON)

    with CaptureQueriesContext(connection) as seen:
        ours()
    statements = [query["sql"] for query in seen.captured_queries]

    def bare() -> object:
        out: list[Any] = []
        with connection.cursor() as cursor:
            for statement, keys in zip(statements, KEYS, strict=True):
                cursor.execute(statement)
                out.append([_typed(row, keys) for row in cursor.fetchall()])
        return out

    return ours, bare, len(statements)


def _typed(row: tuple[Any, ...], keys: set[int]) -> list[Any]:
    return [
        UUID(value) if place in keys and isinstance(value, str) else value
        for place, value in enumerate(row)
    ]


Bundle = dict[UUID, tuple[int, int, dt.date]]


def bundled(area: str) -> Bundle:
    """Return of each due system of an area the tasks that may be done, their minutes, the first end."""
    office = Actor(role="office", at=NOW)
    due = ranked(office, ON).filter(system__place__area=area).values_list("pk", flat=True)
    found = {}
    for pk, tasks in facts._tasks(list(due)).items():
        along = [task for task in tasks if _open(task, ON)]
        if along:
            late = min(task.next_late for task in along if task.next_late)
            found[pk] = (len(along), sum(task.minutes for task in along), late)
    return found


def grouped(area: str) -> Bundle:
    """Return the same by one statement."""
    found = {}
    with connection.cursor() as cursor:
        cursor.execute(
            "SELECT t.system_id, COUNT(*), SUM(t.minutes), MIN(t.next_late) FROM clients_place p "
            "JOIN systems_system s ON s.place_id = p.id "
            "JOIN care_standing d ON d.system_id = s.id AND d.due_from <= %s "
            "JOIN care_caretask t ON t.system_id = s.id AND t.next_open <= %s "
            "WHERE p.area = %s GROUP BY t.system_id",
            [ON, ON, area],
        )
        for key, count, minutes, late in cursor.fetchall():
            system = key if isinstance(key, UUID) else UUID(key)
            found[system] = (count, minutes, _date(late))
    return found


def _date(value: dt.date | str) -> dt.date:
    return dt.date.fromisoformat(value) if isinstance(value, str) else value


def expanded(count: int) -> float:
    """Return the CPU seconds that expanding the rule of one task takes, of so many tasks.

    Raises AssertionError where it finds other tasks due than the rows.
    """
    rows = CareTask.objects.values_list("code", "next_due")[:count]
    series = [(EVERY[int(code[1:])], due) for code, due in rows if due is not None]
    began, found = time.process_time(), 0
    for every, due in series:
        last_done = due - dt.timedelta(days=every)
        begin = last_done - dt.timedelta(days=every * (LONG_AGO // every))
        rule = rrule(DAILY, interval=every, dtstart=dt.datetime.combine(begin, dt.time()))
        found += rule.after(dt.datetime.combine(last_done, dt.time())).date() <= ON
    took = time.process_time() - began
    assert found == sum(due <= ON for _every, due in series), "the loop finds other tasks due"
    return took / len(series)


def _against_loop(name: str, claim: Claim, tasks: int, each: float) -> Told:
    """Say how many times longer the loop takes over the tasks that the list goes over."""
    loop = each * tasks
    return Told(
        f"{name}: {claim.ours_ms:.1f} ms; expanding the rules of its {tasks:,} tasks {loop:.1f} s, "
        f"{1000 * loop / claim.ours_ms:,.0f} x (at least {LEAST:g})",
        far_over=1000 * loop / claim.ours_ms < LEAST,
    )


def run(large: int = 100_000) -> list[Claim | Told]:
    """Return the claims; the number of queries is the same at both sizes."""
    claims: list[Claim | Told] = []
    queries = set()
    grow(300)
    ours, bare, count = pages(None)
    queries.add(count)
    claims.append(
        paired("due list, whole firm of 300", ours, bare, rounds=25, limit=2.0,
               against="the bare SQL", clock=time.perf_counter)
    )  # fmt: skip
    for model in (Standing, CareTask, System, Place, Client):
        model.objects.all().delete()
    grow(large)
    with connection.cursor() as cursor:
        cursor.execute("ANALYZE")
    ours, bare, count = pages(AREA)
    queries.add(count)
    page = paired(f"due list, one area of {large:,}", ours, bare, rounds=25, limit=2.0,
                  against="the bare SQL", clock=time.perf_counter)  # fmt: skip
    assert bundled(AREA) == grouped(AREA), "the bundle list differs from the statement that groups"
    along = paired(f"bundle list, one area of {large:,}", lambda: bundled(AREA),
                   lambda: grouped(AREA), rounds=7, against="one statement")  # fmt: skip
    each, tasks = expanded(EXPANDED), large // 100 * TASKS
    assert len(queries) == 1, f"the number of queries changed with the size: {queries}"
    return [
        *claims, page, along,
        _against_loop("due list of an area", page, tasks, each),
        _against_loop("bundle list of an area", along, tasks, each),
        Told(f"expanding all {large * TASKS:,} rules: {each * large * TASKS:.0f} s of CPU"),
    ]  # fmt: skip
