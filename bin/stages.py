"""bin/test: every check as a stage, one line each with its time; a stage over its budget warns."""

import argparse
import contextlib
import os
import re
import shutil
import signal
import socket
import subprocess
import sys
import tempfile
import threading
import time
from collections.abc import Callable, Iterator
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, field
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
BIN = ROOT / ".venv" / "bin"
LOGS = ROOT / "var" / "test-logs"
DONE = ROOT / "var" / "test-long-done"
PYTEST = [str(BIN / "python"), "-m", "pytest", "-q", "--no-header"]
# what the phone's page has in every run; all of it follows in the long one
PHONE = ("test_science.py", "test_reading_alike.py", "test_kills.py")
# asks no database
SCIENCE = ("tests/calc", "tests/rounds/planning")
# the demo is always loaded into SQLite
WORDS = ("tests/language",)
SQLITE_ONLY = ("tests/demo", *WORDS)
PAGES = ("tests/office", "tests/field")
PLAIN = "not (browser or kill or matrix or schema or pdf or long)"
LONG_LIMIT_MIN = 40
RUNNING: set["subprocess.Popen[bytes]"] = set()
STOPPED = threading.Event()
PHONE_TYPES = """
if ! command -v tsc >/dev/null; then
  echo "the types of the phone's scripts were not checked: tsc is missing; apt-get install -y node-typescript"
  exit 1
fi
exec tsc -p apps/field/phone/typing
"""


@dataclass
class Stage:
    """One check: its commands, its budget in seconds, what it needs, whether it drives a browser.

    Three run side by side, the longest first; of those that drive a browser one at a time, since
    a page that waits for the machine is no fault of the page.
    """

    name: str
    budget: int
    commands: list[list[str]]
    needs: str = ""
    env: dict[str, str] = field(default_factory=dict)
    browser: bool = False


def pytest(*words: str) -> list[str]:
    """Return a pytest command."""
    return [*PYTEST, *words]


def holding(marker: str) -> list[str]:
    """Return the files whose tests bear a marker: to read all the others takes seconds."""
    return [
        str(path.relative_to(ROOT))
        for path in sorted((ROOT / "tests").rglob("test_*.py"))
        if re.search(rf"\bmark\.{marker}\b", path.read_text(encoding="utf-8"))
    ]


def browsing() -> list[str]:
    """Return the files that drive a browser, of the phone's page those that are in every run."""
    return [
        path
        for path in holding("browser")
        if not path.startswith("tests/phone/") or path.endswith(PHONE)
    ]


def without(*folders: str) -> list[str]:
    """Return the words that leave folders out."""
    return [f"--ignore={folder}" for folder in folders]


