"""What is over goes in the night, by settings that refuse what they do not understand."""

import datetime as dt
from collections.abc import Iterator
from typing import Any
from uuid import uuid4

import pytest
from django.conf import settings as live
from django.core.exceptions import ImproperlyConfigured
from django.test import Client as Browser
from django.urls import reverse

from apps.accounts.models import AuditEntry
from apps.clients.models import PastClients
from apps.clients.selectors import past_clients
from apps.core import clock, files, outbox
from apps.core.models import Erasing
from apps.flows import forgetting
from apps.flows.nightly import nightly
from apps.incidents.models import IncidentPhoto
from apps.reports.models import Letter
from apps.visits.models import CallNote, PhoneRemark, Photo, ReadingPhoto, RefusedOperation
from backyard.settings import env
from tests import factories
from tests.trust.world import Canaries, build

pytestmark = pytest.mark.django_db
YEAR_ON = factories.NOW + dt.timedelta(days=366)
KEPT = ("access", "returned", "refused", "letter_words", "client_photos", "calls")


@pytest.fixture
def world(
    db: None, monkeypatch: pytest.MonkeyPatch, settings: Any, tmp_path: Any
) -> Iterator[Canaries]:
    monkeypatch.setattr(clock, "now", lambda: factories.NOW)
    settings.KEEP_DAYS = dict.fromkeys(KEPT)
    made = build()
    settings.ACCESS_LOG_DIR = tmp_path
    yield made
    assert not Erasing.objects.exists()


def night(at: dt.datetime = YEAR_ON) -> dict[str, int]:
    return forgetting.forget(at.date(), at)


def test_by_default_the_record_stays(world: Canaries) -> None:
    models = (CallNote, RefusedOperation, ReadingPhoto, IncidentPhoto, Photo)
    before = [model.objects.count() for model in models]
    letters = list(Letter.objects.order_by("pk").values("parameters", "subject_line"))
    gone = night()
    assert not set(gone) & set(KEPT)
    assert before == [model.objects.count() for model in models]
    assert letters == list(Letter.objects.order_by("pk").values("parameters", "subject_line"))


@pytest.mark.parametrize(
    ("days", "gone"), [(366, 0), (365, 2)], ids=["on the last day", "a day later"]
)
def test_calls(world: Canaries, settings: Any, days: int, gone: int) -> None:
    settings.KEEP_DAYS["calls"] = days
    assert night()["calls"] == gone
    assert CallNote.objects.count() == 2 - gone


def test_refused_answers_that_were_looked_at(world: Canaries, settings: Any) -> None:
    settings.KEEP_DAYS["refused"] = 30
    mine = world.first.rows["remark"]
    PhoneRemark.objects.filter(pk=mine.pk).update(seen_at=factories.NOW)
    assert night()["refused"] == 1
    assert not RefusedOperation.objects.filter(pk=mine.refused_id).exists()
    # nobody has looked at this one: it waits, however old
    assert RefusedOperation.objects.filter(pk=world.second.rows["remark"].refused_id).exists()


def test_photos_of_clients_with_their_files(world: Canaries, settings: Any) -> None:
    settings.KEEP_DAYS["client_photos"] = 30
    name = world.first.rows["incident_photo"].screen
    also = world.first.rows["reading_photo"].screen
    assert files.read(name)
    assert night()["client_photos"] == 4
    outbox.drain(YEAR_ON)
    with pytest.raises(FileNotFoundError):
        files.read(name)
    # a technician's photo has the same bytes
    assert files.read(also)
    assert Photo.objects.count() == 2


