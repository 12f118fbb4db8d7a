"""A server and a browser as processes of their own, to be killed and begun again."""

import contextlib
import json
import os
import signal
import socket
import sqlite3
import subprocess
import sys
import time
import urllib.request
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any
from uuid import UUID

from playwright.sync_api import BrowserContext, Error, Playwright

from tests.chromium import WHOLE
from tests.phone.hand import FLAGS, PATIENCE_MS, SIZE, Hand
from tests.phone.journal import Journal, Rows

ROOT = Path(__file__).resolve().parents[2]


class Nursery:
    """The process that servers are forked from."""

    def __init__(self) -> None:
        self.process = subprocess.Popen(
            [sys.executable, "-m", "tests.phone.serve"], cwd=ROOT, text=True,
            stdin=subprocess.PIPE, stdout=subprocess.PIPE, env=os.environ | {"DATABASE_URL": ""},
        )  # fmt: skip

    def begin(self, **what: Any) -> int:
        """Fork a server and return its process."""
        assert self.process.stdin
        assert self.process.stdout
        self.process.stdin.write(json.dumps(what) + "\n")
        self.process.stdin.flush()
        return int(self.process.stdout.readline())

    def end(self) -> None:
        """End it."""
        self.process.kill()
        self.process.wait()


def lives(pid: int) -> bool:
    """Tell whether a process is there."""
    try:
        os.kill(pid, 0)
    except ProcessLookupError:
        return False
    return True


@dataclass
class Server:
    """A server on a file."""

    nursery: Nursery
    folder: Path
    port: int = 0
    pid: int = 0

    def __post_init__(self) -> None:
        with socket.socket() as probe:
            probe.bind(("127.0.0.1", 0))
            self.port = int(probe.getsockname()[1])
        self.media.mkdir(exist_ok=True)

    @property
    def address(self) -> str:
        """Return where it answers."""
        return f"http://127.0.0.1:{self.port}"

    @property
    def database(self) -> Path:
        """Return the file of its database."""
        return self.folder / "server.sqlite3"

    @property
    def media(self) -> Path:
        """Return the folder of its photos."""
        return self.folder / "media"

    def start(self) -> None:
        """Start it and wait until it answers."""
        self.pid = self.nursery.begin(
            database=str(self.database), port=self.port, media=str(self.media),
            ask=str(self.folder / "fault"),
        )  # fmt: skip
        for _ in range(600):
            with contextlib.suppress(OSError):
                urllib.request.urlopen(f"{self.address}/field/sw.js", timeout=5).close()
                return
            assert lives(self.pid), "the server ended"
            time.sleep(0.02)
        raise AssertionError("the server never answered")

    def kill(self) -> None:
        """Kill it where it stands."""
        with contextlib.suppress(ProcessLookupError):
            os.kill(self.pid, signal.SIGKILL)
        self.ended()

    def ended(self) -> None:
        """Wait until it has ended."""
        for _ in range(1500):
            if not lives(self.pid):
                return
            time.sleep(0.02)
        raise AssertionError("the server lives on")

    def dies(self, path: str, when: str, nth: int = 1) -> None:
        """Let it die at a request to come."""
        (self.folder / "fault").write_text(json.dumps({"path": path, "when": when, "nth": nth}))

    def died(self) -> None:
        """Wait until it has, and let the next one live."""
        self.ended()
        (self.folder / "fault").unlink()

    def rows(self) -> Rows:
        """Return what it holds."""
        with contextlib.closing(sqlite3.connect(self.database)) as db:
            ops = db.execute(
                "SELECT visit_id, sheet_id, path, value FROM visits_operation"
            ).fetchall()
            values = db.execute(
                "SELECT visit_id, sheet_id, path, value FROM visits_value"
            ).fetchall()
            photos = db.execute("SELECT id FROM visits_photo").fetchall()

        def place(row: tuple[Any, ...]) -> tuple[str, str | None, str]:
            return str(UUID(row[0])), str(UUID(row[1])) if row[1] else None, row[2]

        return Rows(
            [(place(row), json.loads(row[3])) for row in ops],
            {place(row): json.loads(row[3]) for row in values},
            [str(UUID(row[0])) for row in photos],
        )


@dataclass
class Rig:
    """A phone's browser with its store on the disk, and a server."""

    play: Playwright
    server: Server
    profile: Path
    cookie: dict[str, Any]
    parts: tuple[Any, Any, list[str]]
    journal: Journal = field(default_factory=Journal)
    context: BrowserContext | None = None

    def phone(self, path: str = "/field/") -> Hand:
        """Open the phone; it has its day from before."""
        self.context = self.play.chromium.launch_persistent_context(
            str(self.profile),
            executable_path=WHOLE,
            args=FLAGS,
            base_url=self.server.address,
            **SIZE,
        )
        self.context.set_default_timeout(PATIENCE_MS)
        self.context.add_cookies([{**self.cookie, "url": self.server.address}])
        return Hand(self.context.pages[0], *self.parts, self.journal).open(path)

    def first(self) -> Hand:
        """Open the phone for the first time: with its day and its worker."""
        hand = self.phone()
        hand.page.wait_for_function("() => navigator.serviceWorker.controller")
        hand.arrived()
        return hand

    def pids(self) -> list[int]:
        """Return the browser's processes: those that name its profile."""
        found = []
        for entry in Path("/proc").iterdir():
            if entry.name.isdigit():
                with contextlib.suppress(OSError):
                    if str(self.profile) in (entry / "cmdline").read_bytes().decode(
                        errors="replace"
                    ):
                        found.append(int(entry.name))
        return found

    def kill_browser(self) -> None:
        """Kill the browser where it stands."""
        for pid in self.pids():
            with contextlib.suppress(ProcessLookupError):
                os.kill(pid, signal.SIGKILL)
        for _ in range(200):
            if not self.pids():
                break
            time.sleep(0.02)
        self.close()
        for name in self.profile.glob("Singleton*"):
            name.unlink()

    def close(self) -> None:
        """Close the browser."""
        if self.context:
            with contextlib.suppress(Error):
                self.context.close()
            self.context = None

    def all_there(self, hand: Hand) -> None:
        """Wait until all has arrived, and look for it in the server's file."""
        hand.arrived()
        missing = self.journal.missing(self.server.rows())
        assert not missing, "; ".join(missing)
