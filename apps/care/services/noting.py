"""When a task was last done before any visit of ours did it, as somebody noted it."""

import datetime as dt

from django.db import transaction

from apps.calc.rhythm import satisfied
from apps.care.models import CareTask, Completion
from apps.care.services.rules import rhythm_of
from apps.care.services.tasks import tasks_recompute
from apps.core.bulk import rows_insert


def noted_done(task: CareTask) -> Completion | None:
    """Return the last completion that somebody noted by hand and that counts."""
    rows = Completion.objects.filter(
        task=task, visit_id=None, withdraws=None, withdrawn_by__isnull=True
    )
    return rows.order_by("-done_on", "-made_at").first()


@transaction.atomic
def done_note(*, task: CareTask, done_on: dt.date | None, by: str, at: dt.datetime) -> None:
    """Note on which day a task was last done, in place of what was noted before; dates follow.

    None takes back what was noted; what visits have done stays. The same again changes nothing.
    """
    CareTask.objects.select_for_update().get(pk=task.pk)
    held = noted_done(task)
    if (held.done_on if held else None) == done_on:
        return
    rows = []
    if held is not None:
        rows.append(Completion(task=task, done_on=held.done_on, withdraws=held, by=by, made_at=at))
    if done_on is not None:
        occurrence = satisfied(rhythm_of(task), done_on)
        rows.append(
            Completion(task=task, done_on=done_on, occurrence=occurrence, by=by, made_at=at)
        )
    rows_insert(rows)
    tasks_recompute(task_ids=[task.pk], at=at)
    task.refresh_from_db()