STAGES = [
    Stage(
        "lint",
        40,
        [
            [str(BIN / "ruff"), "check", "-q", "."],
            [str(BIN / "ruff"), "format", "--check", "-q", "."],
            [str(BIN / "djlint"), "templates", "--lint", "--quiet"],
            ["sh", "-c", PHONE_TYPES],
        ],
    ),
    Stage("types", 60, [[str(BIN / "mypy")]]),
    Stage("contracts", 10, [[str(BIN / "lint-imports"), "--no-cache"]]),
    Stage(
        "science",
        90,
        [pytest("apps/calc", *SCIENCE, "-m", "not long")],
    ),
    Stage(
        "sqlite",
        120,
        [pytest("tests", *without(*SCIENCE, *PAGES, *WORDS), "-m", PLAIN)],
        env={"DATABASE_URL": ""},
    ),
    Stage("pages", 120, [pytest(*PAGES, *WORDS, "-m", PLAIN)], env={"DATABASE_URL": ""}),
    Stage(
        "postgresql",
        120,
        # the pages' own tests follow in the long run; what phones send is drawn here too, since
        # this database refuses what SQLite keeps
        [
            pytest("tests", *without(*SCIENCE, *SQLITE_ONLY, *PAGES), "-m", PLAIN),
            pytest("tests/trust/test_schema.py", "-m", "schema and not long", "-k", "phone"),
        ],
        needs="postgresql",
    ),
    Stage("matrix", 90, [pytest(*holding("matrix"), "-m", "matrix and not long")]),
    Stage("schema", 60, [pytest(*holding("schema"), "-m", "schema and not long")]),
    Stage("pdf", 80, [pytest(*holding("pdf"), "-m", "pdf and not long")]),
    Stage(
        "browser",
        150,
        [
            pytest(*browsing(), "-m", "browser and not long"),
        ],
        browser=True,
    ),
    Stage(
        "kills",
        90,
        [pytest(*holding("kill"), "-m", "kill and not long")],
        needs="services",
    ),
    Stage(
        "demo and screens",
        240,
        [
            [
                str(ROOT / "bin" / "demo"),
                "--once",
                "--dir",
                "{tmp}/demo",
                "--port",
                "{port}",
                "--on",
                "2026-06-11T09:00",
            ],
            [
                str(BIN / "python"),
                "-m",
                "tests.screens.walk",
                "--quick",
                "--dir",
                "{tmp}/demo",
                "--out",
                "var/pictures",
                "--port",
                "{port}",
            ],
        ],
        browser=True,
    ),
]
LONG = [
    Stage(
        "long: kills",
        900,
        [pytest(*holding("kill"), "-m", "kill and long")],
        needs="services",
    ),
    Stage(
        "long: postgresql",
        300,
        [pytest(*PAGES, "-m", PLAIN)],
        needs="postgresql",
    ),
    Stage("long: holes", 300, [pytest(*holding("matrix"), "-m", "matrix and long")]),
    Stage("long: schema", 300, [pytest(*holding("schema"), "-m", "schema and long")]),
    Stage(
        "long: properties",
        300,
        [
            pytest("tests/calc/test_properties.py", "tests/calc/advice/test_any_situation.py"),
            pytest("tests", "-m", "long and not (kill or matrix or schema or browser)"),
        ],
        env={"TEST_CASES_TIMES": "25"},
    ),
    Stage("long: benchmarks", 600, [[str(BIN / "python"), "-m", "benchmarks"]]),
    Stage(
        "long: benchmarks on postgresql",
        600,
        [[str(BIN / "python"), "-m", "benchmarks", "due", "submission"]],
        needs="postgresql",
    ),
    Stage("long: phone", 600, [pytest("tests/phone", "-m", "browser")]),
]


def free_port() -> int:
    """Return a port of the loopback that nobody holds."""
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return int(probe.getsockname()[1])


class Services:
    """PostgreSQL and Redis of our own, on private ports, where they can be started."""

    def __init__(self) -> None:
        self.folder = Path(tempfile.mkdtemp(prefix="backyard-test-"))
        self.postgres_url = ""
        self.redis_url = ""
        self._stops: list[Callable[[], None]] = []

    def start(self) -> None:
        """Start what can be started and say so."""
        self.folder.chmod(0o755)
        with contextlib.suppress(OSError, subprocess.CalledProcessError):
            self._start_postgres()
        with contextlib.suppress(OSError):
            self._start_redis()
        print(f"  PostgreSQL: {'started on a private port' if self.postgres_url else 'not found'}")
        print(f"  Redis: {'started on a private port' if self.redis_url else 'not found'}")

    def _start_postgres(self) -> None:
        found = sorted(Path("/usr/lib/postgresql").glob("*/bin/initdb"))
        initdb = str(found[-1]) if found else shutil.which("initdb")
        if not initdb:
            return
        binaries, data, port = Path(initdb).parent, self.folder / "pg", free_port()
        as_user: list[str] = []
        if os.getuid() == 0:
            # the server refuses to run as root
            data.mkdir()
            shutil.chown(data, "postgres")
            as_user = ["runuser", "-u", "postgres", "--"]
        quiet = {"stdout": subprocess.DEVNULL, "stderr": subprocess.DEVNULL}
        subprocess.run(
            [*as_user, initdb, "-D", str(data), "-A", "trust", "-U", "postgres", "-E", "UTF8"],
            check=True,
            **quiet,
        )
        options = (
            f"-p {port} -c listen_addresses=127.0.0.1 -k '' -c fsync=off "
            "-c full_page_writes=off -c synchronous_commit=off"
        )
        control = [*as_user, str(binaries / "pg_ctl"), "-D", str(data), "-w"]
        subprocess.run(
            [*control, "-o", options, "-l", str(data / "log"), "start"], check=True, **quiet
        )
        self._stops.append(
            lambda: subprocess.run([*control, "-m", "immediate", "stop"], check=True, **quiet)
        )
        self.postgres_url = f"postgres://postgres@127.0.0.1:{port}/postgres"

    def _start_redis(self) -> None:
        if not shutil.which("redis-server"):
            return
        port = free_port()
        server = subprocess.Popen(
            ["redis-server", "--port", str(port), "--bind", "127.0.0.1", "--save", "",
             "--appendonly", "no", "--dir", str(self.folder)],
            stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL,
        )  # fmt: skip
        self._stops.append(server.terminate)
        self.redis_url = f"redis://127.0.0.1:{port}/0"

    def stop(self) -> None:
        """Stop what was started."""
        for stop in self._stops:
            with contextlib.suppress(Exception):
                stop()
        shutil.rmtree(self.folder, ignore_errors=True)


