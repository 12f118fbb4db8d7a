"""Care tasks: made from templates, done, and their dates worked out anew."""

import datetime as dt
from collections.abc import Iterable, Mapping
from typing import Any
from uuid import UUID, uuid5

from django.db import transaction
from django.db.models import Max

from apps.accounts.services import audit
from apps.calc.rhythm import DORMANT, Dates, satisfied, settled
from apps.care.choices import Mode
from apps.care.models import CarePlan, CareTask, Completion, Standing
from apps.care.selectors import counters_of
from apps.care.services.asking import visit_days_ask, visit_days_ask_for
from apps.care.services.rules import DATES, dates_set, forecast_of, rhythm_of, rule_check
from apps.care.services.standing import standing_refresh_dates
from apps.catalogue.choices import EntryKind
from apps.catalogue.selectors import Catalogue
from apps.core.bulk import rows_insert, rows_update
from apps.core.scoping import Actor
from apps.systems.models import Component, System

MODES = {
    "interval": Mode.AFTER_DONE,
    "every_visit": Mode.EVERY_VISIT,
    "on_condition": Mode.CONDITION,
}
ANCHORED = (Mode.AFTER_DONE, Mode.ONCE, Mode.CALENDAR)


@transaction.atomic
def task_save(*, task: CareTask, at: dt.datetime) -> CareTask:
    """Store a new or changed task with its dates and bring the standing up to date."""
    rule_check(task)
    if not task._state.adding:
        task.rule_version += 1
        _forecast_drop(task)
    dates_set(task, at)
    task.full_clean()
    task.save()
    standing_refresh_dates([task.system_id], at)
    visit_days_ask_for([task.system_id], at)
    return task


def _forecast_drop(task: CareTask) -> None:
    """Take a forecast off a task whose limit was changed: it was made for another one."""
    before = CareTask.objects.filter(pk=task.pk).values_list("mode", "condition").first()
    if before != (task.mode, task.condition):
        task.forecast_open = task.forecast_due = task.forecast_late = None


def tasks_from_catalogue(
    *,
    system: System,
    catalogue: Catalogue,
    components: list[Component],
    has_fish: bool,
    has_plants: bool,
    anchor: dt.date | None,
) -> list[CareTask]:
    """Return unsaved tasks for what the system is made of; client tasks are among them."""
    kinds = kinds_of(system, components, has_fish=has_fish, has_plants=has_plants)
    return [
        from_template(system, code, template, MODES[template["rhythm"]], anchor)
        for code, template in catalogue.of(EntryKind.TASK).items()
        if template["rhythm"] in MODES and applies(template, kinds)
    ]


def kinds_of(
    system: System, components: Iterable[Component], *, has_fish: bool, has_plants: bool
) -> set[str]:
    """Return the words that templates name what a system is made of by."""
    kinds = {component.kind for component in components}
    told = {"fish": has_fish, "plants": has_plants, "decoupled": system.kind == "decoupled"}
    return kinds | {word for word, holds in told.items() if holds}


def applies(template: Mapping[str, Any], kinds: set[str]) -> bool:
    """Tell whether a template is for a system of these kinds."""
    needs = template.get("needs") or []
    return not needs or bool(kinds.intersection(needs))


def from_template(
    system: System, code: str, template: Mapping[str, Any], mode: str, anchor: dt.date | None
) -> CareTask:
    """Return an unsaved task of a template; `anchor`: the day that it counts from, or comes on."""
    slack = int(template.get("tolerance_days") or 0)
    early = int(template.get("early_days", slack))
    people = template["who"]
    who = next(
        (word for word in ("technician", "electrician", "client") if word in people), "technician"
    )
    return CareTask(
        system=system,
        code=code,
        mode=mode,
        every_n=max(1, int(template.get("every_days") or 1)),
        unit="day",
        anchor=anchor if mode in ANCHORED else None,
        condition=template.get("condition") or {},
        early_min_days=early,
        early_max_days=early,
        late_min_days=slack,
        late_max_days=slack,
        minutes=int(template.get("minutes") or 5),
        who=who,
        criticality=template["criticality"],
    )


