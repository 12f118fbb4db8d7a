"""What a system's page shows: readings by loop, life, care, history, advice, visits."""

import datetime as dt
from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Any
from uuid import UUID

from django.db.models import Count, Prefetch, Q, QuerySet
from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from apps.advice.explaining import source_titles
from apps.advice.models import Advice
from apps.advice.selectors import advice_text, caution_texts, done_lately, open_advice
from apps.batches.models import Deaths, Treatment
from apps.care.choices import Criticality, Urgency
from apps.care.models import CareTask
from apps.care.selectors import FIRM_TASKS
from apps.catalogue.selectors import Catalogue
from apps.core.numbers import format_figure, with_unit
from apps.core.scoping import Actor
from apps.office.rhythm_words import rhythm_words
from apps.office.wording import day_words, people_by_author
from apps.reports.models import Report
from apps.systems.choices import LoopKind
from apps.systems.models import Component, Flow, Loop, System
from apps.systems.selectors import flows_of, loop_litres
from apps.visits.choices import HOLDING, WORST_FIRST, TakenBy, Word
from apps.visits.models import Assignment, CallNote, Reading, ReadingPhoto, Sheet, Visit
from apps.visits.selectors import history, latest
from apps.visits.shown import Shown, loop_name, order_of, reading_data, shown, sketch_data

SPARK = dt.timedelta(days=90)
RECENT = 8


@dataclass
class LoopTable:
    """The readings of one loop as a table."""

    loop: Loop
    name: str
    rows: list[Shown]
    others: list[Shown]
    taken: dt.datetime | None
    by: str
    before: dt.datetime | None


@dataclass
class Readings:
    """All that the page draws out of the readings of 90 days."""

    tables: list[LoopTable]
    sketch: list[dict[str, Any]]
    worst: Shown | None
    count: int = 0


def readings_of(loops: Sequence[Loop], now: dt.datetime, catalogue: Catalogue) -> Readings:
    """Return the tables and the sketch: three queries."""
    rows = history([loop.pk for loop in loops], now, now - SPARK)
    series: dict[tuple[UUID, str], list[Reading]] = {}
    for row in rows:
        series.setdefault((row.loop_id, row.measurand), []).append(row)
    data = {
        key: reading_data(found[-1], _before(found), found, catalogue)
        for key, found in series.items()
    }
    names = people_by_author([row.by for row in latest(rows).values() if row.by])
    tables = [_table(loop, series, data, names) for loop in loops]
    parts = [part.pk for loop in loops for part in loop.fitted]  # type: ignore[attr-defined]
    drawn = sketch_data(loops, flows_of(parts), data)
    return Readings(tables, drawn, _worst(tables), len(rows))


def _before(found: list[Reading]) -> Reading | None:
    earlier = [row for row in found[:-1] if row.trusted and row.when == found[-1].when]
    return earlier[-1] if earlier else None


def _table(
    loop: Loop,
    series: dict[tuple[UUID, str], list[Reading]],
    data: dict[tuple[UUID, str], dict[str, Any]],
    names: dict[str, str],
) -> LoopTable:
    keys = sorted((key for key in data if key[0] == loop.pk), key=lambda key: order_of(key[1]))
    everything = [shown(data[key]) for key in keys]
    # what has no band is not judged: it stands beneath, without a water line
    rows = [item for item in everything if item.good]
    others = [item for item in everything if not item.good]
    last = max((series[key][-1] for key in keys), key=lambda row: row.taken_at, default=None)
    before = max(
        (
            dt.datetime.fromisoformat(row.data["last_at"])
            for row in everything
            if row.data["last_at"]
        ),
        default=None,
    )
    by = names.get(last.by, "") if last else ""
    name = "" if loop.kind == LoopKind.WHOLE else str(loop.get_kind_display())
    return LoopTable(loop, name, rows, others, last.taken_at if last else None, by, before)


def _worst(tables: list[LoopTable]) -> Shown | None:
    rows = [row for table in tables for row in table.rows if row.word in WORST_FIRST]
    return min(rows, key=lambda row: WORST_FIRST.index(row.word), default=None)


def opening(readings: Readings, tasks: list[dict[str, Any]], on: dt.date) -> str:
    """Return the page's first sentence: the water, then the care."""
    return " ".join(part for part in (_water(readings), _care(tasks, on)) if part)


def _water(readings: Readings) -> str:
    worst = readings.worst
    if worst is None:
        return _("Nothing has been measured yet.") if not readings.count else ""
    words = {"name": worst.name, "figure": with_unit(worst.figure, worst.unit)}
    if worst.word == Word.HARMFUL:
        return _("%(name)s is harmful at %(figure)s.") % words
    if worst.word == Word.OUT_OF_BAND:
        return _("%(name)s is out of band at %(figure)s; nothing is harmful.") % words
    if worst.word == Word.NEAR_EDGE:
        return _("All is in band; %(name)s is near the edge at %(figure)s.") % words
    return _("All that was measured is in band.")


