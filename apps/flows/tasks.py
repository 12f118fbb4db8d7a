"""The schedule's entries."""

from typing import Any

from celery import shared_task

from apps.core import clock
from apps.flows import nightly as stories
from apps.flows.noticing import notices as notices_write
from apps.flows.returned_letters import returned_read


@shared_task
def nightly(**_extra: Any) -> None:
    """Refresh due dates and standing."""
    stories.nightly(clock.today(), clock.now())


@shared_task
def due_list(**_extra: Any) -> None:
    """Write the day's due list to the office."""
    stories.due_list(clock.today(), clock.now())


@shared_task
def reminders(**_extra: Any) -> None:
    """Remind clients of their visits."""
    stories.reminders(clock.now())


@shared_task
def reap(**_extra: Any) -> None:
    """Settle letters whose sender died."""
    stories.reap(clock.now())


@shared_task
def returned(**_extra: Any) -> None:
    """Read the mailbox to which letters come back."""
    returned_read(clock.now())


@shared_task
def notices(**_extra: Any) -> None:
    """Write to clients what is past its day, and ask those who are quiet."""
    notices_write(clock.today(), clock.now())
