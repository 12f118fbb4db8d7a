"""The nightly copy of the media: what is gone here goes there, once no dump may name it."""

import os
import subprocess
import time
from pathlib import Path

import pytest
from django.conf import settings

SCRIPT = Path(settings.BASE_DIR) / "packaging" / "backup.sh"
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
             "BACKUPS": str(folder / "backups"), "KEEP_DAYS": "14"},
    )  # fmt: skip
    assert done.returncode == 7, done.stderr


def held(folder: Path, kind: str) -> set[str]:
    return {path.name for path in (folder / "backups" / kind).rglob("*") if path.is_file()}


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