def _care(tasks: list[dict[str, Any]], on: dt.date) -> str:
    ours = [row["task"] for row in tasks if row["task"].who in FIRM_TASKS]
    dated = [task for task in ours if task.next_due]
    late = [task for task in dated if task.next_late and task.next_late < on]
    due = [task for task in dated if task.next_due <= on]
    if late:
        return ngettext("%(count)d task is late.", "%(count)d tasks are late.", len(late)) % {
            "count": len(late)
        }
    if due:
        return ngettext("%(count)d task is due.", "%(count)d tasks are due.", len(due)) % {
            "count": len(due)
        }
    if dated:
        return _("Care is next due on %(day)s.") % {"day": day_words(dated[0].next_due)}
    if sleeping(tasks):
        return _("Its care sleeps until it is built: plan its first weeks.")
    return ""


def sleeping(tasks: list[dict[str, Any]]) -> bool:
    """Tell whether care sleeps until somebody says from when the system runs."""
    return any(row["task"].waits for row in tasks)


def care_rows(
    actor: Actor, system: System, catalogue: Catalogue, on: dt.date
) -> list[dict[str, Any]]:
    """Return the care tasks in the order of their dates, dormant ones last: one query."""
    tasks = (
        CareTask.objects.visible_to(actor)
        .filter(system=system, active=True)
        .select_related("loop", "component")
    )
    ordered = sorted(tasks, key=lambda task: (task.next_due or dt.date.max, task.code))
    return [
        {"task": task, "name": _(catalogue.name("tasks", task.code)), "urgency": _pressing(task, on),
         "rhythm": rhythm_words(task, catalogue), "give_or_take": give_or_take(task)}
        for task in ordered
    ]  # fmt: skip


def give_or_take(task: CareTask) -> str:
    """Return by how many days a task may be early and late; nothing where it is held to its day."""
    if task.next_open is None or task.next_due is None or task.next_late is None:
        return ""
    early, late = (task.next_due - task.next_open).days, (task.next_late - task.next_due).days
    if early == late:
        return f"± {late}" if late else ""
    return f"−{early} +{late}"


def _pressing(task: CareTask, on: dt.date) -> str:
    if task.next_due is None or task.next_open is None or task.who not in FIRM_TASKS:
        return ""
    if task.next_late is not None and task.next_late < on:
        late_a = task.criticality == Criticality.A
        return str(Urgency.TODAY if late_a else Urgency.WITHIN_3_DAYS)
    if task.next_due <= on:
        return str(Urgency.NEXT_VISIT)
    return str(Urgency.GOOD_TO_KNOW) if task.next_open <= on else ""


def built_of(loops: Sequence[Loop]) -> list[dict[str, Any]]:
    """Return the loops with their litres and fitted components."""
    return [
        {"loop": loop, "name": loop_name(loop.kind), "litres": loop_litres(loop),
         "parts": loop.fitted}  # type: ignore[attr-defined]
        for loop in loops
    ]  # fmt: skip


def flows_shown(actor: Actor, system: System) -> list[Flow]:
    """Return a system's flows with their components: one query."""
    rows = Flow.objects.visible_to(actor).filter(source__loop__system=system)
    return list(
        rows.select_related("source", "target").order_by(
            "source__loop__kind", "source__place_in_flow", "target__place_in_flow"
        )
    )


def advice_rows(system: System, catalogue: Catalogue) -> list[dict[str, Any]]:
    """Return the open advice in words, most urgent first: one query."""
    return [advice_shown(row, catalogue) for row in open_advice([system.pk])]


def advice_done(system: System, catalogue: Catalogue) -> list[dict[str, Any]]:
    """Return the latest visit's advice that was noted as done: it may be taken back. One query."""
    return [advice_shown(row, catalogue) for row in done_lately(system.pk)]


def advice_shown(row: Advice, catalogue: Catalogue) -> dict[str, Any]:
    """Return an advice as the office reads it."""
    return {
        "row": row,
        "text": row.decision_text or advice_text(row.rule, row.parameters),
        "cautions": " ".join(caution_texts(row.parameters.get("cautions", []))),
        "source": "; ".join(source_titles([str(row.parameters.get("source", ""))], catalogue)),
    }


@dataclass(frozen=True)
class Event:
    """One thing that happened to a system."""

    at: dt.datetime
    lead: str
    text: str
    visit: Visit | None = None
    reports: list[Report] = field(default_factory=list)
    photo: ReadingPhoto | None = None


def visits_of(actor: Actor, system: System) -> list[Visit]:
    """Return the visits to come or under way, next first: two queries."""
    rows = Visit.objects.visible_to(actor).filter(sheets__system=system, state__in=HOLDING)
    return list(_with_people(rows, actor).order_by("start"))


def _with_people(rows: QuerySet[Visit], actor: Actor) -> QuerySet[Visit]:
    people = Assignment.objects.visible_to(actor).select_related("user")
    return rows.prefetch_related(Prefetch("assignments", people))