@transaction.atomic
def plan_make(
    *,
    system: System,
    catalogue: Catalogue,
    components: list[Component],
    has_fish: bool,
    has_plants: bool,
    anchor: dt.date | None,
    at: dt.datetime,
    name: str = "",
    visits_a_year: int | None = None,
) -> CarePlan:
    """Make a system's care plan and the tasks that it needs, with their dates.

    `anchor`: the day on which they are first due; None: it is not built, they sleep until it is.
    """
    plan, _made = CarePlan.objects.get_or_create(
        system=system, defaults={"name": name, "visits_a_year": visits_a_year}
    )
    held = set(CareTask.objects.filter(system=system, active=True).values_list("code", flat=True))
    tasks = [
        task
        for task in tasks_from_catalogue(
            system=system,
            catalogue=catalogue,
            components=components,
            has_fish=has_fish,
            has_plants=has_plants,
            anchor=anchor,
        )
        if task.code not in held
    ]
    for task in tasks:
        dates_set(task, at)
    rows_insert(tasks)
    Standing.objects.get_or_create(system=system)
    standing_refresh_dates([system.pk], at)
    visit_days_ask([system.place_id], at)
    return plan


@transaction.atomic
def agreed_set(
    *, system: System, visits_a_year: int | None, agreed_until: dt.date | None, by: Actor,
    at: dt.datetime,
) -> CarePlan:  # fmt: skip
    """Say how many visits a year the client pays for, and until which day.

    None: no number was agreed, or no end. The place's visit days are planned anew. Raises
    ValidationError naming the field.
    """
    plan = CarePlan.objects.filter(system=system).first() or CarePlan(system=system)
    before, ended = plan.visits_a_year, plan.agreed_until
    plan.visits_a_year, plan.agreed_until = visits_a_year, agreed_until
    plan.full_clean()
    plan.save()
    change = {
        "visits_a_year": [before, visits_a_year],
        "agreed_until": [day.isoformat() if day else None for day in (ended, agreed_until)],
    }
    audit(at=at, by=by, verb="visits agreed", kind="system", object_id=system.pk, change=change)
    visit_days_ask([system.place_id], at)
    return plan


def _counting(task_ids: Iterable[UUID]) -> dict[UUID, tuple[dt.date, dt.date | None]]:
    rows = (
        Completion.objects.filter(
            task_id__in=task_ids, withdraws__isnull=True, withdrawn_by__isnull=True
        )
        .values("task_id")
        .annotate(last=Max("done_on"), occurrence=Max("occurrence"))
    )
    return {row["task_id"]: (row["last"], row["occurrence"]) for row in rows}


def tasks_locked(system_ids: Iterable[UUID]) -> dict[UUID, CareTask]:
    """Return all tasks of systems; nobody else changes them until the transaction ends."""
    return CareTask.objects.select_for_update().filter(system_id__in=list(system_ids)).in_bulk()


@transaction.atomic
def tasks_recompute(*, task_ids: Iterable[UUID], at: dt.datetime) -> list[CareTask]:
    """Work out last-done and next dates from the completions alone: order and repeats do not matter."""
    tasks = list(CareTask.objects.select_for_update().filter(pk__in=list(task_ids)))
    _recompute(tasks, at)
    systems = {task.system_id for task in tasks}
    standing_refresh_dates(systems, at)
    visit_days_ask_for(systems, at)
    return tasks


def _recompute(tasks: list[CareTask], at: dt.datetime) -> None:
    done, meters = _counting([task.pk for task in tasks]), counters_of(tasks)
    for task in tasks:
        task.last_done, task.last_occurrence = done.get(task.pk, (None, None))
        dates_set(task, at, meters.get(task.pk, {}))
    rows_update(tasks, ["last_done", "last_occurrence", *DATES])


