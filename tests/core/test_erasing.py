"""Rows that hold still go inside an erasing transaction, and there alone."""

from contextlib import suppress
from typing import Any

import pytest
from django.db import DatabaseError, IntegrityError, connection, transaction

from apps.accounts.models import AuditEntry
from apps.accounts.services import audit
from apps.core.erasing import erasing, rows_erase
from apps.core.models import Erasing
from apps.core.triggers import _postgres_again, _sqlite_again
from tests import factories

CASES = (
    ("CREATE TRIGGER a BEFORE DELETE ON t FOR EACH ROW  BEGIN SELECT RAISE(ABORT, 'm'); END", ""),
    (
        "CREATE TRIGGER a BEFORE DELETE ON t FOR EACH ROW WHEN OLD.a = (1) AND b BEGIN SELECT "
        "RAISE(ABORT, 'm'); END",
        "OLD.a = (1) AND b",
    ),
)


@pytest.fixture
def entry(db: None) -> AuditEntry:
    return audit(at=factories.NOW, by="office", verb="looked", kind="visit", object_id=1)


def delete(row: AuditEntry) -> int:
    return rows_erase(AuditEntry, [row.pk])


def test_outside_nothing_is_deleted(entry: AuditEntry) -> None:
    with pytest.raises(DatabaseError, match="append-only"), transaction.atomic():
        delete(entry)
    assert AuditEntry.objects.filter(pk=entry.pk).exists()


def test_inside_it_is(entry: AuditEntry) -> None:
    with erasing():
        assert delete(entry) == 1
    assert not AuditEntry.objects.filter(pk=entry.pk).exists()


def test_inside_nothing_is_changed_even_so(entry: AuditEntry) -> None:
    with pytest.raises(DatabaseError, match="append-only"), erasing():
        AuditEntry.objects.filter(pk=entry.pk).update(verb="slept")
    assert AuditEntry.objects.get(pk=entry.pk).verb == "looked"


def test_afterwards_it_holds_again(entry: AuditEntry) -> None:
    with erasing():
        pass
    assert not Erasing.objects.exists()
    test_outside_nothing_is_deleted(entry)


def test_what_fails_leaves_all_of_it(entry: AuditEntry) -> None:
    with suppress(ZeroDivisionError), erasing():
        delete(entry)
        raise ZeroDivisionError
    assert AuditEntry.objects.filter(pk=entry.pk).exists()
    assert not Erasing.objects.exists()


KEPT_OPEN: list[dict[str, Any]] = [{}, {"id": 2, "never_id": 2}, {"id": 1, "never_id": 1}]


def no_commit_keeps(row: dict[str, Any]) -> None:
    with pytest.raises(IntegrityError), transaction.atomic():
        Erasing.objects.create(**row)
    assert not Erasing.objects.exists()
    with pytest.raises(IntegrityError):
        Erasing.objects.create(**row)
    assert not Erasing.objects.exists()


@pytest.mark.parametrize("row", KEPT_OPEN)
def test_it_can_not_be_left_open(
    django_db_setup: None, django_db_blocker: Any, row: dict[str, Any]
) -> None:
    """Past the transaction that other tests run in; what is refused leaves nothing to take away."""
    with django_db_blocker.unblock():
        no_commit_keeps(row)


@pytest.mark.parametrize("row", KEPT_OPEN)
def test_nor_on_the_server(committed_db: None, row: dict[str, Any]) -> None:
    no_commit_keeps(row)


def test_every_trigger_against_deleting_lets_go(db: None) -> None:
    """Those of later migrations as well: whoever writes one by hand hears of it here."""
    with connection.cursor() as cursor:
        if connection.vendor == "sqlite":
            cursor.execute("SELECT sql FROM sqlite_master WHERE sql LIKE '%BEFORE DELETE%'")
        else:
            cursor.execute(
                "SELECT p.prosrc FROM pg_trigger t JOIN pg_proc p ON p.oid = t.tgfoid WHERE "
                "NOT t.tgisinternal AND pg_get_triggerdef(t.oid) LIKE '%BEFORE DELETE%'"
            )
        texts = [row[0] for row in cursor.fetchall()]
    assert len(texts) > 20
    assert [text for text in texts if "core_erasing" not in text] == []


@pytest.mark.parametrize(("sql", "when"), CASES)
def test_a_trigger_is_remade_there_and_back(sql: str, when: str) -> None:
    once = _sqlite_again(sql, letting_go=True)
    assert (f"WHEN ({when}) AND NOT EXISTS" in once) is bool(when)
    assert once.count("core_erasing") == 1
    assert _sqlite_again(once, letting_go=True) == once
    back = _sqlite_again(once, letting_go=False)
    assert " ".join(back.split()) == " ".join(sql.split())


def test_a_function_is_remade_there_and_back() -> None:
    body = " BEGIN IF OLD.a THEN RAISE EXCEPTION 'm'; END IF; RETURN OLD; END "
    once = _postgres_again(body, letting_go=True)
    assert once.index("core_erasing") < once.index("RAISE")
    assert _postgres_again(once, letting_go=True) == once
    assert _postgres_again(once, letting_go=False) == body
