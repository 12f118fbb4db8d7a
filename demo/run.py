"""bin/demo: sets up the database, starts the sink, web, worker and clock, does the main job."""

import argparse
import contextlib
import datetime as dt
import hashlib
import logging
import os
import signal
import socket
import subprocess
import sys
import time
from collections.abc import Sequence
from pathlib import Path
from typing import Any

from demo import tls

# how far above --port phones are served, and the file that they trust one further
TLS = 443
# says which static files a folder holds
STAMP = "static.stamp"
ROOT = Path(__file__).resolve().parent.parent
PYTHON = sys.executable


def say(text: str) -> None:
    """Tell the person at the terminal."""
    print(text, flush=True)


def fail(text: str) -> None:
    """Say what is wrong and what to do, and stop."""
    sys.exit(f"bin/demo: {text}")


def arguments() -> argparse.Namespace:
    """Return the options."""
    parser = argparse.ArgumentParser(prog="bin/demo", description=__doc__)
    parser.add_argument("--once", action="store_true", help="do the main job and stop")
    parser.add_argument("--port", type=int, default=8000, help="port of the web server")
    parser.add_argument("--dir", default="var", help="where database, media and mail live")
    parser.add_argument(
        "--on", default="", help="what counts as today, YYYY-MM-DD, or as now, YYYY-MM-DDTHH:MM"
    )
    parser.add_argument(
        "--tls", action="store_true",
        help="also serve HTTPS to phones on the same network, 443 above --port",
    )  # fmt: skip
    options = parser.parse_args()
    if options.on:
        try:
            ahead(options.on)
        except ValueError:
            parser.error(f"--on {options.on!r}: write a date such as 2026-06-11")
    most = 65535 - (TLS + 1 if options.tls else 0)
    if not 1 <= options.port <= most:
        parser.error(f"--port {options.port}: a number from 1 to {most} is needed")
    return options


def port_free(port: int) -> bool:
    """Return True where nobody listens."""
    with socket.socket() as probe:
        probe.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        try:
            probe.bind(("127.0.0.1", port))
        except OSError:
            return False
    return True


