"""A real browser on the pages, inside the test's own transaction."""

import os
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

import pytest
from django.contrib.staticfiles.handlers import StaticFilesHandler
from django.db import connections
from django.test.testcases import LiveServerThread


@dataclass(frozen=True)
class Served:
    """Where the pages are served."""

    url: str


@pytest.fixture
def served(db: None, monkeypatch: pytest.MonkeyPatch) -> Iterator[Served]:
    """Serve the pages from a thread that shares the test's connection, so that it rolls back.

    Emptying the tables after a test is not possible: what is append-only stays.
    """
    # the browser's own loop runs in this thread
    monkeypatch.setenv("DJANGO_ALLOW_ASYNC_UNSAFE", "true")
    own: dict[str, Any] = {"default": connections["default"]}
    own["default"].inc_thread_sharing()
    thread = LiveServerThread("127.0.0.1", StaticFilesHandler, connections_override=own)
    thread.daemon = True
    thread.start()
    thread.is_ready.wait()
    if thread.error:
        raise thread.error
    yield Served(f"http://127.0.0.1:{thread.port}")
    thread.terminate()
    own["default"].dec_thread_sharing()


CHROMIUM = os.environ.get("CHROMIUM", "/usr/bin/chromium")
