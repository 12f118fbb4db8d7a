"""Taking away rows that triggers hold still: within one transaction, and there alone.

While the row of `Erasing` stands, the triggers against DELETE let go; those against INSERT and
UPDATE never do. The row can not outlive its transaction (see the model), and other transactions
do not see it.
"""

from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from typing import Any

from django.db import models, transaction

from apps.core.models import Erasing

# within what either database takes in one statement: SQLite 32 766 values, PostgreSQL 65 535
# (sqlite.org/limits.html since 3.32; postgresql.org, "PostgreSQL Limits")
CHUNK = 20_000


@contextmanager
def erasing() -> Iterator[None]:
    """Let rows that hold still be deleted inside; all of it or nothing, one after the other."""
    with transaction.atomic():
        # its one key makes a second one wait until this one is over
        Erasing.objects.create()
        yield
        Erasing.objects.all().delete()


def chunks(keys: Iterable[Any]) -> Iterator[list[Any]]:
    """Return keys in parts that one statement takes."""
    held = list(keys)
    for start in range(0, len(held), CHUNK):
        yield held[start : start + CHUNK]


def rows_erase(model: type[models.Model], keys: Iterable[Any]) -> int:
    """Delete rows by their keys past the models' own rules; return how many.

    What refers to them has to go in the same transaction, or its end refuses all of it.
    """
    gone = 0
    for chunk in chunks(keys):
        rows: Any = model._base_manager.filter(pk__in=chunk)
        gone += rows._raw_delete(rows.db)
    return gone
