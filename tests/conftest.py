"""Shared by all tests."""

from typing import Any

import pytest

pytest_plugins = ("tests.outside_plugin",)


def pytest_collection_modifyitems(config: pytest.Config, items: list[pytest.Item]) -> None:
    """Run on PostgreSQL only what asks the database: the rest is the same on SQLite."""
    from django.conf import settings

    if settings.DATABASES["default"]["ENGINE"].endswith("sqlite3"):
        return
    asks = {"db", "transactional_db", "committed_db"}
    left = [
        item
        for item in items
        if not asks.intersection(getattr(item, "fixturenames", ()))
        and not item.get_closest_marker("django_db")
    ]
    if left:
        config.hook.pytest_deselected(items=left)
        gone = set(left)
        items[:] = [item for item in items if item not in gone]


@pytest.fixture(scope="session")
def django_db_setup(django_db_setup: None, django_db_blocker: Any) -> None:
    """Load the catalogue once; each test rolls back to it."""
    from apps.catalogue.services import catalogue_load

    with django_db_blocker.unblock():
        catalogue_load()


@pytest.fixture
def same_queries() -> Any:
    """Measure a call, grow the data, measure again: the number of queries stays."""
    from django.db import connection
    from django.test.utils import CaptureQueriesContext

    def check(call: Any, grow: Any) -> int:
        call()
        with CaptureQueriesContext(connection) as before:
            call()
        grow()
        with CaptureQueriesContext(connection) as after:
            call()
        more = len(after) - len(before)
        assert more <= 0, f"{more} more queries: {[q['sql'][:160] for q in after][-more:]}"
        return len(after)

    return check
