"""A client who is erased is not in the bytes of the database either: its file, its dump."""

import shutil
import sqlite3
import subprocess
from pathlib import Path
from typing import Any

import pytest
from django.db import connection

from apps.accounts.models import Closure
from apps.clients.models import PastClients
from apps.core import clock, outbox
from apps.rounds.models import Absence
from tests import factories
from tests.trust.test_erasing import besides, erase, over, words_of
from tests.trust.world import Canaries, build


@pytest.fixture
def standing(monkeypatch: pytest.MonkeyPatch, settings: Any, tmp_path: Path) -> None:
    monkeypatch.setattr(clock, "now", lambda: factories.NOW)
    settings.BACKYARD_DIR = tmp_path


def made() -> Canaries:
    """Two households; the first one can be erased."""
    world = build()
    # the firm's own days off and its technicians' are nobody's, whatever the words in this world
    Closure.objects.update(name="closed")
    Absence.objects.update(reason="away")
    for home in (world.first, world.second):
        besides(home)
    over(world.first)
    return world


def found(held: bytes, words: list[str]) -> list[str]:
    """Return the words that stand in some bytes, in either case."""
    small = held.lower()
    return [word for word in words if word.lower().encode() in small]


def file_of(path: Path) -> bytes:
    """Return the bytes of the database as a file, once what is free is given back."""
    copy = sqlite3.connect(":memory:")
    # a backup would wait for the end of the test's own transaction
    copy.deserialize(connection.connection.serialize())
    copy.execute("VACUUM INTO ?", [str(path)])
    copy.close()
    return path.read_bytes()


def others(world: Canaries) -> list[str]:
    """Return words by which the other household is known: they stay."""
    return [world.second.canary, str(world.second.client.pk)]


@pytest.mark.django_db
def test_in_the_file_of_sqlite(standing: None, tmp_path: Path) -> None:
    if connection.vendor != "sqlite":
        pytest.skip("the dump is looked at below")
    world = made()
    words = words_of(world.first)
    before = found(file_of(tmp_path / "before.sqlite3"), words)
    assert before[0] == world.first.canary
    erase(world)
    outbox.drain(factories.NOW)
    after = file_of(tmp_path / "after.sqlite3")
    assert found(after, words) == []
    # the other household's ids have no hyphens there
    assert found(after, [world.second.canary, world.second.client.pk.hex])
    assert PastClients.objects.get().clients == 1


def dump() -> bytes:
    held = connection.settings_dict
    where = f"postgresql://{held['USER']}@{held['HOST']}:{held['PORT']}/{held['NAME']}"
    done = subprocess.run(["pg_dump", "--inserts", where], capture_output=True, check=True)
    return done.stdout


def test_in_the_dump_of_postgresql(committed_db: None, standing: None) -> None:
    if shutil.which("pg_dump") is None:
        pytest.skip("pg_dump is missing")
    world = made()
    words = words_of(world.first)
    assert found(dump(), words)[0] == world.first.canary
    erase(world)
    outbox.drain(factories.NOW)
    after = dump()
    assert found(after, words) == []
    assert found(after, others(world)) == others(world)
    assert PastClients.objects.get().clients == 1
