"""The demo firm, loaded once for the tests of a file."""

import datetime as dt
import time
from types import SimpleNamespace

import pytest
from django.db import transaction

TODAY = dt.date(2026, 6, 11)


@pytest.fixture(scope="module")
def firm(django_db_setup, django_db_blocker):
    """The firm as of a day; the whole load is undone at the end."""
    from demo.loading import load

    with django_db_blocker.unblock():
        block = transaction.atomic()
        block.__enter__()
        began = time.process_time()
        count = load(TODAY)
        seconds = time.process_time() - began
        yield SimpleNamespace(
            today=TODAY, at=dt.datetime.combine(TODAY, dt.time(0), dt.UTC), rows=count,
            seconds=seconds,
        )  # fmt: skip
        transaction.set_rollback(True)
        block.__exit__(None, None, None)
