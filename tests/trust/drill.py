"""A drill in a database of its own: a real worker is killed in the middle of reports and letters.

Run as a program: python -m tests.trust.drill --kills N --seed S. Prints one JSON line.
"""

import argparse
import contextlib
import datetime as dt
import json
import os
import random
import signal
import subprocess
import sys
import time
from collections import Counter
from pathlib import Path
from typing import Any
from uuid import uuid4

ROOT = Path(__file__).resolve().parent.parent.parent
DEADLINE_S = 150


class SlowSink:
    """A mail server that takes a moment between the letter and its answer."""

    def __init__(self, pause_s: float) -> None:
        self.pause_s = pause_s
        self.seen: Counter[str] = Counter()

    async def handle_DATA(self, _server: Any, _session: Any, envelope: Any) -> str:
        """Count the letter, then answer late."""
        import asyncio
        from email import message_from_bytes

        message = message_from_bytes(envelope.content)
        self.seen[message["Message-ID"].strip()] += 1
        await asyncio.sleep(self.pause_s)
        return "250 kept"


def worker() -> subprocess.Popen[bytes]:
    """Start a real worker in a process group of its own."""
    return subprocess.Popen(
        [
            sys.executable, "-m", "celery", "-A", "backyard", "worker", "-P", "threads", "-c", "2",
            "-Q", "default,pdf", "--loglevel", "ERROR", "--without-gossip", "--without-mingle",
        ],
        cwd=ROOT, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL, start_new_session=True,
    )  # fmt: skip


def kill(process: subprocess.Popen[bytes]) -> None:
    """Kill the worker with all that it started, without a word."""
    with contextlib.suppress(ProcessLookupError):
        os.killpg(process.pid, signal.SIGKILL)
    process.wait()


def build(count: int) -> None:
    """Write up some visits, so that reports and letters wait in the outbox."""
    from apps.catalogue.selectors import catalogue_current
    from apps.catalogue.services import catalogue_load
    from apps.core import clock
    from apps.flows import visit_booking, visit_closing
    from apps.office.api.shapes import visit_shape
    from apps.visits.models import Visit
    from apps.visits.selectors import visits_full
    from tests import factories
    from tests.api.conftest import GOOD, submission

    catalogue_load()
    factories.firm(release_automatically=True)
    office = factories.actor(factories.user("office", "office"), clock.now())
    ana = factories.user("ana")
    now = clock.now()
    factories.NOW = now
    for number in range(count):
        place = factories.place(factories.client(f"House{number}"))
        built = factories.system(place, f"Patio {number}")
        start = now - dt.timedelta(hours=2 * number + 2)
        visit = visit_booking.pencil(
            place=place, systems=[built.system], start=start, end=start + dt.timedelta(hours=1),
            technicians=[ana], by=office, at=now,
        )  # fmt: skip
        visit_booking.step(visit=visit, to="booked", by=office, at=now)
        shape = visit_shape(
            visits_full(Visit.objects.filter(pk=visit.pk)).get(), catalogue_current()
        )
        visit_closing.submit(
            visit=visit, body=submission(shape, built, **GOOD), key=str(uuid4()), by=office, at=now
        )


def time_passes() -> None:
    """Let every lease of a dead worker end, settle what it left, wake the living."""
    from apps.core import clock, outbox
    from apps.core.models import Job
    from apps.reports.models import Letter
    from apps.reports.services.sending import leases_reap

    past = clock.now() - dt.timedelta(seconds=1)
    Job.objects.filter(state="busy").update(lease_until=past)
    Letter.objects.filter(state="sending").update(lease_until=past)
    leases_reap(clock.now())
    Job.objects.filter(state="new", run_at__gt=clock.now()).update(run_at=past)
    for job in outbox.ready(clock.now()):
        outbox.poke(str(job.pk), outbox.HANDLERS[job.kind].queue)


def busy(kind: str) -> bool:
    """Return True while a job of this kind is under way."""
    from apps.core.models import Job

    return Job.objects.filter(kind=kind, state="busy").exists()


def open_jobs() -> int:
    """Return how many effects are not done."""
    from apps.core.models import Job

    return Job.objects.exclude(state__in=["done"]).count()


def drill(kills: int, seed: int, visits: int) -> dict[str, Any]:
    """Do it and return what was found."""
    from aiosmtpd.controller import Controller

    from demo.sink import _free_port

    sink = SlowSink(0.4)
    controller = Controller(sink, hostname="127.0.0.1", port=_free_port())
    controller.start()
    from django.conf import settings

    settings.EMAIL_PORT = controller.port
    os.environ["SMTP_PORT"] = str(controller.port)
    chance = random.Random(seed)
    build(visits)
    landed: Counter[str] = Counter()
    process = worker()
    try:
        for number in range(kills):
            wanted = ("reports.render", "letters.send")[number % 2]
            end = time.monotonic() + 40
            while time.monotonic() < end and open_jobs() and not busy(wanted):
                time.sleep(0.05)
            time.sleep(chance.uniform(0.0, 0.6))
            landed["in the middle" if busy(wanted) else "between"] += 1
            kill(process)
            process = worker()
            time_passes()
        finish()
    finally:
        kill(process)
        controller.stop()
    return findings(sink, visits, landed)


def finish() -> None:
    """Wait until everything is done, with time passing now and then."""
    end = time.monotonic() + DEADLINE_S
    last = time.monotonic()
    while time.monotonic() < end and open_jobs():
        time.sleep(0.3)
        if time.monotonic() - last > 12 and not (busy("reports.render") or busy("letters.send")):
            time_passes()
            last = time.monotonic()


def findings(sink: SlowSink, visits: int, landed: Counter[str]) -> dict[str, Any]:
    """Return counts and every broken promise."""
    from django.db.models import Count

    from apps.core.models import Job
    from apps.reports.models import Letter, Report

    wrong = [
        f"job {job.kind} {job.key} is {job.state}: {job.last_error}"
        for job in Job.objects.exclude(state="done")
    ]
    wrong += [
        f"report {row.number} has {row.count} versions"
        for row in Report.objects.annotate(count=Count("versions"))
        if row.count != 1
    ]
    for letter in Letter.objects.all():
        seen = sink.seen[letter.message_id]
        if letter.state == "sent" and seen != 1:
            wrong.append(f"{letter} is sent and arrived {seen} times")
        elif letter.state == "unsure" and seen > 1:
            wrong.append(f"{letter} is unsure and arrived {seen} times")
        elif letter.state == "withheld" and not seen:
            continue  # about a visit that was over before a worker lived long enough
        elif letter.state not in ("sent", "unsure"):
            wrong.append(f"{letter} is {letter.state}: {letter.last_error}")
    if Report.objects.count() != visits:
        wrong.append(f"{Report.objects.count()} reports of {visits} visits")
    states = Counter(Letter.objects.values_list("state", flat=True))
    return {"wrong": wrong, "letters": dict(states), "kills": dict(landed)}


def main() -> None:
    """Set up a database of its own and run the drill."""
    parser = argparse.ArgumentParser()
    parser.add_argument("--kills", type=int, default=2)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--visits", type=int, default=4)
    options = parser.parse_args()
    os.environ["DJANGO_SETTINGS_MODULE"] = "backyard.settings.dev"
    import django

    django.setup()
    from django.core.management import call_command

    call_command("migrate", verbosity=0)
    sys.stdout.write(json.dumps(drill(options.kills, options.seed, options.visits)) + "\n")


if __name__ == "__main__":
    main()