class Children:
    """The processes of the demo; ended in reverse order."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self.running: list[tuple[str, subprocess.Popen[bytes]]] = []

    def start(self, name: str, *words: str) -> None:
        """Start one with its output in <dir>/log/<name>.log."""
        (self.folder / "log").mkdir(exist_ok=True)
        with (self.folder / "log" / f"{name}.log").open("ab") as log:
            process = subprocess.Popen(
                words, cwd=ROOT, stdout=log, stderr=log, start_new_session=True
            )
        self.running.append((name, process))

    def check(self) -> None:
        """Stop everything where one has ended by itself."""
        for name, process in self.running:
            if process.poll() is not None:
                fail(f"the {name} has stopped; its words are in {self.folder}/log/{name}.log")

    def stop(self) -> None:
        """End all, politely first."""
        for _name, process in reversed(self.running):
            with contextlib.suppress(ProcessLookupError):
                os.killpg(process.pid, signal.SIGTERM)
        for _name, process in self.running:
            try:
                process.wait(timeout=8)
            except subprocess.TimeoutExpired:
                with contextlib.suppress(ProcessLookupError):
                    os.killpg(process.pid, signal.SIGKILL)
        self.running.clear()


def ahead(on: str, real: dt.datetime | None = None) -> int:
    """Return by how many seconds a clock that shows `on` is ahead of the real one, which shows `real`.

    A date alone keeps the time of day, in UTC as the demo firm's zone. Raises ValueError.
    """
    real = real or dt.datetime.now(tz=dt.UTC)
    if len(on) == len("2026-06-11"):
        return (dt.date.fromisoformat(on) - real.date()).days * 86400
    then = dt.datetime.fromisoformat(on)
    return round((then.replace(tzinfo=then.tzinfo or dt.UTC) - real).total_seconds())


def environment(
    folder: Path, port: int, on: str, mail_port: int, hosts: Sequence[str] = ()
) -> None:
    """Set what every process of the demo is told; `hosts`: where phones may call."""
    os.environ.update(
        DJANGO_SETTINGS_MODULE="backyard.settings.dev",
        BACKYARD_DIR=str(folder),
        BACKYARD_BASE_URL=f"http://127.0.0.1:{port}",
        BACKYARD_HOSTS=",".join(dict.fromkeys(["localhost", "127.0.0.1", *hosts])),
        BACKYARD_CLOCK_AHEAD=str(ahead(on) if on else 0),
        SMTP_HOST="127.0.0.1",
        SMTP_PORT=str(mail_port),
    )
    for name in ("DATABASE_URL", "REDIS_URL"):
        os.environ.pop(name, None)


def static_mark() -> str:
    """Return what changes when one of the static files does."""
    files = sorted(path for path in ROOT.glob("apps/*/static/**/*") if path.is_file())
    return hashlib.sha256(
        "".join(
            f"{path} {path.stat().st_size} {path.stat().st_mtime_ns}\n" for path in files
        ).encode()
    ).hexdigest()


def static_files(folder: Path) -> None:
    """Gather the static files anew where one of them has changed."""
    from django.core.management import call_command

    mark = static_mark()
    stamp = folder / STAMP
    if stamp.exists() and stamp.read_text(encoding="utf-8") == mark:
        return
    call_command("collectstatic", interactive=False, verbosity=0)
    stamp.write_text(mark, encoding="utf-8")


def prepare(folder: Path) -> dict[str, Any]:
    """Bring the database up, load what is missing, return the logins."""
    import django

    django.setup()
    from django.core.management import call_command

    from demo.loading import load_if_empty

    logging.getLogger("mail.log").setLevel(logging.WARNING)
    call_command("migrate", verbosity=0)
    static_files(folder)
    logins: dict[str, Any] = load_if_empty(folder, say)
    return logins


def start_all(children: Children, port: int, folder: Path) -> None:
    """Start web, worker and clock."""
    binaries = Path(PYTHON).parent
    children.start(
        "web", str(binaries / "gunicorn"), "backyard.wsgi", "--bind", f"127.0.0.1:{port}",
        "--worker-class", "gthread", "--threads", "6", "--access-logfile", "-",
        "--graceful-timeout", "5",
    )  # fmt: skip
    children.start(
        "worker", str(binaries / "celery"), "-A", "backyard", "worker", "-P", "threads", "-c", "2",
        "-Q", "default,pdf", "--loglevel", "INFO", "--without-gossip", "--without-mingle",
    )  # fmt: skip
    children.start(
        "clock", str(binaries / "celery"), "-A", "backyard", "beat", "--loglevel", "WARNING",
        "--schedule", str(folder / "beat"),
    )  # fmt: skip


def start_tls(children: Children, port: int, folder: Path, hosts: list[str]) -> list[str]:
    """Serve phones on the same network; return what a person has to be told."""
    trust, chain, key = tls.certificate(folder, hosts)
    children.start(
        "web for phones", str(Path(PYTHON).parent / "gunicorn"), "backyard.wsgi", "--bind",
        f"0.0.0.0:{port + TLS}", "--certfile", str(chain), "--keyfile", str(key),
        "--worker-class", "gthread", "--threads", "6", "--graceful-timeout", "5",
    )  # fmt: skip
    tls.hand_out(trust, port + TLS + 1)
    found = []
    for host in hosts:
        found += [
            f"  phones       https://{host}:{port + TLS}/field/",
            f"  first trust  http://{host}:{port + TLS + 1}/{trust.name}",
        ]
    return [
        *found,
        "  On the phone, open the second address. iPhone: allow the profile, install it under",
        "  Settings, General, VPN and device management, then switch it on under General, About,",
        "  Certificate trust settings. Android: Settings, search for 'CA certificate', install the",
        "  file. Then open the first address, sign in and put the page on the home screen. Take the",
        "  certificate off the phone again after trying.",
    ]


def main() -> None:
    """Do it."""
    options = arguments()
    began = time.monotonic()
    folder = Path(options.dir).resolve()
    folder.mkdir(parents=True, exist_ok=True)
    ports = [options.port + extra for extra in ((0, TLS, TLS + 1) if options.tls else (0,))]
    for port in ports:
        if not port_free(port):
            fail(f"port {port} is taken; choose another with --port")
    hosts = tls.addresses() if options.tls else []
    from demo import sink

    controller, mail_port = sink.start(folder / "mail")
    environment(folder, options.port, options.on, mail_port, hosts)
    signal.signal(signal.SIGTERM, lambda *_: sys.exit(0))
    children = Children(folder)
    try:
        logins = prepare(folder)
        start_all(children, options.port, folder)
        told = start_tls(children, options.port, folder, hosts) if options.tls else []
        from demo.main_job import main_job

        facts = main_job(folder, options.port, logins, children.check, say)
        say(f"\nReady after {time.monotonic() - began:.0f} s.")
        report(facts)
        for line in told:
            say(line)
        if not options.once:
            serve(children)
    except tls.NoCertificate as error:
        fail(str(error))
    except KeyboardInterrupt:
        say("\nStopping.")
    finally:
        children.stop()
        controller.stop()


def report(facts: dict[str, Any]) -> None:
    """Print where things are."""
    say(f"  address      {facts['address']}")
    for user in facts["users"]:
        say(f"  {user['role']:12} {user['username']} / {user['password']}")
    say(f"  client link  {facts['client_link']}")
    say(f"  report       {facts['pdf']}")
    say(f"  letter       {facts['mail']}")


def serve(children: Children) -> None:
    """Wait until Ctrl-C."""
    say("\nServing; Ctrl-C stops.")
    while True:
        time.sleep(1)
        children.check()


if __name__ == "__main__":
    main()