def test_own_words_of_letters_that_went(world: Canaries, settings: Any) -> None:
    settings.KEEP_DAYS["letter_words"] = 30
    given = {"subject": "Our talk", "words": "As you said", "version": str(uuid4()),
             "notices": [{"kind": "low_stock", "words": "salt"}]}  # fmt: skip
    rows = {
        state: Letter.objects.create(
            kind="own", key=state, address="a@a.example", message_id=state, state=state,
            subject_line="Our talk", parameters=given, made_at=factories.NOW, last_error="550 a@a",
        )
        for state in ("sent", "queued", "failed", "withheld")
    }  # fmt: skip
    Letter.objects.filter(key="withheld").update(last_error="whoever was to come is away then")
    assert night()["letter_words"] == 2
    for row in rows.values():
        row.refresh_from_db()
    kept = rows["sent"]
    assert kept.parameters == given | {
        "subject": "…", "words": "…", "notices": [{"kind": "low_stock", "words": "…"}]
    }  # fmt: skip
    assert (kept.subject_line, kept.last_error) == ("…", "")
    assert rows["withheld"].last_error == "whoever was to come is away then"
    assert rows["withheld"].subject_line == "…"
    assert rows["queued"].parameters == rows["failed"].parameters == given
    assert night()["letter_words"] == 0


def test_one_that_fails_stops_no_other(
    world: Canaries, settings: Any, monkeypatch: pytest.MonkeyPatch
) -> None:
    settings.KEEP_DAYS |= {"refused": 30, "calls": 30}

    def broken(*_args: Any) -> int:
        CallNote.objects.all().delete()
        raise RuntimeError

    bad = forgetting.Subject("refused", forgetting.SUBJECTS[1].words, "X", None, broken)
    monkeypatch.setattr(
        forgetting, "SUBJECTS", (bad, *(row for row in forgetting.SUBJECTS if row.code == "calls"))
    )
    assert night() == {"calls": 2}


def test_every_night_does_it_and_says_how_many(world: Canaries, settings: Any) -> None:
    settings.KEEP_DAYS["calls"] = 30
    nightly(YEAR_ON.date(), YEAR_ON)
    entry = AuditEntry.objects.get(verb="forgot")
    assert entry.change["calls"] == 2
    assert {"keys", "pieces", "drafts", "tries"} <= set(entry.change)
    browser = Browser()
    browser.force_login(world.office)
    page = browser.get(reverse("office:keeping")).content.decode()
    for words in (
        "BACKYARD_KEEP_CALLS_DAYS",
        "30 days",
        "always",
        "notes of calls",
        "The last time was",
    ):
        assert words.lower() in page.lower(), words


class TestSettings:
    @pytest.mark.parametrize(
        ("value", "days"), [("", None), ("0", None), (" 7 ", 7), ("36500", 36500)]
    )
    def test_taken(self, monkeypatch: pytest.MonkeyPatch, value: str, days: int | None) -> None:
        monkeypatch.setenv("BACKYARD_KEEP_CALLS_DAYS", value)
        assert env.days("BACKYARD_KEEP_CALLS_DAYS") == days

    @pytest.mark.parametrize(
        "value", ["-1", "90d", "1.5", "soon", "36501", "٧", "1e2", "99999999999"]
    )
    def test_refused_at_the_start(self, monkeypatch: pytest.MonkeyPatch, value: str) -> None:
        monkeypatch.setenv("BACKYARD_KEEP_CALLS_DAYS", value)
        with pytest.raises(ImproperlyConfigured, match=r"KEEP_CALLS_DAYS=.*whole days from 1"):
            env.days("BACKYARD_KEEP_CALLS_DAYS")

    def test_each_has_its_variable(self) -> None:
        named = {row.setting for row in forgetting.SUBJECTS if row.setting}
        assert named == {name for name in env.VARIABLES if name.startswith("BACKYARD_KEEP_")}
        assert {row.code for row in forgetting.SUBJECTS if row.setting} == set(live.KEEP_DAYS)


def test_sums_of_few_are_not_told_apart() -> None:
    for year, clients in ((2024, 3), (2025, 2), (2026, 7), (2027, 1)):
        PastClients.objects.create(year=year, clients=clients, visits=5, systems={"coupled": 1})
    rows = past_clients()
    assert [(row["first"], row["last"], row["clients"], "few" in row) for row in rows] == [
        (2024, 2025, 5, False), (2026, 2026, 7, False), (2027, 2027, 1, True),
    ]  # fmt: skip
    assert (rows[0]["visits"], rows[0]["systems"]) == (10, {"coupled": 2})
