"""The file of all that is held on a client of the demo, opened and counted against the rows."""

import csv
import io
import json
import zipfile
from types import SimpleNamespace
from typing import Any
from uuid import UUID

import pytest
from pikepdf import Pdf
from PIL import Image

from apps.accounts.models import CalendarFeed
from apps.clients.models import Client, Contact, Place
from apps.flows.client_data import STAFF_S_OWN, export
from apps.flows.client_rows import everything_of, files_of
from apps.visits.models import Reading, Visit
from tests.trust.walking import differing, owners

# the firm is loaded for it once more
pytestmark = [pytest.mark.django_db, pytest.mark.long]


@pytest.fixture(scope="module")
def opened(firm: SimpleNamespace, django_db_blocker: Any) -> Any:
    """The richest client of the demo, their file, and whose all rows are."""
    with django_db_blocker.unblock():
        held = owners()
        counts: dict[UUID, int] = {}
        for rows in held.values():
            for clients in rows.values():
                for pk in clients:
                    counts[pk] = counts.get(pk, 0) + 1
        gated = set(Place.objects.exclude(gate_code="").values_list("client_id", flat=True))
        client = Client.objects.get(pk=max(gated, key=lambda pk: counts[pk]))
        made = export(client, "The firm", "2026-06-11").read()
        zipped = zipfile.ZipFile(io.BytesIO(made))
        data = json.loads(zipped.read("data.json"))
        yield SimpleNamespace(client=client, zipped=zipped, data=data, owners=held, size=len(made))


def test_each_table_has_the_client_s_rows_and_no_other(opened: Any) -> None:
    assert differing(opened.client, opened.data, opened.owners, set(STAFF_S_OWN)) == {}
    assert sum(bool(rows) for rows in opened.data.values()) >= 25


def test_every_file_of_theirs_is_in_it_and_opens(opened: Any) -> None:
    names = {name for name in opened.zipped.namelist() if name.startswith("files/")}
    held = files_of(everything_of(opened.client))
    small = {row.get("small") for rows in opened.data.values() for row in rows if row.get("screen")}
    assert {name.removeprefix("files/") for name in names} >= held - small - {None}
    kinds = {"pdf": 0, "jpg": 0}
    for name in names:
        body = io.BytesIO(opened.zipped.read(name))
        if name.endswith(".pdf"):
            with Pdf.open(body) as paper:
                assert len(paper.pages) >= 1
        else:
            with Image.open(body) as picture:
                picture.load()
        kinds[name.rpartition(".")[2]] += 1
    assert opened.zipped.testzip() is None
    assert "No longer there" not in opened.zipped.read("read me.txt").decode()
    assert kinds["jpg"]


def test_its_sheets_hold_as_many_rows(opened: Any) -> None:
    pk = opened.client.pk
    wanted = {
        "readings.csv": Reading.objects.filter(loop__system__place__client=pk).count(),
        "visits.csv": Visit.objects.filter(place__client=pk).count(),
        "letters.csv": len(opened.data["reports.Letter"]),
    }
    for name, count in wanted.items():
        text = opened.zipped.read(name).decode("utf-8-sig")
        rows = list(csv.reader(io.StringIO(text), strict=True))
        assert len(rows) - 1 == count > 0, name
        assert len({len(row) for row in rows}) == 1, name
    assert wanted["readings.csv"] > 100


def test_the_gate_code_is_in_it_and_nobody_else_s_data(opened: Any) -> None:
    text = "".join(
        opened.zipped.read(name).decode("utf-8-sig")
        for name in opened.zipped.namelist()
        if not name.startswith("files/")
    )
    own = Place.objects.filter(client=opened.client).exclude(gate_code="")
    assert own
    codes = {row["gate_code"] for row in opened.data["clients.Place"]}
    assert {row.gate_code for row in own} <= codes
    for row in Contact.objects.exclude(client=opened.client):
        assert not row.email or row.email not in text, row
        assert not row.phone or row.phone not in text, row
    for client in Client.objects.exclude(pk=opened.client.pk):
        assert client.name not in text, client
        assert str(client.pk) not in text
    for feed in CalendarFeed.objects.all():
        assert feed.digest not in text
