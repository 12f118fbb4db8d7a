"""The nightly copy of the media: what is gone here goes there, once no dump may name it."""

import os
import shutil
import subprocess
import time
from pathlib import Path
from typing import Any

import pytest
from django.conf import settings as live
from django.test import Client as Browser
from django.urls import reverse

from tests import factories

SCRIPT = Path(live.BASE_DIR) / "packaging" / "backup.sh"
DAY_S = 24 * 3600


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """Folders of a server, and tools that do nothing; `sleep` ends the one night."""
    for name in ("bin", "data/media/photos/ab", "backups"):
        (tmp_path / name).mkdir(parents=True)
    for name, does in (("pg_dump", "echo a dump"), ("pg_restore", ":"), ("sleep", "exit 7")):
        tool = tmp_path / "bin" / name
        tool.write_text(f"#!/bin/sh\n{does}\n")
        tool.chmod(0o755)
    for name in ("one.jpg", "two words.jpg"):
        (tmp_path / "data/media/photos/ab" / name).write_text(name)
    return tmp_path


def night(folder: Path) -> None:
    done = subprocess.run(
        ["/bin/sh", str(SCRIPT)], capture_output=True, check=False,
        env={"PATH": f"{folder / 'bin'}:{os.environ['PATH']}", "DATA": str(folder / "data"),
             "BACKUPS": str(folder / "backups"), "NOTES": str(folder / "data/backup"),
             "KEEP_DAYS": "14"},
    )  # fmt: skip
    assert done.returncode == 7, done.stderr


def held(folder: Path, kind: str) -> set[str]:
    return {path.name for path in (folder / "backups" / kind).rglob("*") if path.is_file()}


def refused(folder: Path) -> str:
    """Return what the office is told: how many files are gone, of how many."""
    path = folder / "data/backup/refused"
    return path.read_text() if path.exists() else ""


def aged(path: Path, days: int) -> None:
    then = time.time() - days * DAY_S
    os.utime(path, (then, then))


def test_a_file_that_is_gone_goes_with_the_last_dump_that_names_it(folder: Path) -> None:
    night(folder)
    assert held(folder, "media") == {"one.jpg", "two words.jpg"}
    media = folder / "data/media/photos/ab"
    aged(folder / "backups/media/photos/ab/two words.jpg", 400)
    (media / "two words.jpg").unlink()
    night(folder)
    # a dump of yesterday still names it
    assert (held(folder, "media"), held(folder, "gone")) == ({"one.jpg"}, {"two words.jpg"})
    aged(folder / "backups/gone/photos/ab/two words.jpg", 16)
    aged(folder / "backups/media/photos/ab/one.jpg", 400)
    night(folder)
    assert (held(folder, "media"), held(folder, "gone")) == ({"one.jpg"}, set())


def test_old_dumps_go_and_media_that_are_not_there_take_nothing(folder: Path) -> None:
    night(folder)
    old = folder / "backups/2026-01-01.dump"
    old.write_text("")
    aged(old, 16)
    (folder / "data/media").rename(folder / "data/away")
    night(folder)
    assert not old.exists()
    assert held(folder, "media") == {"one.jpg", "two words.jpg"}
    assert refused(folder) == "2 2\n"


@pytest.mark.parametrize("how", ["empty", "not there", "folders alone"])
def test_media_that_are_empty_take_nothing_until_it_is_said(folder: Path, how: str) -> None:
    """A disk that is not there looks like this; the copy is all that is left then."""
    night(folder)
    media = folder / "data/media"
    for path in list(media.rglob("*.jpg")):
        path.unlink()
    if how != "folders alone":
        shutil.rmtree(media)
    if how == "empty":
        media.mkdir()
    for _n in range(2):
        night(folder)
        assert (held(folder, "media"), held(folder, "gone")) == (
            {"one.jpg", "two words.jpg"},
            set(),
        )
        assert refused(folder) == "2 2\n"
    (folder / "backups/media-may-go").touch()
    night(folder)
    assert (held(folder, "media"), held(folder, "gone")) == (set(), {"one.jpg", "two words.jpg"})
    assert refused(folder) == ""
    assert not (folder / "backups/media-may-go").exists()


@pytest.mark.parametrize(("lost", "kept"), [(21, True), (20, False)])
def test_more_than_a_share_at_once_is_kept(folder: Path, lost: int, kept: bool) -> None:
    """Of 102: more than a fifth is, a fifth or twenty files are not; common practice."""
    media = folder / "data/media/photos/ab"
    for number in range(100):
        (media / f"{number}.jpg").write_text("")
    night(folder)
    for number in range(lost):
        (media / f"{number}.jpg").unlink()
    night(folder)
    assert len(held(folder, "gone")) == (0 if kept else lost)
    assert refused(folder) == (f"{lost} 102\n" if kept else "")
    # what has come back meanwhile takes the word away again
    for number in range(lost):
        (media / f"{number}.jpg").write_text("")
    night(folder)
    assert refused(folder) == ""


def test_a_new_server_with_nothing_yet(folder: Path) -> None:
    shutil.rmtree(folder / "data/media")
    night(folder)
    assert refused(folder) == ""


@pytest.mark.django_db
def test_the_office_is_told(folder: Path, settings: Any) -> None:
    settings.BACKYARD_DIR = folder / "data"
    factories.firm()
    browser = Browser()
    browser.force_login(factories.user("office", "office"))
    assert "media-may-go" not in browser.get(reverse("office:keeping")).content.decode()
    (folder / "data/backup").mkdir()
    (folder / "data/backup/refused").write_text("2 2\n")
    assert (
        "2 of 2 files are gone here at once" in browser.get(reverse("office:due")).content.decode()
    )
    page = browser.get(reverse("office:keeping")).content.decode()
    assert "found 2 of its 2 photos and papers gone" in page
    # half a line is none
    (folder / "data/backup/refused").write_text("2")
    assert "gone here at once" not in browser.get(reverse("office:due")).content.decode()