def environment(stage: Stage, services: Services) -> dict[str, str]:
    """Return what a stage's commands are told."""
    env = os.environ | {"DATABASE_URL": "", "REDIS_URL": "", "TEST_READY": str(services.folder)}
    # some hundred processes of Python are started: each would read all of the source anew
    env.pop("PYTHONDONTWRITEBYTECODE", None)
    if stage.needs == "postgresql":
        env["DATABASE_URL"] = services.postgres_url
    if stage.needs == "services":
        env["TEST_POSTGRES_URL"] = services.postgres_url
        env["TEST_REDIS_URL"] = services.redis_url
    return env | stage.env


def run(stage: Stage, services: Services, left_s: float | None = None) -> bool | None:
    """Run a stage; print its line; print its words where it fails. None: it ran out of time.

    A stage that takes ten times its budget hangs: it is ended and has failed.
    """
    if STOPPED.is_set():
        return None
    if stage.needs == "postgresql" and not services.postgres_url:
        print(f"  {stage.name:18} not run: PostgreSQL was not found")
        return True
    LOGS.mkdir(parents=True, exist_ok=True)
    log = LOGS / f"{stage.name.replace(': ', '-')}.log"
    began = time.monotonic()
    env = environment(stage, services)
    tmp = tempfile.mkdtemp(prefix="backyard-stage-")
    failed, hangs = False, 10.0 * stage.budget
    with log.open("w") as out:
        for command in stage.commands:
            words = [w.format(tmp=tmp, port=free_port()) if "{" in w else w for w in command]
            process = subprocess.Popen(
                words,
                cwd=ROOT,
                env=env,
                stdout=out,
                stderr=subprocess.STDOUT,
                start_new_session=True,
            )
            RUNNING.add(process)
            try:
                code = process.wait(timeout=min(left_s or hangs, hangs))
            except subprocess.TimeoutExpired:
                os.killpg(process.pid, signal.SIGKILL)
                print(f"  {stage.name:18} stopped after {time.monotonic() - began:.0f} s")
                if left_s is None or left_s > hangs:
                    print("\n".join(log.read_text().splitlines()[-40:]), flush=True)
                    return False
                return None
            finally:
                RUNNING.discard(process)
            if STOPPED.is_set():
                shutil.rmtree(tmp, ignore_errors=True)
                return None
            # pytest's 5: the marker has no test (yet); that is not a pass of anything
            failed |= code not in (0, 5) if "pytest" in words else code != 0
    shutil.rmtree(tmp, ignore_errors=True)
    took = time.monotonic() - began
    words_last = next(
        (
            ln
            for ln in reversed(log.read_text().splitlines())
            if " in " in ln and ("passed" in ln or "failed" in ln)
        ),
        "",
    )
    word = "FAILED" if failed else "ok"
    over = f"  OVER its budget of {stage.budget} s" if took > stage.budget else ""
    print(
        f"  {stage.name:18} {word:8} {took:6.1f} s{over}  {words_last}",
        flush=True,
    )
    if failed:
        print("\n".join(log.read_text().splitlines()[-80:]), flush=True)
    return not failed


