"""All that is held on a client goes into one file, and nothing of anybody else's."""

import csv
import io
import json
import zipfile
from typing import Any

import pytest
from django.apps import apps
from django.conf import settings
from django.db import models
from django.test import Client as Browser
from django.urls import reverse

from apps.accounts.models import AuditEntry
from apps.clients.models import Client
from apps.core import clock
from apps.core.files import store
from apps.flows.client_data import FILES, FIRM_S_OWN, KINDS, STAFF_S_OWN, export, tables, ways_of
from apps.visits.models import Photo
from tests import factories
from tests.trust.walking import differing, owners
from tests.trust.world import Canaries, build

pytestmark = pytest.mark.django_db
NOT_A_CLIENT_S = {
    "accounts.AccessToken", "accounts.AuditEntry", "accounts.Closure", "accounts.Firm",
    "accounts.IdempotencyKey", "accounts.SignInCount", "accounts.StaffSession", "accounts.User",
    "batches.HarvestPrice", "catalogue.Edition", "catalogue.Entry", "clients.PastClients",
    "core.Erasing", "core.Job",
    "incidents.WeatherWatch",
    "proposals.Price", "reports.MailServer", "reports.ReturnedMail", "rounds.Absence",
    "rounds.Crew", "rounds.PlanningSettings", "rounds.RoundPlan", "rounds.WorkingHours",
    "visits.CheckIn", "visits.Phone", "visits.RefusedOperation",
}  # fmt: skip
"""Tables that hold the firm's own things, or the work of a phone or a queue."""


@pytest.fixture
def households(db: None, monkeypatch: pytest.MonkeyPatch) -> Canaries:
    """Two households with a row of every kind."""
    monkeypatch.setattr(clock, "now", lambda: factories.NOW)
    return build()


@pytest.fixture
def browser(households: Canaries) -> Browser:
    """The office's browser."""
    made = Browser()
    made.cookies[settings.SESSION_COOKIE_NAME] = households.sessions["office"]
    return made


def opened(client: Client) -> zipfile.ZipFile:
    return zipfile.ZipFile(io.BytesIO(export(client, "The firm", "2026-06-11").read()))


def text_of(zipped: zipfile.ZipFile) -> str:
    return "".join(
        zipped.read(name).decode("utf-8-sig")
        for name in zipped.namelist()
        if not name.startswith("files/")
    )


def test_every_table_is_a_client_s_or_named_as_not() -> None:
    """A new table is in the export by its foreign keys, or somebody has said why it is not."""
    ours = {
        model._meta.label for model in apps.get_models() if model.__module__.startswith("apps.")
    }
    assert {model._meta.label for model in tables()} == ours - NOT_A_CLIENT_S
    assert {model._meta.app_label for model in tables()} == set(KINDS)


def test_a_row_that_may_hang_on_several_things_is_found_by_each() -> None:
    assert set(ways_of(apps.get_model("reports", "Letter"))) >= {
        "contact__client_id", "visit__place__client_id",
    }  # fmt: skip


def test_all_of_one_household_and_nothing_of_the_other(households: Canaries) -> None:
    mine, other = households.first, households.second
    zipped = opened(mine.client)
    data = json.loads(zipped.read("data.json"))
    text = text_of(zipped)
    for kind, row in mine.rows.items():
        label = row._meta.label
        # the calendar of the technician is theirs
        if label not in NOT_A_CLIENT_S and kind != "own_feed":
            assert str(row.pk) in {str(found["id"]) for found in data[label]}, label
    assert mine.canary in text
    assert other.canary not in text
    for row in other.rows.values():
        assert str(row.pk) not in text or row.pk == mine.rows["technician"].pk


@pytest.mark.parametrize("whose", ["first", "second"])
def test_each_table_has_their_rows_and_no_other(households: Canaries, whose: str) -> None:
    """Counted by another walk than the export's own."""
    client = getattr(households, whose).client
    data = json.loads(opened(client).read("data.json"))
    assert differing(client, data, owners(), set(STAFF_S_OWN)) == {}
    assert sum(bool(rows) for rows in data.values()) > 50


