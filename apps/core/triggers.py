"""Triggers for rows that must hold still, in both dialects, for use in migrations."""

from functools import partial

from django.db import migrations
from django.db.backends.base.schema import BaseDatabaseSchemaEditor

ERASING = "core_erasing"
UNLESS = "NOT EXISTS (SELECT 1 FROM core_erasing)"
"""While a transaction erases, rows may be deleted: `core/erasing.py`. They never may be changed."""


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


def unless_erasing(when: str) -> str:
    """Return a trigger's condition under which it lets go while a transaction erases."""
    return f"({when}) AND {UNLESS}" if when else UNLESS


_ROW = "FOR EACH ROW"
_BODY = "BEGIN SELECT RAISE"
_GOES = " IF EXISTS (SELECT 1 FROM core_erasing) THEN RETURN OLD; END IF;"
_SQLITE_DELETES = (
    "SELECT name, sql FROM sqlite_master WHERE type = 'trigger' AND sql LIKE '%BEFORE DELETE%'"
)
_POSTGRES_DELETES = (
    "SELECT DISTINCT p.proname, p.prosrc FROM pg_trigger t JOIN pg_proc p ON p.oid = t.tgfoid "
    "WHERE NOT t.tgisinternal AND pg_get_triggerdef(t.oid) LIKE '%BEFORE DELETE%'"
)


def _sqlite_again(sql: str, *, letting_go: bool) -> str:
    """Return a trigger's statement with or without its letting go."""
    head, rest = sql.split(_ROW, 1)
    when, body = rest.split(_BODY, 1)
    own = when.strip().removeprefix("WHEN").strip().removesuffix(UNLESS).strip()
    own = own.removesuffix("AND").strip()[1:-1] if UNLESS in when and own else own
    told = unless_erasing(own) if letting_go else own
    return f"{head}{_ROW} {f'WHEN {told} ' if told else ''}{_BODY}{body}"


def _postgres_again(body: str, *, letting_go: bool) -> str:
    """Return a trigger's function with or without its letting go."""
    plain = body.replace(_GOES, "")
    return plain.replace("BEGIN", f"BEGIN{_GOES}", 1) if letting_go else plain


def _each(_apps: object, editor: BaseDatabaseSchemaEditor, *, letting_go: bool) -> None:
    sqlite = editor.connection.vendor == "sqlite"
    with editor.connection.cursor() as cursor:
        cursor.execute(_SQLITE_DELETES if sqlite else _POSTGRES_DELETES)
        held = cursor.fetchall()
    for name, text in held:
        if sqlite:
            editor.execute(f"DROP TRIGGER {name}")
            editor.execute(_sqlite_again(text, letting_go=letting_go))
        else:
            body = _postgres_again(text, letting_go=letting_go)
            editor.execute(
                f"CREATE OR REPLACE FUNCTION {name}() RETURNS trigger LANGUAGE plpgsql AS $${body}$$"
            )


def let_go_while_erasing() -> migrations.RunPython:
    """Return an operation after which all triggers against DELETE let go while a transaction erases.

    Those that are made later do so by themselves. The way back takes it off all of them.
    """
    return migrations.RunPython(partial(_each, letting_go=True), partial(_each, letting_go=False))


def _run(table: str, events: list[tuple[str, str, str, str]]) -> migrations.RunPython:
    def forwards(_apps: object, editor: BaseDatabaseSchemaEditor) -> None:
        known = ERASING in editor.connection.introspection.table_names()
        for name, event, own, message in events:
            when = unless_erasing(own) if known and event == "DELETE" else own
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
