"""Updating many rows by their key: one prepared statement, run for each row."""

from collections.abc import Iterable, Sequence
from typing import Any

from django.db import connections, models, router


def rows_update(rows: Iterable[models.Model], fields: Sequence[str]) -> None:
    """Write some fields of rows that exist already.

    Django's own bulk_update builds one statement with a case for each row, which costs more time
    to put together than the database takes to carry it out. Call inside a transaction.
    """
    items = list(rows)
    if not items:
        return
    meta = items[0]._meta
    connection = connections[router.db_for_write(type(items[0]))]
    columns: list[Any] = [meta.get_field(name) for name in fields]
    quote = connection.ops.quote_name
    pk: Any = meta.pk
    # names out of the model alone, values as parameters
    statement = (
        f"UPDATE {quote(meta.db_table)} "  # noqa: S608
        f"SET {', '.join(f'{quote(column.column)} = %s' for column in columns)} "
        f"WHERE {quote(pk.column)} = %s"
    )
    values = [
        [
            *(
                column.get_db_prep_save(getattr(row, column.attname), connection)
                for column in columns
            ),
            pk.get_db_prep_save(row.pk, connection),
        ]
        for row in items
    ]
    with connection.cursor() as cursor:
        cursor.executemany(statement, values)
