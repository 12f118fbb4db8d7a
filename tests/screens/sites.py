"""What is walked: the demo firm, and an installation on its first day."""

import json
import os
import shutil
import socket
import subprocess
import sys
import time
import urllib.request
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from demo.run import STAMP, ahead, static_mark

ROOT = Path(__file__).resolve().parent.parent.parent
# the same hour of the same day in every walk: what is given today and who comes tomorrow stay so
START = "2026-06-11T09:00"
PASSWORD = "weir-kiln-lantern-1"


@dataclass
class Site:
    """A served installation."""

    address: str
    facts: dict[str, Any]
    server: "subprocess.Popen[bytes]"

    def stop(self) -> None:
        """End the server."""
        self.server.terminate()
        self.server.wait()


def environment(folder: Path, port: int, now: str) -> dict[str, str]:
    """Return what the processes of an installation are told."""
    return {
        "DJANGO_SETTINGS_MODULE": "backyard.settings.dev", "BACKYARD_DIR": str(folder),
        "BACKYARD_CLOCK_AHEAD": str(ahead(now)), "DATABASE_URL": "", "REDIS_URL": "",
        "BACKYARD_BASE_URL": f"http://127.0.0.1:{port}",
    }  # fmt: skip


def free_port() -> int:
    """Return a port of the loopback that nobody holds."""
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return int(probe.getsockname()[1])


def serve(folder: Path, port: int, facts: dict[str, Any], now: str) -> Site:
    """Serve the installation of a folder; its clock begins at `now`."""
    gunicorn = Path(sys.executable).parent / "gunicorn"
    server = subprocess.Popen(
        [str(gunicorn), "backyard.wsgi", "--bind", f"127.0.0.1:{port}", "--threads", "4"],
        cwd=ROOT, env=os.environ | environment(folder, port, now), stdout=subprocess.DEVNULL,
        stderr=subprocess.DEVNULL,
    )  # fmt: skip
    address = f"http://127.0.0.1:{port}"
    for _ in range(120):
        try:
            with urllib.request.urlopen(f"{address}/livez", timeout=1):
                return Site(address, facts, server)
        except OSError:
            time.sleep(0.25)
    server.kill()
    raise SystemExit("bin/screens: the server did not come up")


def demo_site(folder: Path, port: int) -> Site:
    """Serve the demo firm; load it first where the folder has none."""
    if not (folder / "demo.json").exists():
        words = ["--once", "--dir", str(folder), "--port", str(port), "--on", START]
        subprocess.run([sys.executable, "-m", "demo.run", *words], cwd=ROOT, check=True)
    facts = json.loads((folder / "demo.json").read_text())
    return serve(folder, port, facts, facts["ready_at"])


def new_site(folder: Path, demo: Path) -> Site:
    """Serve a firm that was set up a minute ago: no client, no system, nobody but the office.

    Its static files are those of the folder of the demo firm, where they are still the same.
    """
    port = free_port()
    folder.mkdir(parents=True, exist_ok=True)
    if not (folder / "facts.json").exists():
        _manage(folder, port, "migrate", "--verbosity", "0")
        _manage(
            folder, port, "firm_setup", "--name", "Alder & Hazel", "--email",
            "office@alderandhazel.example", "--user", "office", "--password-stdin",
            words=PASSWORD + "\n",
        )  # fmt: skip
        user = {"role": "office", "username": "office", "password": PASSWORD}
        (folder / "facts.json").write_text(json.dumps({"users": [user]}))
    stamp = demo / STAMP
    if stamp.exists() and stamp.read_text(encoding="utf-8") == static_mark():
        # to compress them again takes seconds
        shutil.copytree(demo / "static", folder / "static", dirs_exist_ok=True)
    else:
        _manage(folder, port, "collectstatic", "--no-input", "--verbosity", "0")
    return serve(folder, port, json.loads((folder / "facts.json").read_text()), START)


def _manage(folder: Path, port: int, *command: str, words: str = "") -> None:
    subprocess.run(
        [sys.executable, "manage.py", *command], cwd=ROOT, check=True, input=words, text=True,
        env=os.environ | environment(folder, port, START), stdout=subprocess.DEVNULL,
    )  # fmt: skip
