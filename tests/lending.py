"""One connection for a test and the server that it runs beside itself.

SQLite calls back into Python for some of Django's functions (a date out of a time) while it holds
the connection's lock and waits for Python's own. Another thread that holds Python's lock and asks
the same connection waits for the first one: both for good, and the whole process stands still
while the page in the browser goes on. So each call of a cursor waits its turn here.
"""

import threading
from typing import Any

from django.db import connections
from django.db.backends.sqlite3.base import SQLiteCursorWrapper

TURN = threading.RLock()


class InTurn(SQLiteCursorWrapper):
    """A cursor that does one thing at a time, whichever thread asks."""

    def execute(self, *args: Any, **kwargs: Any) -> Any:
        """Run a statement."""
        with TURN:
            return super().execute(*args, **kwargs)

    def executemany(self, *args: Any, **kwargs: Any) -> Any:
        """Run a statement for many rows."""
        with TURN:
            return super().executemany(*args, **kwargs)

    def fetchone(self) -> Any:
        """Return one row."""
        with TURN:
            return super().fetchone()

    def fetchmany(self, *args: Any, **kwargs: Any) -> Any:
        """Return some rows."""
        with TURN:
            return super().fetchmany(*args, **kwargs)

    def fetchall(self) -> Any:
        """Return all rows."""
        with TURN:
            return super().fetchall()

    def __next__(self) -> Any:
        """Return the next row."""
        with TURN:
            return super().__next__()


def lent() -> dict[str, Any]:
    """Lend the test's connection to a live server's threads; what the server wants of it.

    Not taken back: threads of connections that are kept alive end after the test.
    """
    connection = connections["default"]
    connection.inc_thread_sharing()
    if connection.vendor == "sqlite":

        def cursor(name: str | None = None) -> Any:
            return connection.connection.cursor(factory=InTurn)

        vars(connection)["create_cursor"] = cursor
    return {"default": connection}
