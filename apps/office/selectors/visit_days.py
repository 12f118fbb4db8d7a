"""Visit days as pages show them: of one place with what moved, of all places by day."""

import datetime as dt
from dataclasses import dataclass, field
from typing import Any

from django.db.models import Prefetch, QuerySet
from django.utils.translation import gettext as _

from apps.accounts.selectors import days_off
from apps.care.choices import Who, WhyNot
from apps.care.models import (
    CareTask,
    DayQuestion,
    NotPlaced,
    StandingAppointment,
    VisitDay,
    VisitDayPlan,
)
from apps.care.selectors import appointment_days
from apps.catalogue.choices import EntryKind
from apps.catalogue.selectors import Catalogue
from apps.clients.models import Place
from apps.core.scoping import Actor
from apps.office.standing_words import standing_words
from apps.office.visit_day_words import change_words
from apps.systems.models import System
from apps.visits.models import Line, Visit
from apps.visits.services.mending import NOT_BEGUN, Apart, lines_apart

WEEKS, NEXT = 4, 3
ONE_DAY = dt.timedelta(days=1)


@dataclass(frozen=True)
class TaskShown:
    """A task on a visit day; `late`: why it lies outside its time, else empty."""

    name: str
    system: str
    minutes: int
    due: dt.date | None
    late: str
    who: str


@dataclass(frozen=True)
class DayShown:
    """A visit day with its tasks, the visit that stands on it, and where the two disagree."""

    row: VisitDay
    tasks: list[TaskShown]
    systems: list[System]
    visit: Visit | None
    lacking: list[System]
    apart: Apart | None = None

    @property
    def movable(self) -> bool:
        """Whether it may move at all."""
        return self.row.earliest != self.row.latest


@dataclass
class PlaceShown:
    """What is planned for a place."""

    plan: VisitDayPlan | None
    days: list[DayShown]
    left: list[tuple[str, str, dt.date | None]] = field(default_factory=list)
    later: list[str] = field(default_factory=list)
    clients: list[str] = field(default_factory=list)
    asked: list[tuple[DayQuestion, Visit]] = field(default_factory=list)
    changes: list[tuple[str, list[str]]] = field(default_factory=list)


@dataclass(frozen=True)
class FirmDay:
    """A day with the places to visit; `off`: its name where the firm is closed."""

    on: dt.date
    off: str
    days: list[DayShown]
    minutes: int

    @property
    def hours(self) -> float:
        """Hours of work, without the way."""
        return round(self.minutes / 60, 1)


def _name(catalogue: Catalogue, code: str) -> str:
    return _(catalogue.name(EntryKind.TASK, code))


def days_shown(actor: Actor, rows: QuerySet[VisitDay], catalogue: Catalogue) -> list[DayShown]:
    """Return visit days with all that is shown of them: six queries."""
    days = list(
        rows.select_related("place__client", "appointment").prefetch_related("tasks__task__system")
    )
    kept = {day.kept_for for day in days if day.kept_for}
    lines = Prefetch("sheets__lines", Line.objects.select_related("task"))
    visits = (
        Visit.objects.visible_to(actor)
        .prefetch_related("sheets", lines, "sheets__values")
        .in_bulk(list(kept))
    )
    return [_shown(day, visits.get(day.kept_for), catalogue) for day in days]


def _shown(day: VisitDay, visit: Visit | None, catalogue: Catalogue) -> DayShown:
    tasks, systems = [], {}
    for row in day.tasks.all():
        system = row.task.system
        systems[system.pk] = system
        tasks.append(
            TaskShown(
                _name(catalogue, row.task.code), system.name, row.task.minutes, row.due,
                row.get_why_display() if row.why else "",
                row.task.get_who_display() if row.task.who != Who.TECHNICIAN else "",
            )
        )  # fmt: skip
    held = {sheet.system_id for sheet in visit.sheets.all()} if visit else set()
    in_order = sorted(systems.values(), key=lambda system: system.name)
    return DayShown(
        day, sorted(tasks, key=lambda task: (task.due is None, task.due, task.name)), in_order,
        visit, [system for system in in_order if visit and system.pk not in held],
        _apart(visit, day, catalogue),
    )  # fmt: skip


def _apart(visit: Visit | None, day: VisitDay, catalogue: Catalogue) -> Apart | None:
    if visit is None or visit.state not in NOT_BEGUN:
        return None
    found = lines_apart(visit, [row.task for row in day.tasks.all()], catalogue)
    return found if found.differs else None