def completions_set(
    *,
    visit_id: UUID,
    first: bool,
    done: Iterable[tuple[UUID, UUID]],
    tasks: Mapping[UUID, CareTask],
    done_on: dt.date,
    by: str,
    at: dt.datetime,
) -> None:
    """Bring a visit's completions to what its lines say is `done` (line, task); move the dates.

    The same again changes nothing; `first` says that there is none yet. A completion that was
    taken back stays; what is done again gets a key of its own. In the caller's transaction, which
    has locked the `tasks` and brings the standing up to date.
    """
    held = {} if first else Completion.objects.filter(visit_id=visit_id).in_bulk()
    taken_back = {row.withdraws_id for row in held.values() if row.withdraws_id}
    keys = {uuid5(line, f"done {len(taken_back)}"): tasks[task] for line, task in done}
    gone = [
        row
        for key, row in held.items()
        if row.withdraws_id is None and key not in taken_back and key not in keys
    ]
    common = {"by": by, "visit_id": visit_id, "made_at": at}
    fresh = [
        Completion(task_id=row.task_id, done_on=row.done_on, withdraws=row, **common)
        for row in gone
    ] + [
        Completion(
            pk=key,
            task=task,
            done_on=done_on,
            # by the rule and the day alone, so that a late report says what a prompt one would
            occurrence=satisfied(rhythm_of(task), done_on),
            **common,
        )
        for key, task in keys.items()
        if key not in held
    ]
    rows_insert(fresh)
    _recompute([tasks[pk] for pk in {row.task_id for row in fresh}], at)


def condition_set(task: CareTask, readings: dict[str, float], on: dt.date, at: dt.datetime) -> None:
    """Raise or drop one task that waits for a reading, with its dates; it is not stored."""
    value = readings.get(str(task.condition.get("measurand")))
    below, above = task.condition.get("below"), task.condition.get("above")
    met = value is not None and (
        (below is not None and value < below) or (above is not None and value > above)
    )
    answered = task.raised_on and task.last_done and task.last_done >= task.raised_on
    # done once and still beyond the limit at a later reading: raised again
    if not met or task.raised_on is None or answered:
        task.raised_on = on if met else None
    dates_set(task, at)


def conditions_raise(
    *, tasks: Iterable[CareTask], readings: dict[str, float], on: dt.date, at: dt.datetime
) -> None:
    """Raise or drop those of a system's tasks that wait for a reading.

    `readings` are the last trusted ones. In the caller's transaction, which has locked the tasks.
    """
    waiting = [
        task for task in tasks if task.active and task.condition and task.mode != Mode.FORECAST
    ]
    for task in waiting:
        condition_set(task, readings, on, at)
    rows_update(waiting, ["raised_on", *DATES])


@transaction.atomic
def forecasts_set(
    *, system_ids: Iterable[UUID], windows: Mapping[UUID, Dates], on: dt.date, at: dt.datetime
) -> list[CareTask]:
    """Give tasks that go by a limit the windows that a forecast sees; return those that moved.

    `windows`: by task; one that is left out is crossed by nothing in sight. A window that has
    moved little since it was given stays, so that visit days do not follow each small change.
    """
    moved = []
    for task in tasks_locked(system_ids).values():
        if not task.active or not task.condition:
            continue
        held, fresh = forecast_of(task), windows.get(task.pk, DORMANT)
        kept = settled(held, fresh, on)
        if kept != held:
            task.forecast_open, task.forecast_due, task.forecast_late = (
                kept.open,
                kept.due,
                kept.late,
            )
            dates_set(task, at)
            moved.append(task)
    rows_update(moved, ["forecast_open", "forecast_due", "forecast_late", *DATES])
    systems = {task.system_id for task in moved}
    standing_refresh_dates(systems, at)
    visit_days_ask_for(systems, at)
    return moved
