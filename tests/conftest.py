"""Shared by all tests."""

import gc
from collections.abc import Iterator
from typing import Any

import pytest

from tests.ready import Ready

pytest_plugins = ("tests.outside_plugin",)


def pytest_collection_modifyitems(config: pytest.Config, items: list[pytest.Item]) -> None:
    """Run on PostgreSQL only what asks the database: the rest is the same on SQLite."""
    from django.conf import settings

    if settings.DATABASES["default"]["ENGINE"].endswith("sqlite3"):
        return
    asks = {"db", "transactional_db"}
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


def pytest_collection_finish() -> None:
    """Leave what was read so far out of the search for garbage, and search less often.

    The application and all tests are some hundred thousand objects that live to the end; to look
    through them again and again took an eighth of the time of all tests.
    """
    gc.collect()
    gc.freeze()
    gc.set_threshold(100_000, 20, 50)


@pytest.fixture(scope="session")
def django_db_modify_db_settings(django_db_modify_db_settings: None) -> Iterator[Ready]:
    """Fill the database before Django sets it up, where this run has one that is ready."""
    ready = Ready()
    yield ready
    ready.let_go()


@pytest.fixture(scope="session")
def django_db_setup(
    django_db_modify_db_settings: Ready, django_db_setup: None, django_db_blocker: Any
) -> None:
    """Load the catalogue once; each test rolls back to it."""
    from apps.catalogue.services import catalogue_load

    ready = django_db_modify_db_settings
    with django_db_blocker.unblock():
        if not ready.taken:
            catalogue_load()
            ready.leave()
    ready.let_go()


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
