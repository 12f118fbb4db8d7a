"""Care of a system that is not built yet: its tasks sleep until the stage that each begins with."""

import datetime as dt
from collections.abc import Iterable

from django.utils import timezone

from apps.accounts.services import audit
from apps.calc.commissioning.gate import SAFETY
from apps.calc.rhythm import add
from apps.care.models import CareTask
from apps.care.selectors import WAITS, waits_to_begin
from apps.care.services.asking import visit_days_ask
from apps.care.services.rules import DATES, dates_set
from apps.care.services.standing import standing_refresh_dates
from apps.catalogue.choices import EntryKind
from apps.catalogue.selectors import Catalogue
from apps.core.bulk import rows_update
from apps.core.scoping import Actor
from apps.systems.models import System


def care_begin(
    *,
    system: System,
    runs: dt.date,
    fish: dt.date,
    handed_over: dt.date,
    catalogue: Catalogue,
    by: Actor,
    at: dt.datetime,
) -> list[CareTask]:
    """Give a system's sleeping tasks their first days; return them. The rest of the plan stays.

    What has to be safe before fish come is first due on the day that the water `runs`; what the
    fish need, one interval after the first of them; all else one interval after the hand-over, at
    which everything is new. In the caller's transaction.
    """
    templates = catalogue.of(EntryKind.TASK)
    tasks = list(CareTask.objects.select_for_update().filter(WAITS, system=system))
    for task in tasks:
        template = templates.get(task.code, {})
        if task.code in SAFETY:
            task.anchor = runs
        else:
            base = fish if "fish" in (template.get("needs") or []) else handed_over
            task.anchor = add(base, task.every_n, task.unit)
        dates_set(task, at)
    _store(system, tasks, at)
    if tasks:
        audit(at=at, by=by, verb="care begins", kind="system", object_id=system.pk,
              change={"runs": str(runs), "fish": str(fish), "handed over": str(handed_over)})  # fmt: skip
    return tasks


def care_follow(
    *, system: System, before: dt.date | None, catalogue: Catalogue, by: Actor, at: dt.datetime
) -> None:
    """Let a plan follow the day since which its system runs; `before`: that day until now.

    Sleeping tasks begin on it. While the system is not built, that is while the old day or the new
    one lies ahead, tasks that nobody has done move by as many days. In the caller's transaction.
    """
    day = system.started_on
    if day is None:
        return
    if waits_to_begin(system.pk):
        care_begin(system=system, runs=day, fish=day, handed_over=day, catalogue=catalogue, by=by, at=at)  # fmt: skip
    elif before is not None and before != day and max(before, day) > timezone.localdate(at):
        held = CareTask.objects.select_for_update().filter(
            system=system, active=True, last_done=None, anchor__gte=before
        )
        tasks = [_moved(task, day - before, at) for task in held]
        _store(system, tasks, at)


def _moved(task: CareTask, by: dt.timedelta, at: dt.datetime) -> CareTask:
    if task.anchor is not None:
        task.anchor += by
    dates_set(task, at)
    return task


def _store(system: System, tasks: Iterable[CareTask], at: dt.datetime) -> None:
    rows_update(tasks, ["anchor", *DATES])
    standing_refresh_dates([system.pk], at)
    visit_days_ask([system.place_id], at)