def place_days(actor: Actor, place: Place, catalogue: Catalogue) -> PlaceShown:
    """Return what is planned for a place, what found no day, what moved and what is asked."""
    plan = VisitDayPlan.objects.visible_to(actor).filter(place=place, made_on__isnull=False).first()
    if plan is None:
        return PlaceShown(None, [])
    rows = VisitDay.objects.visible_to(actor).filter(place=place).order_by("on")
    shown = PlaceShown(plan, days_shown(actor, rows, catalogue))
    for item in (
        NotPlaced.objects.visible_to(actor).filter(place=place).select_related("task__system")
    ):
        name = _task_name(item.task, catalogue)
        if item.reason == WhyNot.CLIENT_DOES_IT:
            shown.clients.append(name)
        elif item.reason == WhyNot.CAN_WAIT:
            shown.later.append(name)
        else:
            shown.left.append((name, item.get_reason_display(), item.nearest))
    for names in (shown.left, shown.later, shown.clients):
        names.sort(key=str)
    asked = DayQuestion.objects.visible_to(actor).filter(place=place).order_by("on")
    visits = Visit.objects.visible_to(actor).in_bulk([row.visit_id for row in asked])
    shown.asked = [(row, visits[row.visit_id]) for row in asked if row.visit_id in visits]
    shown.changes = _changes(actor, plan, catalogue)
    return shown


def _task_name(task: CareTask, catalogue: Catalogue) -> str:
    return f"{_name(catalogue, task.code)} ({task.system.name})"


def _changes(actor: Actor, plan: VisitDayPlan, catalogue: Catalogue) -> list[tuple[str, list[str]]]:
    """Return what moved, alike for several tasks in one sentence, each with the tasks' names."""
    keys = {row["system"] for row in plan.changes}
    systems = System.objects.visible_to(actor).in_bulk(list(keys)) if keys else {}
    names = {str(pk): system.name for pk, system in systems.items()}
    alike: dict[tuple[str, ...], list[str]] = {}
    for row in plan.changes:
        name = f"{_name(catalogue, row['code'])} ({names.get(row['system'], '')})"
        alike.setdefault((row["old"], row["new"], row["why"]), []).append(name)
    return [
        (change_words(dict(zip(("old", "new", "why"), key, strict=True)), tasks), sorted(tasks))
        for key, tasks in alike.items()
    ]


def firm_days(
    actor: Actor, first: dt.date, catalogue: Catalogue, area: str = "", weeks: int = WEEKS
) -> list[FirmDay]:
    """Return the visit days of all places for some weeks, by day; weekends only where visited."""
    last = first + dt.timedelta(days=7 * weeks - 1)
    rows = VisitDay.objects.visible_to(actor).filter(on__gte=first, on__lte=last)
    rows = rows.filter(place__area=area) if area else rows
    by_day: dict[dt.date, list[DayShown]] = {}
    for day in days_shown(actor, rows.order_by("on", "place__area", "place__name"), catalogue):
        by_day.setdefault(day.row.on, []).append(day)
    off = {row.day: row.name for row in days_off(first, last) if not row.works}
    every = (first + n * ONE_DAY for n in range(7 * weeks))
    return [
        FirmDay(day, off.get(day, ""), found, sum(item.row.minutes for item in found))
        for day in every
        if (found := by_day.get(day, [])) or day in off
    ]


def standing_shown(
    actor: Actor, place: Place, today: dt.date
) -> list[tuple[StandingAppointment, str, list[dt.date]]]:
    """Return a place's standing appointments that go on, each with its rule and its next days."""
    rows = StandingAppointment.objects.visible_to(actor).filter(place=place)
    rows = rows.exclude(last__lt=today).select_related("technician").order_by("made_at", "pk")
    ahead = today + dt.timedelta(days=366)
    return [
        (row, standing_words(row.rrule), appointment_days(row, today, ahead)[:NEXT]) for row in rows
    ]


def systems_on(actor: Actor, place: Place, on: dt.date) -> list[Any]:
    """Return the keys of the systems that a visit day of a place is for."""
    rows = VisitDay.objects.visible_to(actor).filter(place=place, on=on)
    keys = rows.filter(tasks__isnull=False).values_list("tasks__task__system", flat=True)
    return list(keys.distinct())