def events_of(
    actor: Actor, system: System, loops: Sequence[Loop], catalogue: Catalogue, most: int = RECENT
) -> list[Event]:
    """Return what happened lately, newest first: a fixed number of queries."""
    ids = [loop.pk for loop in loops]
    events = [
        *_visit_events(actor, system, most), *_reading_events(actor, ids, catalogue, most),
        *_call_events(actor, system, most), *_swap_events(actor, ids, most),
        *_life_events(actor, ids, most),
    ]  # fmt: skip
    return sorted(events, key=lambda event: event.at, reverse=True)[:most]


def _visit_events(actor: Actor, system: System, most: int) -> list[Event]:
    sheets = (
        Sheet.objects.visible_to(actor)
        .filter(system=system, visit__written_up_at__isnull=False)
        .select_related("visit")
        .annotate(
            wanted=Count("lines", distinct=True),
            done=Count("lines", filter=Q(lines__outcome="done"), distinct=True),
        )
        .prefetch_related(
            Prefetch(
                "visit__assignments", Assignment.objects.visible_to(actor).select_related("user")
            ),
            Prefetch("visit__reports", Report.objects.visible_to(actor).filter(system=system)),
        )
        .order_by("-visit__start")[:most]
    )
    return [
        Event(
            at=sheet.visit.finished_at or sheet.visit.start,
            lead=_("Visit, %(people)s.")
            % {"people": ", ".join(str(row.user) for row in sheet.visit.assignments.all())},
            text=_("%(done)d of %(wanted)d lines done.")
            % {"done": sheet.done, "wanted": sheet.wanted},
            visit=sheet.visit,
            reports=list(sheet.visit.reports.all()),
        )
        for sheet in sheets
    ]


def _figure(row: Reading, catalogue: Catalogue) -> str:
    entry = catalogue.measurand(row.measurand) or {}
    name = _(str(entry.get("name") or row.measurand))
    figure = format_figure(row.value, int(entry.get("decimals") or 0))
    return f"{name} {with_unit(figure, row.unit)}"


def _reading_events(actor: Actor, ids: list[UUID], catalogue: Catalogue, most: int) -> list[Event]:
    rows = (
        Reading.objects.visible_to(actor)
        .filter(Q(corrects__isnull=False) | Q(taken_by=TakenBy.CLIENT), loop_id__in=ids)
        .select_related("corrects", "photo")
        .order_by("-received_at")[:most]
    )
    events = []
    for row in rows:
        if row.corrects is None:
            text = _("logged %(reading)s.") % {"reading": _figure(row, catalogue)}
            photo = getattr(row, "photo", None)
            events.append(Event(row.taken_at, _("Client"), text, photo=photo))
            continue
        text = _("by the office: %(new)s, not %(old)s (%(reason)s).") % {
            "new": _figure(row, catalogue), "old": _figure(row.corrects, catalogue),
            "reason": row.correction_reason,
        }  # fmt: skip
        events.append(Event(row.received_at, _("Correction"), text))
    return events


def _call_events(actor: Actor, system: System, most: int) -> list[Event]:
    rows = CallNote.objects.visible_to(actor).filter(system=system).order_by("-at")[:most]
    return [Event(row.at, _("Call."), row.text) for row in rows]


def _noon(day: dt.date) -> dt.datetime:
    return timezone.make_aware(dt.datetime.combine(day, dt.time(12)))


def _swap_events(actor: Actor, ids: list[UUID], most: int) -> list[Event]:
    rows = (
        Component.objects.visible_to(actor)
        .filter(loop_id__in=ids, replaces__isnull=False, fitted_on__isnull=False)
        .select_related("replaces")
        .order_by("-fitted_on")[:most]
    )
    return [
        Event(_noon(row.fitted_on), _("Swap."),
              _("%(new)s in the place of %(old)s.") % {"new": _serial(row),
                                                       "old": _serial(row.replaces)})
        for row in rows
        if row.fitted_on is not None and row.replaces is not None
    ]  # fmt: skip


def _serial(part: Component) -> str:
    return f"{part.name} {part.serial}".strip()


def _life_events(actor: Actor, ids: list[UUID], most: int) -> list[Event]:
    dead = Deaths.objects.visible_to(actor).filter(batch__loop_id__in=ids).order_by("-on")[:most]
    events = [
        Event(_noon(row.on), _("Fish."),
              " ".join(part for part in (
                  ngettext("%(count)d found dead.", "%(count)d found dead.", row.count)
                  % {"count": row.count}, row.note) if part))
        for row in dead
    ]  # fmt: skip
    treated = Treatment.objects.visible_to(actor).filter(loop_id__in=ids).order_by("-began_on")
    return events + [
        Event(_noon(row.began_on), _("Treatment."),
              _("%(product)s, lot %(lot)s, on the word of %(who)s.")
              % {"product": row.product, "lot": row.lot, "who": row.on_whose_word})
        for row in treated[:most]
    ]  # fmt: skip
