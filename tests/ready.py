"""A database that is made ready once in a run of bin/test and taken over by its other processes.

Each process of pytest begins with an empty database of its own in memory; to migrate it and to load
the catalogue takes longer than many of the tests. bin/test names a folder in TEST_READY that lives
as long as its run. Whoever comes first does all of it for real and leaves a copy there; the others
begin with that copy, and Django's own `migrate` still goes over it. So nothing can be old: the copy
is made of what this very run tests. Without TEST_READY, and on PostgreSQL, nothing is taken over.
"""

import fcntl
import os
import sqlite3
from pathlib import Path
from typing import IO, Any

from django.db import connections


class Ready:
    """What this process takes over, or leaves to those that come later."""

    def __init__(self) -> None:
        folder, connection = os.environ.get("TEST_READY", ""), connections["default"]
        self.taken = False
        self.turn: IO[str] | None = None
        self.held: sqlite3.Connection | None = None
        if not folder or connection.vendor != "sqlite":
            return
        self.copy = Path(folder) / "ready.sqlite3"
        # whoever finds no copy makes one; those who come meanwhile wait here
        self.turn = (Path(folder) / "turn").open("w")
        fcntl.flock(self.turn, fcntl.LOCK_EX)
        if self.copy.exists():
            # a database in memory lives as long as somebody holds it
            creation: Any = connection.creation
            self.held = sqlite3.connect(creation._get_test_db_name(), uri=True)
            _pour(self.copy, self.held)
            self.taken = True
            self._end_turn()

    def leave(self) -> None:
        """Leave a copy where there is none; called when all is loaded."""
        if self.turn is None:
            return
        connection = connections["default"]
        connection.ensure_connection()
        half = self.copy.with_suffix(".half")
        kept = sqlite3.connect(half)
        connection.connection.backup(kept)
        kept.close()
        half.rename(self.copy)
        self._end_turn()

    def let_go(self) -> None:
        """Stop holding what Django holds now; another may take its turn."""
        if self.held is not None:
            self.held.close()
            self.held = None
        self._end_turn()

    def _end_turn(self) -> None:
        if self.turn is not None:
            self.turn.close()
            self.turn = None


def _pour(source: Path, target: sqlite3.Connection) -> None:
    """Copy all of a database into another one."""
    opened = sqlite3.connect(f"{source.as_uri()}?mode=ro", uri=True)
    opened.backup(target)
    opened.close()
