"""Servers of their own for tests that kill them: a file for a database, faults that a file asks for.

usage: python -m tests.phone.serve, then lines of JSON {database, port, media, ask} on its input
`ask` is a file that may hold {"path": …, "when": "before" | "after", "nth": 1}: the process then
ends by itself before or after the n-th such request was worked on, and never answers it.
"""

import datetime as dt
import json
import os
import signal
import sys
import time
from collections.abc import Callable, Iterable
from pathlib import Path
from socketserver import ThreadingMixIn
from typing import Any
from wsgiref.simple_server import WSGIRequestHandler, WSGIServer, make_server

os.environ["DJANGO_SETTINGS_MODULE"] = "backyard.settings.test"


class Threaded(ThreadingMixIn, WSGIServer):
    """A thread a request."""

    daemon_threads = True


class Quiet(WSGIRequestHandler):
    """Writes no line for a request."""

    def log_message(self, *_words: Any) -> None:
        """Say nothing."""


def faulty(app: Callable[..., Iterable[bytes]], ask: Path) -> Callable[..., Iterable[bytes]]:
    """Return an application that dies where it is asked to."""
    seen = 0

    def answer(environ: dict[str, Any], start_response: Any) -> Iterable[bytes]:
        nonlocal seen
        fault = json.loads(ask.read_text()) if ask.exists() else None
        hit = fault and fault["path"] in environ["PATH_INFO"] and environ["REQUEST_METHOD"] != "GET"
        seen += bool(hit)
        dies = hit and seen >= fault.get("nth", 1)
        if dies and fault["when"] == "before":
            os._exit(9)
        said = app(environ, start_response)
        if dies:
            os._exit(9)
        return said

    return answer


def serve(database: str, port: int, media: str, ask: str) -> None:
    """Serve until killed."""
    from django.conf import settings
    from django.contrib.staticfiles.handlers import StaticFilesHandler
    from django.core.handlers.wsgi import WSGIHandler
    from django.db import connections

    from apps.core import clock
    from tests import factories

    connections["default"].settings_dict["NAME"] = database
    connections["default"].settings_dict["OPTIONS"]["timeout"] = 20
    settings.MEDIA_ROOT = media
    settings.STORAGES["default"] = {
        "BACKEND": "django.core.files.storage.FileSystemStorage", "OPTIONS": {"location": media},
    }  # fmt: skip
    begun = time.time()
    clock.now = lambda: factories.NOW + dt.timedelta(seconds=time.time() - begun)
    app = faulty(StaticFilesHandler(WSGIHandler()), Path(ask))
    with make_server("127.0.0.1", port, app, Threaded, Quiet) as server:
        server.serve_forever(poll_interval=0.05)


def main() -> None:
    """Load everything once; for each line of JSON fork a server and print its process."""
    import django

    django.setup()
    import django.urls

    django.urls.get_resolver().url_patterns  # noqa: B018 - loads the views
    signal.signal(signal.SIGCHLD, signal.SIG_IGN)
    for line in sys.stdin:
        pid = os.fork()
        if not pid:
            sys.stdin.close()
            serve(**json.loads(line))
        sys.stdout.write(f"{pid}\n")
        sys.stdout.flush()


if __name__ == "__main__":
    main()