@contextlib.contextmanager
def services_for(stages: list[Stage]) -> Iterator[Services]:
    """Start the services where a stage wants them."""
    services = Services()
    try:
        if any(stage.needs for stage in stages):
            services.start()
        yield services
    finally:
        services.stop()


def run_all(stages: list[Stage]) -> int:
    """Run all stages, three side by side; return the exit code."""
    began = time.monotonic()
    left, turn = sorted(stages, key=lambda stage: -stage.budget), threading.Lock()

    def following(drives: bool) -> Stage | None:
        with turn:
            mine = [stage for stage in left if drives or not stage.browser]
            mine.sort(key=lambda stage: not stage.browser)
            if mine:
                left.remove(mine[0])
            return mine[0] if mine else None

    def work(drives: bool) -> list[str]:
        bad = []
        while stage := following(drives):
            if not run(stage, services):
                bad.append(stage.name)
        return bad

    with services_for(stages) as services, ThreadPoolExecutor(3) as side_by_side:
        bad = [name for names in side_by_side.map(work, (True, False, False)) for name in names]
    print(f"all of it took {time.monotonic() - began:.0f} s")
    if STOPPED.is_set():
        print("stopped: what had not ended yet counts as failed")
    print(f"{len(stages) - len(bad)} passed, {len(bad)} failed")
    return 1 if bad else 0


def run_long(minutes: int) -> int:
    """Run the long stages under a hard stop; what was done before is not done again."""
    end = time.monotonic() + minutes * 60
    mark = subprocess.run(
        ["git", "rev-parse", "HEAD"], cwd=ROOT, capture_output=True, text=True, check=False
    ).stdout.strip()
    done = DONE.read_text().splitlines() if DONE.exists() else []
    done = done if done[:1] == [mark] else [mark]
    bad, not_run = [], []
    with services_for(LONG) as services:
        for stage in LONG:
            if stage.name in done:
                continue
            left = end - time.monotonic()
            if left < 30:
                not_run.append(stage.name)
                continue
            passed = run(stage, services, left)
            if passed is None:
                not_run.append(stage.name)
            elif passed:
                done.append(stage.name)
                DONE.parent.mkdir(parents=True, exist_ok=True)
                DONE.write_text("\n".join(done))
            else:
                bad.append(stage.name)
    if not_run:
        print(f"not run within {minutes} minutes: {', '.join(not_run)}")
    print(
        f"{len(LONG) - len(bad) - len(not_run)} passed, {len(bad)} failed, {len(not_run)} skipped"
    )
    return 1 if bad else 0


def stop(*_: object) -> None:
    """Let what runs end and tidy up, and begin nothing else; asked twice, end it at once."""
    number = signal.SIGKILL if STOPPED.is_set() else signal.SIGINT
    STOPPED.set()
    for process in list(RUNNING):
        with contextlib.suppress(ProcessLookupError):
            os.killpg(process.pid, number)


def main() -> int:
    """Read the options and run."""
    for number in (signal.SIGINT, signal.SIGTERM):
        signal.signal(number, stop)
    parser = argparse.ArgumentParser(prog="bin/test", description=__doc__)
    parser.add_argument(
        "--long", action="store_true", help="many kills, planted holes, long runs, benchmarks"
    )
    parser.add_argument(
        "--within", type=int, default=LONG_LIMIT_MIN, metavar="MINUTES",
        help="the hard stop of --long; what was not run is named and comes first the next time",
    )  # fmt: skip
    parser.add_argument(
        "--outside", action="store_true", help="the table of checks against the outside"
    )
    parser.add_argument("--only", nargs="+", default=[], help="stages by name")
    options = parser.parse_args()
    if options.outside:
        return subprocess.run(
            [*PYTEST, "--outside", "-m", "outside", "tests"], cwd=ROOT, check=False
        ).returncode
    if options.long:
        return run_long(options.within)
    unknown = set(options.only) - {stage.name for stage in STAGES}
    if unknown:
        parser.error(
            f"no stage is called {', '.join(sorted(unknown))}; there are {', '.join(s.name for s in STAGES)}"
        )
    return run_all([s for s in STAGES if not options.only or s.name in options.only])


if __name__ == "__main__":
    sys.exit(main())
