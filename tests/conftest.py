"""Shared by all tests."""

import gc
from collections.abc import Iterator
from typing import Any

import pytest

from tests.ready import Ready

pytest_plugins = ("tests.markup_plugin", "tests.outside_plugin", "tests.racing")


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
def same_queries_each() -> Any:
    """Measure some calls, grow the data, measure again: the number of queries of each stays."""
    from django.db import connection
    from django.test.utils import CaptureQueriesContext

    def asked(call: Any) -> list[str]:
        with CaptureQueriesContext(connection) as queries:
            call()
        return [query["sql"][:160] for query in queries]

    def check(calls: dict[str, Any], grow: Any) -> dict[str, int]:
        for call in calls.values():
            call()
        before = {name: asked(call) for name, call in calls.items()}
        grow()
        after = {name: asked(call) for name, call in calls.items()}
        for name, queries in after.items():
            more = len(queries) - len(before[name])
            assert more <= 0, f"{more} more queries of {name}: {queries[-more:]}"
        return {name: len(queries) for name, queries in after.items()}

    return check


@pytest.fixture
def same_queries(same_queries_each: Any) -> Any:
    """Measure a call, grow the data, measure again: the number of queries stays."""

    def check(call: Any, grow: Any) -> int:
        return int(same_queries_each({"it": call}, grow)["it"])

    return check
