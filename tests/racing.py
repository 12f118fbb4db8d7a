"""What commits for real, in threads that start together: on PostgreSQL alone."""

import threading
from collections.abc import Callable, Iterator
from typing import Any

import pytest
from django.apps import apps
from django.db import connection

from apps.core.exceptions import DomainError

Act = Callable[[], Any]


@pytest.fixture
def committed_db(django_db_setup: None, django_db_blocker: Any) -> Iterator[None]:
    """Rows that other connections see; all but the catalogue is taken away again."""
    if connection.vendor != "postgresql":
        pytest.skip("a SQLite in memory has one connection: whoever comes second waits by itself")
    with django_db_blocker.unblock():
        try:
            yield
        finally:
            _take_away()
            connection.close()


def _take_away() -> None:
    tables = [
        f'"{table}"'
        for table in connection.introspection.table_names()
        if not table.startswith(("catalogue_", "django_", "auth_"))
    ]
    known = {model._meta.db_table for model in apps.get_models(include_auto_created=True)}
    wanted = [table for table in tables if table.strip('"') in known]
    with connection.cursor() as cursor:
        cursor.execute(f"TRUNCATE {', '.join(wanted)}")


def at_once(*acts: Act) -> list[Any]:
    """Run acts in threads that start together; return what each gave back or raised."""
    start, found = threading.Barrier(len(acts)), {}

    def run(number: int, act: Act) -> None:
        start.wait()
        try:
            found[number] = act()
        except DomainError as error:
            found[number] = error.code
        finally:
            connection.close()

    threads = [threading.Thread(target=run, args=pair) for pair in enumerate(acts)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    return [found[number] for number in range(len(acts))]
