"""A warm child process that renders under limits: a paper cannot take the worker with it.

The parent writes one JSON line a request, the child answers with a length and that many bytes.
"""

import base64
import contextlib
import json
import os
import resource
import subprocess
import sys
import threading
from collections.abc import Mapping
from typing import Any

from apps.core.exceptions import DomainError

MEMORY = 1_500_000_000
SECONDS = 60
REQUESTS = 50
"""The PDF engine's libraries keep about half a megabyte a report: a child is made anew before that adds up."""


class RenderFailed(DomainError):
    """The child did not come back with a PDF."""

    code = "render_failed"


class Child:
    """One child; made anew after a crash, a time-out or 50 reports."""

    def __init__(self) -> None:
        self._process: subprocess.Popen[bytes] | None = None
        self._count = 0
        self._lock = threading.Lock()

    def _start(self) -> subprocess.Popen[bytes]:
        if self._process is not None and self._process.poll() is None and self._count < REQUESTS:
            return self._process
        self.close()
        self._count = 0
        self._process = subprocess.Popen(
            [sys.executable, "-m", "apps.reports.rendering.child"],
            stdin=subprocess.PIPE, stdout=subprocess.PIPE, env=os.environ.copy(),
        )  # fmt: skip
        return self._process

    def close(self) -> None:
        """End the child."""
        if self._process is not None:
            self._process.kill()
            self._process.wait()
            for pipe in (self._process.stdin, self._process.stdout):
                if pipe is not None:
                    with contextlib.suppress(OSError):
                        pipe.close()
            self._process = None

    def render(self, snapshot: Mapping[str, Any], photos: Mapping[str, bytes]) -> bytes:
        """Return the PDF of a report. Raises RenderFailed with the child's own words."""
        return self._get({"snapshot": snapshot, "photos": _packed(photos)})

    def draw(
        self, html: str, style: str, paper: str, photos: Mapping[str, bytes] | None = None
    ) -> bytes:
        """Return the PDF of a finished page; `photos`: by asset name. Raises RenderFailed likewise."""
        packed = _packed(photos or {})
        return self._get({"html": html, "style": style, "paper": paper, "photos": packed})

    def _get(self, request: Mapping[str, Any]) -> bytes:
        with self._lock:
            process = self._start()
            self._count += 1
            timer = threading.Timer(SECONDS, process.kill)
            timer.start()
            try:
                return self._ask(process, request)
            except (OSError, ValueError) as error:
                self.close()
                raise RenderFailed(f"the paper could not be drawn: {error}") from error
            finally:
                timer.cancel()

    def _ask(self, process: subprocess.Popen[bytes], request: Mapping[str, Any]) -> bytes:
        assert process.stdin is not None and process.stdout is not None  # noqa: S101, PT018
        process.stdin.write(json.dumps(request).encode() + b"\n")
        process.stdin.flush()
        head = process.stdout.readline().split()
        if len(head) != 2:
            raise ValueError("it ran out of time or memory")
        body = process.stdout.read(int(head[1]))
        if head[0] != b"ok":
            raise ValueError(body.decode(errors="replace"))
        return body


def _packed(photos: Mapping[str, bytes]) -> dict[str, str]:
    return {name: base64.b64encode(data).decode() for name, data in photos.items()}


CHILD = Child()


def serve() -> None:
    """Answer requests until the parent goes away."""
    resource.setrlimit(resource.RLIMIT_AS, (MEMORY, MEMORY))
    out = os.fdopen(os.dup(1), "wb")
    os.dup2(2, 1)  # a library's chatter must not mix with the answers
    import django

    django.setup()
    from apps.reports.rendering.pdf import warm

    warm()
    for line in sys.stdin.buffer:
        try:
            word, body = b"ok", _answer(json.loads(line))
        except Exception as error:  # noqa: BLE001 - the parent is told, whatever it is
            word, body = b"no", f"{type(error).__name__}: {error}".encode()
        out.write(word + b" " + str(len(body)).encode() + b"\n" + body)
        out.flush()


def _answer(request: Mapping[str, Any]) -> bytes:
    from apps.reports.rendering.pdf import html_to_pdf, render

    photos = {name: base64.b64decode(data) for name, data in request["photos"].items()}
    if "html" in request:
        return html_to_pdf(request["html"], photos, style=request["style"], paper=request["paper"])
    return render(request["snapshot"], photos)


if __name__ == "__main__":
    serve()
