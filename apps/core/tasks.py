"""The wake-ups."""

from typing import Any

from celery import shared_task

from apps.core import clock, outbox


@shared_task
def wake(*, job_id: str, **_extra: Any) -> None:
    """Carry out one job."""
    outbox.carry_out(job_id, clock.now())


@shared_task
def wake_pdf(*, job_id: str, **_extra: Any) -> None:
    """Carry out one job on the queue for rendering."""
    outbox.carry_out(job_id, clock.now())


@shared_task
def sweep(**_extra: Any) -> None:
    """Find what was missed: never sent, or left behind by a killed worker."""
    for job in outbox.ready(clock.now()):
        outbox.carry_out(job.pk, clock.now())
