"""Who looked at which client's data: lines of JSON, a file a day, beside the database.

A look writes no row: reading must not make the database write. A line holds ids and the name of
the page alone: {"at", "who", "page", "method", "client"}; `who` is a member of the staff, the link
that a client was sent, or their calendar. A list is one line however many stand in it: `client` is
"*", `rows` how many it held, and `some` who stood in it where those are few. Whoever writes or
rewrites a file holds its lock, so no line is lost.
"""

import datetime as dt
import fcntl
import json
import logging
import os
import re
from collections.abc import Callable, Collection, Iterable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import asdict, dataclass, replace
from pathlib import Path
from typing import IO
from uuid import UUID

from django.conf import settings

logger = logging.getLogger(__name__)
_NAME = re.compile(r"\d{4}-\d{2}-\d{2}\.jsonl")


ALL = "*"
"""In the place of a client: a list, in which all of them may stand."""
FEW = 200
"""So many who stood in a list are named with it; of a longer one it is said that it was taken."""


@dataclass(frozen=True)
class Look:
    """One look at a client's data. `rows`, `some`: of a list; `some` empty: anybody may stand in it."""

    at: str
    who: str
    page: str
    method: str
    client: str
    rows: int = 0
    some: Sequence[str] = ()

    def is_of(self, client: str) -> bool:
        """Tell whether a client's data was in it."""
        return self.client == client or (
            self.client == ALL and (not self.some or client in self.some)
        )

    def line(self) -> str:
        """Return it as it is written; what a single look has no use for is left out."""
        held = asdict(self)
        if self.client != ALL:
            del held["rows"], held["some"]
        elif not self.some:
            del held["some"]
        return json.dumps(held) + "\n"


def log(
    *, at: dt.datetime, who: str, page: str, method: str, clients: Iterable[UUID | str]
) -> None:
    """Note a look, a line for each client. Where it cannot be written the program's log says so."""
    stamp = _stamp(at)
    _write(stamp, [Look(stamp, who, page, method, pk) for pk in sorted(map(str, clients))])


def log_list(
    *, at: dt.datetime, who: str, page: str, method: str, rows: int, clients: Collection[UUID]
) -> None:
    """Note that a list was taken: one line. `clients`: who stood in it; empty where nobody knows."""
    stamp = _stamp(at)
    some = sorted(map(str, clients)) if len(clients) <= FEW else []
    _write(stamp, [Look(stamp, who, page, method, ALL, rows, some)])


def _stamp(at: dt.datetime) -> str:
    return at.astimezone(dt.UTC).isoformat(timespec="seconds")


def _write(stamp: str, looks: Sequence[Look]) -> None:
    folder = settings.ACCESS_LOG_DIR
    if folder is None:
        return
    try:
        folder.mkdir(mode=0o700, parents=True, exist_ok=True)
        with _held(folder / f"{stamp[:10]}.jsonl", "a") as file:
            file.writelines(look.line() for look in looks)
    except OSError:
        logger.exception("a look could not be noted")


@contextmanager
def _held(path: Path, mode: str) -> Iterator[IO[str]]:
    """Open a file under its lock; it and its folder are nobody else's.

    Whoever waited while it was written anew has hold of the old one, and takes the new one instead.
    """
    while True:
        with open(path, mode, encoding="utf-8", opener=_private) as file:
            fcntl.flock(file, fcntl.LOCK_EX)
            if not _is_still(file, path):
                continue
            yield file
            file.flush()
            return


def _is_still(file: IO[str], path: Path) -> bool:
    """Tell whether an open file is the one that has the name now."""
    try:
        return os.path.samestat(os.fstat(file.fileno()), path.stat())
    except FileNotFoundError:
        return False


def _private(name: str, flags: int) -> int:
    return os.open(name, flags, 0o600)


def looks_at(client: UUID) -> Iterator[Look]:
    """Yield who looked at a client's data, or took a list of all, the newest first.

    A line that is none is left out.
    """
    wanted = str(client)
    # a line of another client need not be read to be passed over: there are many
    marks = tuple(json.dumps(one) for one in (wanted, ALL))
    for path in reversed(_files()):
        for line in reversed(path.read_text(encoding="utf-8").splitlines()):
            look = _look(line) if any(mark in line for mark in marks) else None
            if look is not None and look.is_of(wanted):
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
    """Take clients who are gone out of every file. Each file is either as it was or as it should be."""
    for path in _files():
        with _held(path, "r") as file:
            lines = file.readlines()
            kept = [left for line in lines if (left := _without(line, gone))]
            if kept != lines:
                _put(path, kept)


def _put(path: Path, lines: Iterable[str]) -> None:
    """Write a file anew beside the old one, and let it take its place once it is on the disk."""
    beside = path.with_suffix(".new")
    with open(beside, "w", encoding="utf-8", opener=_private) as file:
        file.writelines(lines)
        file.flush()
        os.fsync(file.fileno())
    beside.replace(path)
    folder = os.open(path.parent, os.O_RDONLY)
    try:
        os.fsync(folder)
    finally:
        os.close(folder)


def _without(line: str, gone: Callable[[UUID], bool]) -> str:
    """Return a line without clients who are gone; empty where it was of one of them alone."""
    look = _look(line)
    if look is None or (look.client == ALL and not look.some):
        return line
    if look.client != ALL:
        return "" if _is_gone(look.client, gone) else line
    left = [pk for pk in look.some if not _is_gone(pk, gone)]
    if len(left) == len(look.some):
        return line
    return replace(look, some=left).line() if left else ""


def _is_gone(client: str, gone: Callable[[UUID], bool]) -> bool:
    try:
        return gone(UUID(client))
    except ValueError:
        return False
