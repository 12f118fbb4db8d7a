"""A system's care plan: made from the catalogue, its tasks added and changed."""

import datetime as dt
from collections.abc import Mapping
from typing import Any
from uuid import UUID

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_safe

from apps.accounts.actors import office_of
from apps.batches.selectors import fish_now, plantings_now
from apps.calc.rhythm import Dates
from apps.care.models import CarePlan, CareTask
from apps.care.selectors import waits_to_begin
from apps.care.services import agreed_set, dates_ahead, noted_done, plan_make
from apps.catalogue.selectors import catalogue_current
from apps.core import clock
from apps.core.exceptions import Invalid
from apps.core.refusing import attempt
from apps.core.scoping import Actor
from apps.flows.care_tasks import mark_set, task_keep
from apps.office.forms.base import EmptyForm
from apps.office.forms.care import OF_MODES, AgreedForm, TaskForm
from apps.office.rhythm_words import late_at_once_words, passed_words
from apps.office.selectors.system_page import care_rows
from apps.office.views.common import POSTED, form_page, found, posted
from apps.office.views.system_edits import system_of, system_url, trail_of
from apps.systems.choices import BEDS
from apps.systems.models import Component, Loop, System


@require_safe
def plan(request: HttpRequest, pk: UUID) -> HttpResponse:
    """Office: every task of a system's plan, those taken out as well."""
    actor, system = system_of(request, pk)
    catalogue = catalogue_current()
    out = CareTask.objects.visible_to(actor).filter(system=system, active=False).order_by("code")
    context = {
        "system": system,
        "agreed": CarePlan.objects.visible_to(actor).filter(system=system).first(),
        "tasks": care_rows(actor, system, catalogue, clock.today()),
        "out": [{"task": task, "name": _(catalogue.name("tasks", task.code))} for task in out],
    }
    return render(request, "office/plan.html", context)


@require_http_methods(POSTED)
def plan_from_catalogue(request: HttpRequest, pk: UUID) -> HttpResponse:
    """Office: ask once, then add what the catalogue says a system like this needs."""
    actor, system = system_of(request, pk)
    form = EmptyForm(posted(request))
    if request.method == "POST" and form.is_valid():
        done = attempt(form, lambda: _make(actor, system))
        if done is not None:
            messages.success(request, _("The plan is made; look it over and change what differs."))
            return redirect(system_url(system, "care"))
    return form_page(
        request, form, "office/confirm.html", heading=_("Make the plan from the catalogue?"),
        text=_("Every task that its parts, fish and plants call for is added, from today on. "
               "Tasks that are in the plan already stay as they are."),
        button=_("Make the plan"), back=system_url(system, "care"),
    )  # fmt: skip


@require_http_methods(POSTED)
def plan_agreed(request: HttpRequest, pk: UUID) -> HttpResponse:
    """Office: how many visits a year were agreed for a system, and until when."""
    actor, system = system_of(request, pk)
    held = CarePlan.objects.visible_to(actor).filter(system=system).first()
    initial = {name: getattr(held, name, None) for name in ("visits_a_year", "agreed_until")}
    form = AgreedForm(posted(request), initial=initial)
    if request.method == "POST" and form.is_valid():
        done = attempt(
            form,
            lambda: agreed_set(system=system, **form.cleaned_data, by=actor, at=actor.at),
        )
        if done is not None:
            messages.success(request, _("Kept. The visit days are planned anew."))
            return redirect("office:plan", system.pk)
    return form_page(
        request, form, heading=_("What was agreed"), button=_("Keep it"), trail=trail_of(system),
        lead=_("Visit days keep to it; what finds no day in it is named, never dropped."),
        back=reverse("office:plan", args=[system.pk]),
    )  # fmt: skip


def _make(actor: Actor, system: System) -> Any:
    # care of what is not built yet is due on no day before it
    anchor = None if waits_to_begin(system.pk) else max(clock.today(), system.started_on or dt.date.min)  # fmt: skip
    return plan_make(
        system=system, catalogue=catalogue_current(), anchor=anchor, at=actor.at,
        **made_of(actor, system),
    )  # fmt: skip


def made_of(actor: Actor, system: System) -> dict[str, Any]:
    """Return what plans are made from: a system's parts, and whether it has fish and plants."""
    parts = list(_parts(actor, system))
    loops = list(_loops(actor, system).values_list("pk", flat=True))
    today = clock.today()
    has_plants = bool(plantings_now(loops, today)) or any(part.kind in BEDS for part in parts)
    return {
        "components": parts,
        "has_fish": bool(fish_now(loops, today)) or any(part.kind == "tank" for part in parts),
        "has_plants": has_plants and system.kind != "fish_only",
    }


def _parts(actor: Actor, system: System) -> Any:
    rows = Component.objects.visible_to(actor).filter(loop__system=system, removed_on__isnull=True)
    return rows.order_by("place_in_flow", "name")


def _loops(actor: Actor, system: System) -> Any:
    return Loop.objects.visible_to(actor).filter(system=system).order_by("kind")


def _choices(actor: Actor, system: System) -> dict[str, Any]:
    catalogue = catalogue_current()
    tasks = [(code, _(catalogue.name("tasks", code))) for code in catalogue.of("tasks")]
    measurands = [
        (code, _(catalogue.name("measurands", code)))
        for code, row in catalogue.of("measurands").items()
        if not row.get("derived")
    ]
    return {
        "tasks": sorted(tasks, key=lambda row: row[1]),
        "measurands": measurands,
        "loops": _loops(actor, system),
        "parts": _parts(actor, system),
    }


