"""Triggers for rows that must hold still, in both dialects, for use in migrations."""

from django.db import migrations
from django.db.backends.base.schema import BaseDatabaseSchemaEditor


def _sqlite(name: str, table: str, event: str, when: str, message: str) -> str:
    condition = f"WHEN {when}" if when else ""
    return (
        f"CREATE TRIGGER {name} BEFORE {event} ON {table} FOR EACH ROW {condition} "
        f"BEGIN SELECT RAISE(ABORT, '{message}'); END"
    )


def _postgres(name: str, table: str, event: str, when: str, message: str) -> list[str]:
    body = f"RAISE EXCEPTION '{message}' USING ERRCODE = 'check_violation';"
    if when:
        body = f"IF {when} THEN {body} END IF;"
    row = "OLD" if event == "DELETE" else "NEW"
    return [
        f"CREATE FUNCTION {name}() RETURNS trigger LANGUAGE plpgsql AS "
        f"$$ BEGIN {body} RETURN {row}; END $$",
        f"CREATE TRIGGER {name} BEFORE {event} ON {table} FOR EACH ROW EXECUTE FUNCTION {name}()",
    ]


def _run(table: str, events: list[tuple[str, str, str, str]]) -> migrations.RunPython:
    def forwards(_apps: object, editor: BaseDatabaseSchemaEditor) -> None:
        for name, event, when, message in events:
            if editor.connection.vendor == "sqlite":
                editor.execute(_sqlite(name, table, event, when, message))
            else:
                for statement in _postgres(name, table, event, when, message):
                    editor.execute(statement)

    def backwards(_apps: object, editor: BaseDatabaseSchemaEditor) -> None:
        for name, *_rest in events:
            if editor.connection.vendor == "sqlite":
                editor.execute(f"DROP TRIGGER IF EXISTS {name}")
            else:
                editor.execute(f"DROP TRIGGER IF EXISTS {name} ON {table}")
                editor.execute(f"DROP FUNCTION IF EXISTS {name}()")

    return migrations.RunPython(forwards, backwards)


def append_only(table: str) -> migrations.RunPython:
    """Return an operation after which rows of the table can be inserted, never changed."""
    message = f"{table} is append-only"
    return _run(
        table,
        [
            (f"{table}_no_update", "UPDATE", "", message),
            (f"{table}_no_delete", "DELETE", "", message),
        ],
    )


def still(
    table: str, condition: str, message: str, *, inserts: bool = True, columns: str = ""
) -> migrations.RunPython:
    """Return an operation that holds rows still while a condition on the row is true.

    `condition` is SQL with `{row}` where OLD or NEW goes; `columns` limits it to some columns.
    """
    update = f"UPDATE OF {columns}" if columns else "UPDATE"
    events = [
        (f"{table}_still_update", update, condition.format(row="OLD"), message),
        (f"{table}_still_delete", "DELETE", condition.format(row="OLD"), message),
    ]
    if inserts:
        events.append((f"{table}_still_insert", "INSERT", condition.format(row="NEW"), message))
    return _run(table, events)
