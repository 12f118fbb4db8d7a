"""Care plans of the demo: the catalogue's tasks, fitted to how often the firm comes."""

import datetime as dt
from dataclasses import dataclass

from apps.care.choices import Mode, Who
from apps.care.models import CarePlan, CareTask
from apps.care.selectors import FIRM_TASKS
from apps.care.services import tasks_from_catalogue
from apps.catalogue.selectors import Catalogue
from apps.systems.models import Component, System
from demo.firm.keys import chance, key
from demo.firm.systems import Spec

# daily and weekly handwork that the clients have taken on
CLIENT_TASKS = frozenset({
    "pest_scout", "germination_count", "seed_sow", "crop_prune", "crop_harvest", "water_dose",
    "tank_solids_outlet", "settler_drain", "screen_rinse",
})  # fmt: skip
NOT_PLANNED = frozenset({"bed_half_clean"})
# a plant loop gets its iron with its feed, and its nitrate is meant to be high
COUPLED_ONLY = frozenset({"iron_dose", "water_change"})
# the catalogue's minutes are those of somebody who is new to a system: these two know theirs
PACE = 0.5
PLAN_NAMES = {7: "First three months, weekly", 14: "Fortnightly care", 28: "Monthly care"}


@dataclass(frozen=True)
class Window:
    """Interval and tolerance in days."""

    every: int
    slack: int


def plan_of(spec: Spec, system: System) -> CarePlan:
    """Return the unsaved plan."""
    return CarePlan(
        pk=key("plan", spec.key), system=system, name=PLAN_NAMES[spec.every],
        visits_a_year=364 // spec.every,
        notes="Daily looks, feeding and the weekly handwork are the client's.",
    )  # fmt: skip


def tasks_of(
    spec: Spec, system: System, parts: list[Component], catalogue: Catalogue, first: dt.date,
    today: dt.date,
) -> list[CareTask]:  # fmt: skip
    """Return the unsaved tasks of a system; `first` is the day of its first visit."""
    tasks = tasks_from_catalogue(
        system=system, catalogue=catalogue, components=parts, has_fish=bool(spec.fish),
        has_plants=bool(spec.crops), anchor=first,
    )  # fmt: skip
    kept = []
    for task in tasks:
        if task.code in NOT_PLANNED or (task.code in COUPLED_ONLY and spec.kind != "coupled"):
            continue
        task.pk = key("task", spec.key, task.code)
        # where a static filter is backflushed at each visit, the settler is washed by the client
        washes = task.code == "settler_wash" and spec.design == "channels"
        if task.code in CLIENT_TASKS or washes:
            task.who = Who.CLIENT
        if task.who != Who.CLIENT:
            task.minutes = max(1, round(task.minutes * PACE))
        _fit(task, spec, first, today)
        kept.append(task)
    return kept


def _fit(task: CareTask, spec: Spec, first: dt.date, today: dt.date) -> None:
    if task.mode != Mode.AFTER_DONE:
        return
    wanted = _window(task, spec)
    task.every_n = wanted.every
    task.early_min_days = task.early_max_days = wanted.slack
    task.late_min_days = task.late_max_days = wanted.slack
    if task.who == Who.CLIENT:
        return
    if spec.every == 7:
        task.anchor = first + dt.timedelta(days=task.every_n)
    elif task.every_n > 20:
        # long intervals are spread over the year instead of falling on one day
        ahead = chance(today, spec.key, task.code).randrange(0, task.every_n)
        task.anchor = first + dt.timedelta(days=ahead)


def _window(task: CareTask, spec: Spec) -> Window:
    every, slack = task.every_n, task.late_max_days
    if task.who == Who.CLIENT:
        return Window(every, slack)
    if task.code == "water_full_test" and spec.every == 7:
        return Window(7, 2)
    if every < 14:
        every, slack = 14, 4
    if task.code == "iron_dose":
        every, slack = 28, 7
    if spec.every == 28 and every < 28:
        every, slack = 28, 6
    return Window(every, slack)


def open_on(tasks: list[CareTask], day: dt.date) -> list[CareTask]:
    """Return the firm's tasks that may be done on a day."""
    return [
        task for task in tasks
        if task.who in FIRM_TASKS
        and (task.mode == Mode.EVERY_VISIT or (task.next_open and task.next_open <= day))
    ]  # fmt: skip
