"""Writing many rows of one model: one prepared statement, run for each row.

Django's own bulk_create and bulk_update put one statement together that holds all rows, and ask
every field of every row for its SQL; that costs more time than the database takes to carry it
out. Call these inside a transaction.
"""

from collections.abc import Iterable, Sequence
from typing import Any

from django.db import connections, models, router


def rows_insert(rows: Iterable[models.Model]) -> None:
    """Insert rows of one model whose keys are set already. Raises IntegrityError."""
    items = list(rows)
    if not items:
        return
    meta = items[0]._meta
    using = router.db_for_write(type(items[0]))
    columns = list(meta.concrete_fields)
    quote = connections[using].ops.quote_name
    # names out of the model alone, values as parameters
    statement = (
        f"INSERT INTO {quote(meta.db_table)} "  # noqa: S608
        f"({', '.join(quote(str(column.column)) for column in columns)}) "
        f"VALUES ({', '.join(['%s'] * len(columns))})"
    )
    _carry_out(statement, items, columns, using)
    for row in items:
        row._state.adding, row._state.db = False, using


def rows_update(rows: Iterable[models.Model], fields: Sequence[str]) -> None:
    """Write some fields of rows that exist already."""
    items = list(rows)
    if not items:
        return
    meta = items[0]._meta
    using = router.db_for_write(type(items[0]))
    columns: list[Any] = [meta.get_field(name) for name in fields]
    quote = connections[using].ops.quote_name
    pk: Any = meta.pk
    statement = (
        f"UPDATE {quote(meta.db_table)} "  # noqa: S608
        f"SET {', '.join(f'{quote(column.column)} = %s' for column in columns)} "
        f"WHERE {quote(pk.column)} = %s"
    )
    _carry_out(statement, items, [*columns, pk], using)


def _carry_out(
    statement: str, rows: Sequence[models.Model], columns: Sequence[Any], using: str
) -> None:
    connection = connections[using]
    values = [
        [column.get_db_prep_save(getattr(row, column.attname), connection) for column in columns]
        for row in rows
    ]
    with connection.cursor() as cursor:
        cursor.executemany(statement, values)
