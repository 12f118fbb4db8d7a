"""What the erase page reads for a client of many visits: texts once, and as many queries as for few."""

import datetime as dt
from typing import Any
from uuid import uuid4

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from apps.accounts.models import AuditEntry
from apps.core.models import Job
from apps.flows.client_rows import NAMING, everything_of
from apps.flows.erasing import going
from apps.visits.models import Photo, Reading, Sheet, Visit
from tests import factories
from tests.trust.world import Canaries, House, build

pytestmark = pytest.mark.django_db
VISITS, READINGS = 60, 12


@pytest.fixture
def world(db: None) -> Canaries:
    return build()


def years_of_visits(home: House) -> None:
    """Visits with readings, photos, entries of the record and jobs that name them."""
    begins = [factories.NOW - dt.timedelta(days=7 * n + 7) for n in range(VISITS)]
    visits = Visit.objects.bulk_create(
        Visit(place=home.visit.place, state="written_up", start=start, made_at=start,
              end=start + dt.timedelta(hours=1), started_at=start, finished_at=start)
        for start in begins
    )  # fmt: skip
    sheets = Sheet.objects.bulk_create(
        Sheet(visit=visit, system=home.built.system) for visit in visits
    )
    Reading.objects.bulk_create(
        Reading(sheet=sheet, loop=home.built.loop, measurand="ph", value=7, unit="", typed="7",
                word="in_band", taken_at=sheet.visit.start, received_at=sheet.visit.start)
        for sheet in sheets for _n in range(READINGS)
    )  # fmt: skip
    like = Photo.objects.values().get(pk=home.rows["photo"].pk)
    Photo.objects.bulk_create(
        Photo(**like | {"id": uuid4(), "sheet_id": sheet.pk, "screen": f"photos/{sheet.pk}.jpg"})
        for sheet in sheets
    )
    AuditEntry.objects.bulk_create(
        AuditEntry(at=visit.start, actor="office", verb="changed", kind="visit", object_id=visit.pk)
        for visit in visits
    )
    Job.objects.bulk_create(
        Job(kind="reports.render", key=f"{visit.pk}:x", args={"visit_id": str(visit.pk)},
            state="done", run_at=visit.start, made_at=visit.start)
        for visit in visits
    )  # fmt: skip


def test_as_many_queries_for_many_visits(world: Canaries, same_queries: Any) -> None:
    home = world.first
    before = going(home.client)
    most = same_queries(lambda: going(home.client), lambda: years_of_visits(home))
    after = going(home.client)
    rows = sum(count for _words, count in after.kinds) - sum(count for _w, count in before.kinds)
    # visits, sheets, photos, entries and jobs; and readings
    assert rows == VISITS * (5 + READINGS)
    assert after.files == before.files + VISITS
    # one a table and one a foreign key, whatever the number of rows
    assert most < 260


def test_texts_are_read_once(world: Canaries) -> None:
    """However long the chain is of rows that name rows."""
    years_of_visits(world.first)
    with CaptureQueriesContext(connection) as queries:
        everything_of(world.first.client)
    for model, columns in NAMING.items():
        reads = [one["sql"] for one in queries if f'"{columns[0]}_text"' in one["sql"]
                 and f'FROM "{model._meta.db_table}"' in one["sql"]]  # fmt: skip
        assert len(reads) == 1, model


def test_a_chain_of_names_is_followed_to_its_end(world: Canaries) -> None:
    """Each names the one before; the first names the client's call for help."""
    jobs = []
    named = str(world.first.rows["incident"].pk)
    for number in range(5):
        entry = Job.objects.create(
            kind="x", key=f"chain {number} {named}", args={}, state="done", run_at=factories.NOW,
            made_at=factories.NOW,
        )  # fmt: skip
        jobs.append(entry)
        named = str(entry.pk)
    keys = everything_of(world.first.client)
    assert {row.pk for row in jobs} <= keys[Job]
