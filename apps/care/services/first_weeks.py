"""The care plan of a new system's first weeks: tasks that come once, and the tests until it is ready."""

import datetime as dt
from typing import Any

from django.db import transaction

from apps.accounts.services import audit
from apps.calc.advice.cycling import ready_day
from apps.calc.commissioning.curve import WITHIN
from apps.care.choices import Mode
from apps.care.models import CareTask, Standing
from apps.care.services.asking import visit_days_ask
from apps.care.services.beginning import care_begin
from apps.care.services.rules import dates_set
from apps.care.services.standing import standing_refresh_dates
from apps.care.services.tasks import applies, from_template, kinds_of
from apps.catalogue.choices import EntryKind
from apps.catalogue.selectors import Catalogue
from apps.core.bulk import rows_insert
from apps.core.scoping import Actor
from apps.systems.models import Component, System
from apps.systems.services import system_change

FIRST_WEEKS = "first_weeks"
# the tasks on whose day each stage of a new system begins
STAGES = {"runs": "leak_test_running", "fish": "fish_first", "handed_over": "papers_given"}


def ready_on(started: dt.date, temp_c: float) -> dt.date:
    """Return the day on which a filter that is dosed from the third day on may be ready."""
    return started + dt.timedelta(days=3 + round(ready_day(temp_c)))


@transaction.atomic
def first_weeks_make(
    *,
    system: System,
    catalogue: Catalogue,
    components: list[Component],
    has_fish: bool,
    has_plants: bool,
    started: dt.date,
    temp_c: float,
    by: Actor,
    at: dt.datetime,
) -> list[CareTask]:
    """Add the tasks of the first weeks, from the day on which the system is filled.

    ``temp_c``: of the water while the filter comes in [°C]. Tasks that were ever in the plan stay
    as they are: a second call adds what is missing. Care that slept until the system is built
    begins with the stage that it belongs to, and the system runs from `started` where no day was
    said.
    """
    if system.started_on is None:
        system_change(
            system=system, changes={"started_on": started}, rev=system.rev, by=by, at=at
        )  # fmt: skip
    templates = catalogue.of(EntryKind.TASK)
    kinds = kinds_of(system, components, has_fish=has_fish, has_plants=has_plants)
    ready = ready_on(started, temp_c)
    held = set(CareTask.objects.filter(system=system).values_list("code", flat=True))
    tasks = [
        _task(system, code, template, started, ready)
        for code, template in templates.items()
        if template["rhythm"] == FIRST_WEEKS and code not in held and applies(template, kinds)
    ]
    for task in tasks:
        dates_set(task, at)
    rows_insert(tasks)
    Standing.objects.get_or_create(system=system)
    standing_refresh_dates([system.pk], at)
    visit_days_ask([system.place_id], at)
    care_begin(
        system=system, catalogue=catalogue, by=by, at=at,
        **{stage: _day(templates[code], started, ready) for stage, code in STAGES.items()},
    )  # fmt: skip
    audit(at=at, by=by, verb="first weeks planned", kind="system", object_id=system.pk,
          change={"started": started.isoformat(), "temp_c": temp_c})  # fmt: skip
    return tasks


def _day(template: dict[str, Any], started: dt.date, ready: dt.date) -> dt.date:
    base = ready if template["counts_from"] == "ready" else started
    return base + dt.timedelta(days=int(template["day"]))


def _task(
    system: System, code: str, template: dict[str, Any], started: dt.date, ready: dt.date
) -> CareTask:
    anchor = _day(template, started, ready)
    every = template.get("every_other")
    if not every:
        return from_template(system, code, template, Mode.ONCE, anchor)
    task = from_template(system, code, template, Mode.CALENDAR, anchor)
    last = started + (ready - started) * (1 + WITHIN)
    task.rrule = f"FREQ=DAILY;INTERVAL={every};COUNT={1 + (last - anchor).days // int(every)}"
    return task