def _held(actor: Actor, system: System) -> set[str]:
    """Return the tasks that the plan has for the whole system and that can stand nowhere else."""
    templates = catalogue_current().of("tasks")
    rows = CareTask.objects.visible_to(actor).filter(
        system=system, loop=None, component=None, active=True
    )
    several = _loops(actor, system).count() > 1
    return {
        code for code in rows.values_list("code", flat=True)
        if code in templates and _whole(templates[code], several)
    }  # fmt: skip


def _whole(template: Mapping[str, Any], several: bool) -> bool:
    """Tell whether a task is the system's alone: no part calls for it, and no loop is read for it
    where there are several."""
    parts = set(template.get("needs") or ()) - {"fish", "plants", "decoupled"}
    of_loops = template.get("loop") != "system" or bool(template.get("readings"))
    return not parts and not (several and of_loops)


def _groups(form: TaskForm) -> list[tuple[str, list[Any], str]]:
    """Return heading, fields and the modes that have them (none: every mode)."""
    wanted = (
        (_("What"), ("code", "loop", "component")),
        (_("When"), ("mode",)),
        (_("How often"), ("every_n", "unit")),
        (_("At the end of a month"), ("month_end",)),
        (_("On which days of the calendar"), ("rrule",)),
        (_("By a meter"), ("meter", "meter_limit")),
        (_("At the latest"), ("max_days",)),
        (_("After a reading"), ("measurand", "below", "above")),
        (_("From when"), ("anchor", "last_done")),
        (_("How exactly"), ("early_days", "late_days")),
        (_("In which season"), ("season_from", "season_to", "off_season")),
        (_("How"), ("minutes", "who", "criticality", "active")),
    )
    return [
        (
            heading,
            [form[name] for name in names if name in form.fields],
            " ".join(OF_MODES.get(names[0], ())),
        )
        for heading, names in wanted
    ]


@require_http_methods(POSTED)
def task_new(request: HttpRequest, pk: UUID) -> HttpResponse:
    """Office: add a task to a system's plan, its dates shown before if asked."""
    actor, system = system_of(request, pk)
    form = TaskForm(
        posted(request), initial={"anchor": clock.today()}, held=_held(actor, system),
        **_choices(actor, system),
    )  # fmt: skip
    task = CareTask(system=system)
    return _task_page(request, form, task, actor, _("Add a task"), _("The task is in the plan."))


@require_http_methods(POSTED)
def task_edit(request: HttpRequest, pk: UUID) -> HttpResponse:
    """Office: change a task's rule, its dates shown before if asked, or take it out of the plan."""
    actor = office_of(request)
    rows = CareTask.objects.visible_to(actor).select_related("system__place__client")
    task = found(rows, pk)
    noted = noted_done(task)
    initial = TaskForm.initial_of(task) | {"last_done": noted.done_on if noted else None}
    recorded = task.last_done is not None and (noted is None or noted.done_on != task.last_done)
    form = TaskForm(
        posted(request), initial=initial, recorded=recorded, done=task.last_done,
        **_choices(actor, task.system),
    )  # fmt: skip
    return _task_page(request, form, task, actor, _("Change the task"), _("Kept."))


def _keep(task: CareTask, form: TaskForm, actor: Actor) -> CareTask:
    same = CareTask.objects.visible_to(actor).filter(
        system=task.system, code=task.code, loop=task.loop, component=task.component, active=True
    )
    if task.active and same.exclude(pk=task.pk).exists():
        message = _("This task is in the plan already.")
        raise Invalid([{"pointer": "/code", "value": task.code, "message": message}])
    return task_keep(task=task, done_on=form.done_on, noted=form.asks_done, by=actor, at=actor.at)


def _asked(form: TaskForm, task: CareTask, dates: list[Dates], before: dt.date | None) -> list[str]:
    """Return what a form has to be asked: a task that nothing says was done would be late at once.

    What visits have done speaks for itself, and what stood late before is no news.
    """
    late = dates[0].late if dates else None
    today = clock.today()
    if late is None or late >= today or form.recorded or not task.active:
        return []
    if not task._state.adding and late == before:
        return []
    return [late_at_once_words((today - late).days, task, form.done_on)]


def _task_page(
    request: HttpRequest, form: TaskForm, task: CareTask, actor: Actor, heading: str, done: str
) -> HttpResponse:
    ahead, passed = None, ""
    if request.method == "POST" and form.is_valid():
        before = task.next_late
        changed = form.apply(task)
        found = mark_set(changed, actor.at, form.done_on)
        passed = passed_words(found, catalogue_current()) if found else ""
        dates = attempt(form, lambda: dates_ahead(changed, done_on=form.done_on))
        asked = _asked(form, changed, dates or [], before)
        if dates is not None and "preview" in request.POST:
            ahead = dates
            form.doubts = asked
        elif dates is not None and not form.doubt(asked):
            kept = attempt(form, lambda: _keep(changed, form, actor))
            if kept is not None:
                messages.success(request, " ".join(part for part in (done, passed) if part))
                return redirect("office:plan", task.system_id)
    return form_page(
        request, form, "office/task_form.html", heading=heading, groups=_groups(form), ahead=ahead,
        passed=passed,
        back=system_url(task.system, "care"), trail=trail_of(task.system),
    )  # fmt: skip
