"""Files that belong to no row go after a week, and nothing else ever does."""

import datetime as dt
import os
from pathlib import Path
from typing import Any

import pytest
from django.core.files.storage import FileSystemStorage, default_storage
from django.db import IntegrityError

from apps.accounts.models import AuditEntry
from apps.core import clock
from apps.core.exceptions import Conflict
from apps.core.files import read, store
from apps.flows import file_removal, forgetting
from apps.flows.file_removal import GRACE, TooMany, files_sweep
from apps.proposals.models import Proposal, ProposalVersion
from apps.proposals.services import version_make
from apps.reports.rendering.child import CHILD
from apps.visits.models import Photo
from tests import factories
from tests.trust.world import Canaries, build

pytestmark = pytest.mark.django_db


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """Files on a disk: how old one is belongs to the test."""
    media = tmp_path / "media"
    monkeypatch.setattr(default_storage, "_wrapped", FileSystemStorage(location=media))
    return media


@pytest.fixture
def world(db: None, folder: Path, monkeypatch: pytest.MonkeyPatch) -> Canaries:
    monkeypatch.setattr(clock, "now", lambda: factories.NOW)
    made = build()
    # in this world rows name files under plain names; here all of them are as they are stored
    name, _sha = store("photos", b"known", "jpg")
    Photo.objects.update(screen=name, small=store("photos", b"known, small", "jpg")[0])
    age(folder, 400)
    return made


def age(folder: Path, days: float) -> None:
    then = (factories.NOW - dt.timedelta(days=days)).timestamp()
    for path in folder.rglob("*.*"):
        os.utime(path, (then, then))


def names(folder: Path) -> set[str]:
    return {str(path.relative_to(folder)) for path in folder.rglob("*") if path.is_file()}


def test_a_paper_whose_row_was_refused_goes_after_its_time(
    world: Canaries, folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    proposal = Proposal.objects.get(pk=world.first.rows["proposal"].pk)
    before = names(folder)
    monkeypatch.setattr(CHILD, "draw", lambda *_args: b"%PDF a paper")

    def refused(**_row: Any) -> None:
        raise IntegrityError

    with monkeypatch.context() as patched:
        patched.setattr(ProposalVersion.objects, "create", refused)
        with pytest.raises(Conflict):
            version_make(proposal=proposal, by=factories.actor(world.office), at=factories.NOW)
    (left,) = names(folder) - before
    age(folder, GRACE.days - 0.01)
    assert files_sweep(factories.NOW) == 0
    age(folder, GRACE.days + 0.01)
    assert files_sweep(factories.NOW) == 1
    assert names(folder) == before
    assert left.startswith("proposals/")


def test_what_is_no_stored_file_stays(world: Canaries, folder: Path) -> None:
    """Pieces of photos, whatever somebody put there, copies beside it."""
    others = [
        "uploads/half.part", "photos/ab/read me.txt", "photos/loose.jpg", "notes.txt",
        f"backups/media/photos/ab/ab{'0' * 62}.jpg", f"photos/ab/cd{'0' * 62}.jpg",
        f"exports/ab/ab{'0' * 62}.zip",
    ]  # fmt: skip
    for name in others:
        (folder / name).parent.mkdir(parents=True, exist_ok=True)
        (folder / name).write_text("x")
    (folder.parent / "backups").mkdir()
    (folder.parent / "backups" / f"ab{'0' * 62}.jpg").write_text("x")
    age(folder.parent, 400)
    before = names(folder.parent)
    assert files_sweep(factories.NOW) == 0
    assert names(folder.parent) == before


def test_the_same_bytes_stored_again_are_young_again(world: Canaries, folder: Path) -> None:
    """A file whose row was refused once may be another row's by now."""
    name, _sha = store("reports", b"drawn twice", "pdf")
    age(folder, 400)
    store("reports", b"drawn twice", "pdf")
    # what the disk says is not the clock of tests
    assert files_sweep(dt.datetime.now(dt.UTC)) == 0
    assert read(name) == b"drawn twice"


def test_one_that_goes_while_it_is_stored_again_is_written(
    world: Canaries, folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The night takes it between the look whether it is there and the row that will name it."""
    name, _sha = store("reports", b"drawn twice", "pdf")
    age(folder, 400)
    there = default_storage.exists

    def then_gone(asked: str) -> bool:
        found = bool(there(asked))
        files_sweep(factories.NOW)
        return found

    monkeypatch.setattr(default_storage, "exists", then_gone)
    store("reports", b"drawn twice", "pdf")
    assert (folder / name).read_bytes() == b"drawn twice"


def test_many_at_once_are_a_sign_of_another_database(
    world: Canaries, folder: Path, monkeypatch: pytest.MonkeyPatch, caplog: Any
) -> None:
    monkeypatch.setattr(file_removal, "FEW", 3)
    for number in range(4):
        store("photos", f"photo {number}".encode(), "jpg")
    age(folder, 400)
    before = names(folder)
    with pytest.raises(TooMany, match="is the database whole"):
        files_sweep(factories.NOW)
    # the night says so in its log, and goes on
    gone = forgetting.forget(factories.TODAY, factories.NOW)
    assert "files" not in gone
    assert "drafts" in gone
    assert "files could not be taken away" in caplog.text
    assert names(folder) == before


def test_the_night_does_it_and_says_how_many(world: Canaries, folder: Path) -> None:
    store("photos", b"nobody's", "jpg")
    age(folder, 400)
    assert forgetting.forget(factories.TODAY, factories.NOW)["files"] == 1
    assert AuditEntry.objects.get(verb="forgot").change["files"] == 1
    assert read(Photo.objects.first().screen) == b"known"


def test_without_any_file_there_is_nothing_to_do(db: None, folder: Path) -> None:
    assert files_sweep(factories.NOW) == 0