def test_the_gate_code_is_the_client_s_own(households: Canaries) -> None:
    data = json.loads(opened(households.first.client).read("data.json"))
    assert [row["gate_code"] for row in data["clients.Place"]] == ["code-KINGFISHER"]


def test_no_secret_is_in_it(households: Canaries) -> None:
    mine = households.first
    data = json.loads(opened(mine.client).read("data.json"))
    assert data["accounts.ClientLink"]
    assert not any("digest" in row for row in data["accounts.ClientLink"])
    assert mine.link.rstrip("/").rsplit("/", 1)[-1] not in text_of(opened(mine.client))


def test_what_things_cost_the_firm_stays_with_it(households: Canaries) -> None:
    data = json.loads(opened(households.first.client).read("data.json"))
    for label, columns in FIRM_S_OWN.items():
        assert data[label], label
        assert not any(columns & set(row) for row in data[label]), label
    assert not set(data) & STAFF_S_OWN


def test_changes_of_other_things_with_the_same_number_are_not_theirs(households: Canaries) -> None:
    AuditEntry.objects.create(
        at=factories.NOW, actor="office", verb="set quiet hours", kind="firm", object_id="1"
    )
    assert "quiet hours" not in opened(households.first.client).read("changes.csv").decode()


def test_files_are_whole_and_one_that_is_gone_is_named(households: Canaries) -> None:
    mine = households.first
    photo = Photo.objects.filter(sheet__visit__place__client=mine.client).first()
    assert photo is not None
    name, _sha = store("photos", b"the bytes of a photo", "jpg")
    Photo.objects.filter(pk=photo.pk).update(screen=name)
    zipped = opened(mine.client)
    assert zipped.read(f"files/{name}") == b"the bytes of a photo"
    Photo.objects.filter(pk=photo.pk).update(screen="photos/ff/gone.jpg")
    assert "photos/ff/gone.jpg" in opened(mine.client).read("read me.txt").decode()


def test_every_column_that_names_a_file_is_known() -> None:
    """What a table keeps of a stored file is a short text that ends in its kind."""
    texts = {
        field.name
        for model in tables()
        for field in model._meta.concrete_fields
        if isinstance(field, models.CharField) and field.max_length == 160
    }
    others = {"small", "key", "name", "street"}
    assert {name for name in texts if not name.endswith("by")} - others <= set(FILES)


def test_a_spreadsheet_reads_it_as_text(households: Canaries) -> None:
    zipped = opened(households.first.client)
    for name in ("readings.csv", "visits.csv", "letters.csv", "changes.csv"):
        rows = list(csv.reader(io.StringIO(zipped.read(name).decode("utf-8-sig"))))
        assert len({len(row) for row in rows}) == 1, name
        assert len(rows) > 1, name


def test_the_page_counts_and_the_record_says_that_it_was_saved(
    households: Canaries, browser: Browser
) -> None:
    client = households.first.client
    where = reverse("office:client_data", args=[client.pk])
    page = browser.get(where).content.decode()
    assert "visits, readings, photos, calls" in page
    before = AuditEntry.objects.filter(verb="exported all data").count()
    answer: Any = browser.post(reverse("office:client_data_save", args=[client.pk]))
    assert answer["Content-Type"] == "application/zip"
    assert zipfile.ZipFile(io.BytesIO(b"".join(answer.streaming_content))).testzip() is None
    assert AuditEntry.objects.filter(verb="exported all data").count() == before + 1


def test_as_many_queries_for_many_rows(households: Canaries, same_queries: Any) -> None:
    client = households.first.client

    def more() -> None:
        for _n in range(3):
            client.contacts.create(name="One more", email="more@more.example", language="en")

    same_queries(lambda: export(client, "The firm", "2026-06-11"), more)
