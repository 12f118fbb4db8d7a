"""Who looked at which client's data: lines of JSON, a file a day, beside the database.

A look writes no row: reading must not make the database write. A line holds ids and the name of
the page alone: {"at", "who", "page", "method", "client"}; `who` is a member of the staff, or the
link that a client was sent. Whoever writes or rewrites a file holds its lock, so no line is lost.
"""

import datetime as dt
import fcntl
import json
import logging
import os
import re
from collections.abc import Callable, Iterable, Iterator
from contextlib import contextmanager
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import IO
from uuid import UUID

from django.conf import settings

logger = logging.getLogger(__name__)
_NAME = re.compile(r"\d{4}-\d{2}-\d{2}\.jsonl")


ALL = "*"
"""In the place of a client: a list in which all of them stand."""


@dataclass(frozen=True)
class Look:
    """One look at a client's data."""

    at: str
    who: str
    page: str
    method: str
    client: str


def log(
    *, at: dt.datetime, who: str, page: str, method: str, clients: Iterable[UUID | str]
) -> None:
    """Note a look, a line for each client. Where it cannot be written the program's log says so."""
    folder = settings.ACCESS_LOG_DIR
    if folder is None:
        return
    stamp = at.astimezone(dt.UTC).isoformat(timespec="seconds")
    looks = [Look(stamp, who, page, method, pk) for pk in sorted(map(str, clients))]
    try:
        folder.mkdir(mode=0o700, parents=True, exist_ok=True)
        with _held(folder / f"{stamp[:10]}.jsonl", "a") as file:
            file.writelines(json.dumps(asdict(look)) + "\n" for look in looks)
    except OSError:
        logger.exception("a look could not be noted")


@contextmanager
def _held(path: Path, mode: str) -> Iterator[IO[str]]:
    """Open a file under its lock; it and its folder are nobody else's."""
    with open(path, mode, encoding="utf-8", opener=_private) as file:
        fcntl.flock(file, fcntl.LOCK_EX)
        yield file
        file.flush()


def _private(name: str, flags: int) -> int:
    return os.open(name, flags, 0o600)


def looks_at(client: UUID) -> Iterator[Look]:
    """Yield who looked at a client's data, or took a list of all, the newest first.

    A line that is none is left out.
    """
    wanted = {str(client), ALL}
    # a line of another client need not be read to be passed over: there are many
    marks = tuple(json.dumps(one) for one in wanted)
    for path in reversed(_files()):
        for line in reversed(path.read_text(encoding="utf-8").splitlines()):
            look = _look(line) if any(mark in line for mark in marks) else None
            if look is not None and look.client in wanted:
                yield look


def _look(line: str) -> Look | None:
    try:
        return Look(**json.loads(line))
    except (ValueError, TypeError):
        return None


def _files() -> list[Path]:
    folder = settings.ACCESS_LOG_DIR
    if folder is None or not folder.is_dir():
        return []
    return sorted(path for path in folder.iterdir() if _NAME.fullmatch(path.name))


def days_forget(before: dt.datetime) -> int:
    """Remove the files of the days that ended before a time; return how many lines went."""
    edge, gone = before.astimezone(dt.UTC).date().isoformat(), 0
    for path in _files():
        if path.stem < edge:
            gone += len(path.read_text(encoding="utf-8").splitlines())
            path.unlink(missing_ok=True)
    return gone


def clients_forget(gone: Callable[[UUID], bool]) -> None:
    """Take the lines of clients who are gone out of every file."""
    for path in _files():
        with _held(path, "r+") as file:
            lines = file.readlines()
            kept = [line for line in lines if not _of_one_gone(line, gone)]
            if len(kept) < len(lines):
                file.seek(0)
                file.truncate()
                file.writelines(kept)


def _of_one_gone(line: str, gone: Callable[[UUID], bool]) -> bool:
    look = _look(line)
    if look is None or look.client == ALL:
        return False
    try:
        return gone(UUID(look.client))
    except ValueError:
        return False
