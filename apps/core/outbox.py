"""The outbox: an effect is a row, written with the change that causes it.

Celery only wakes a worker. What was never sent, or was lost with a killed worker, the sweep
finds. A row is claimed by one conditional update, so it runs once at a time wherever it runs.
"""

import datetime as dt
import logging
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from functools import partial
from typing import Any
from uuid import UUID

from django.db import transaction
from django.db.models import F, Q

from apps.core import clock
from apps.core.models import Job

logger = logging.getLogger(__name__)
SWEEP_LIMIT = 200


class Transient(Exception):
    """The effect could not be carried out now; try again later.

    `after`: in how long, where the effect knows better than the outbox's own growing pause.
    `patient`: the effect itself knows when to give up, so tries are not counted against it.
    """

    def __init__(
        self, words: str, *, after: dt.timedelta | None = None, patient: bool = False
    ) -> None:
        super().__init__(words)
        self.after, self.patient = after, patient


@dataclass(frozen=True)
class Handler:
    """How one kind of effect is carried out."""

    run: Callable[..., None]
    queue: str
    lease: dt.timedelta
    max_attempts: int


HANDLERS: dict[str, Handler] = {}


def effect(
    kind: str, *, queue: str = "default", lease_s: int = 120, max_attempts: int = 8
) -> Callable[[Callable[..., None]], Callable[..., None]]:
    """Register a function as the way to carry out jobs of a kind."""

    def wrap(function: Callable[..., None]) -> Callable[..., None]:
        HANDLERS[kind] = Handler(function, queue, dt.timedelta(seconds=lease_s), max_attempts)
        return function

    return wrap


def enqueue(
    kind: str,
    key: str,
    args: Mapping[str, Any],
    *,
    at: dt.datetime,
    run_at: dt.datetime | None = None,
) -> Job:
    """Write an effect in the caller's transaction and wake a worker after the commit.

    The same key twice is the same job. Raises KeyError for a kind that nobody registered.
    """
    queue = HANDLERS[kind].queue
    job, made = Job.objects.get_or_create(
        key=key,
        defaults={"kind": kind, "args": dict(args), "run_at": run_at or at, "made_at": at},
    )
    if made and (run_at is None or run_at <= at):
        transaction.on_commit(partial(poke, str(job.pk), queue))
    return job


def hasten(key: str, at: dt.datetime) -> None:
    """Let an effect that waits for its time run now, in the caller's transaction."""
    job = Job.objects.filter(key=key, state=Job.State.NEW, run_at__gt=at).first()
    if job is not None and Job.objects.filter(pk=job.pk, state=Job.State.NEW).update(run_at=at):
        transaction.on_commit(partial(poke, str(job.pk), HANDLERS[job.kind].queue))


def enqueue_all(kind: str, args: Mapping[str, Mapping[str, Any]], *, at: dt.datetime) -> None:
    """Write an effect for each key in the caller's transaction and wake workers after the commit.

    A key that is there already is the same job; one that was given up is tried anew.
    Raises KeyError for a kind that nobody registered.
    """
    queue = HANDLERS[kind].queue
    jobs = [
        Job(kind=kind, key=key, args=dict(values), run_at=at, made_at=at)
        for key, values in args.items()
    ]
    Job.objects.bulk_create(jobs, ignore_conflicts=True)
    held = list(Job.objects.filter(key__in=list(args)).values_list("pk", "state"))
    dead = [pk for pk, state in held if state == Job.State.DEAD]
    if dead:
        Job.objects.filter(pk__in=dead).update(state=Job.State.NEW, attempts=0, run_at=at)
    for pk, state in held:
        if state in (Job.State.NEW, Job.State.DEAD):
            transaction.on_commit(partial(poke, str(pk), queue))


def poke(job_id: str, queue: str) -> None:
    """Wake a worker; a broker that is down must not fail the request, the sweep comes later."""
    from apps.core import tasks

    task = tasks.wake_pdf if queue == "pdf" else tasks.wake
    try:
        task.apply_async(kwargs={"job_id": job_id}, retry=False)
    except Exception:
        logger.warning("broker not reached; the sweep will find job %s", job_id, exc_info=True)


def claim(job_id: UUID | str, now: dt.datetime) -> Job | None:
    """Take a job for the length of its lease, or return None if it is not free."""
    job = Job.objects.filter(pk=job_id).first()
    if job is None or job.kind not in HANDLERS:
        return None
    free = Q(lease_until__isnull=True) | Q(lease_until__lt=now)
    taken = (
        Job.objects.filter(
            free, pk=job_id, state__in=[Job.State.NEW, Job.State.BUSY], run_at__lte=now
        )
        # attempts is written before the work: a job that kills its worker is counted too
        .update(
            state=Job.State.BUSY,
            lease_until=now + HANDLERS[job.kind].lease,
            attempts=F("attempts") + 1,
        )
    )
    if not taken:
        return None
    job.refresh_from_db()
    return job


def carry_out(job_id: UUID | str, now: dt.datetime) -> bool:
    """Claim and run one job; return True if it is done now."""
    job = claim(job_id, now)
    if job is None:
        return False
    handler = HANDLERS[job.kind]
    try:
        handler.run(**job.args, at=now)
    except Transient as reason:
        _later(job, handler, now, reason)
        return False
    except Exception as error:
        logger.exception("job %s of kind %s failed", job.pk, job.kind)
        _later(job, handler, now, Transient(f"{type(error).__name__}: {error}"))
        return False
    mine = Job.objects.filter(pk=job.pk, attempts=job.attempts)
    mine.update(state=Job.State.DONE, done_at=clock.now(), lease_until=None, last_error="")
    return True


def _later(job: Job, handler: Handler, now: dt.datetime, why: Transient) -> None:
    """Give the job back with a growing pause, or give it up and leave it for the office to see."""
    over = job.attempts >= handler.max_attempts and not why.patient
    wait = why.after
    if wait is None:
        # 15 s * 2^8 is more than an hour
        wait = dt.timedelta(seconds=min(3600, 15 * 2 ** min(job.attempts - 1, 8)))
    Job.objects.filter(pk=job.pk, attempts=job.attempts).update(
        state=Job.State.DEAD if over else Job.State.NEW,
        run_at=now + wait,
        lease_until=None,
        last_error=str(why)[:2000],
    )


def ready(now: dt.datetime) -> list[Job]:
    """Return jobs that are due and free, oldest first."""
    free = Q(lease_until__isnull=True) | Q(lease_until__lt=now)
    waiting = Job.objects.filter(
        free, state__in=[Job.State.NEW, Job.State.BUSY], run_at__lte=now
    ).order_by("run_at", "made_at")
    return list(waiting[:SWEEP_LIMIT])


def drain(now: dt.datetime) -> int:
    """Carry out everything that is due, here and now; return how many were done."""
    done = 0
    for _round in range(50):
        jobs = ready(now)
        if not jobs:
            break
        done += sum(carry_out(job.pk, now) for job in jobs)
    return done
