"""The due list: which systems need somebody, how soon, and why; and what counters showed.

Its rows are plain tuples of the columns that are shown: instances of four models for each line of
a list of hundreds would cost more than the database does.
"""

import datetime as dt
import json
from collections.abc import Iterable
from typing import Any, NamedTuple
from uuid import UUID

from django.db.models import Case, F, IntegerField, Q, QuerySet, TextField, Value, When
from django.db.models.functions import Cast

from apps.calc.rhythm import Meter, Reading, Rhythm, occurrence_after
from apps.care.choices import Mode, Urgency, Who
from apps.care.models import CareTask, FeedCount, MeterReading, Standing, StandingAppointment
from apps.core.scoping import Actor, ScopedQuerySet

URGENT, HARMFUL, LATE_A, OUT_OF_BAND, LATE, DUE, QUIET = 1, 2, 3, 4, 5, 6, 9
# so many days of a rule are held against the place's hours
LOOKED_AT = 60
FIRM_TASKS = (Who.TECHNICIAN, Who.ELECTRICIAN)
# a task that counts from a day that nobody has said yet: its system is not built
WAITS = Q(active=True, mode=Mode.AFTER_DONE, anchor=None, last_done=None)


class Reason(NamedTuple):
    """Why a system stands in the list: a code with what its words are made from."""

    code: str
    since: dt.date | None
    parameters: dict[str, Any]
    value: float | None = None
    unit: str = ""


class DueTask(NamedTuple):
    """A task that is due, with its window."""

    system_id: UUID
    pk: UUID
    code: str
    next_open: dt.date
    next_due: dt.date
    next_late: dt.date | None
    minutes: int
    criticality: str


class DueSystem(NamedTuple):
    """A system as the list names it, and its standing; `advice` and the like are JSON."""

    pk: UUID
    name: str
    place_id: UUID
    place_name: str
    street: str
    town: str
    area: str
    client_id: UUID
    client_name: str
    ranked_as: int
    due_by: dt.date | None
    ahead_from: dt.date | None
    advice_urgency: str
    advice_since: dt.datetime | None
    worst_judgement: str
    worst_since: dt.datetime | None
    advice: str
    worst: str
    latest: str
    ahead: str

    @property
    def address(self) -> str:
        """Street and town."""
        return f"{self.street}, {self.town}"


class DueRow(NamedTuple):
    """One system that needs somebody."""

    rank: int
    system: DueSystem
    days_late: int
    reasons: list[Reason]
    tasks: list[DueTask]


# in the order of DueSystem; JSON as text, since most of it is empty and need not be taken apart
COLUMNS: tuple[str | Cast, ...] = (
    "system_id", "system__name", "system__place_id", "system__place__name",
    "system__place__street", "system__place__town", "system__place__area",
    "system__place__client_id", "system__place__client__name", "ranked_as", "due_by",
    "ahead_from", "advice_urgency", "advice_since", "worst_judgement", "worst_since",
    *(Cast(name, TextField()) for name in ("advice", "worst", "latest", "ahead")),
)  # fmt: skip


def ranked(actor: Actor, on: dt.date) -> QuerySet[Standing]:
    """Return the standings that need somebody on a day, what hurts most first.

    Order: open advice for now or today; last trusted reading harmful; late tasks of criticality A
    by days late; out of band; other late tasks; due tasks, and limits that a forecast sees passed
    soon; then the system's id.
    """
    late_a = Q(late_a_from__lt=on)
    ranked_as = Case(
        When(fixed_class=URGENT, then=Value(URGENT)),
        When(fixed_class=HARMFUL, then=Value(HARMFUL)),
        When(late_a, then=Value(LATE_A)),
        When(fixed_class=OUT_OF_BAND, then=Value(OUT_OF_BAND)),
        When(due_by__lt=on, then=Value(LATE)),
        When(Q(due_from__lte=on) | Q(ahead_from__lte=on), then=Value(DUE)),
        default=Value(QUIET),
        output_field=IntegerField(),
    )
    # only systems that the index can find: no expression over the whole table
    wanted = (
        Q(fixed_class__lte=OUT_OF_BAND) | Q(due_from__lte=on) | Q(late_a_from__lt=on)
        | Q(ahead_from__lte=on)
    )  # fmt: skip
    # among those late with A tasks the longest wait comes first; the others go by id alone
    longest = Case(When(late_a, fixed_class__gt=HARMFUL, then=F("late_a_from")), default=Value(on))
    return (
        Standing.objects.visible_to(actor)
        .filter(wanted, system__active=True)
        .annotate(ranked_as=ranked_as)
        .order_by("ranked_as", longest, "system_id")
    )


def _tasks(
    standings: QuerySet[Standing], systems: list[DueSystem], on: dt.date
) -> dict[UUID, list[DueTask]]:
    found: dict[UUID, list[DueTask]] = {system.pk: [] for system in systems}
    # a page by its keys; a whole list by its rule, or thousands of keys would go back and forth
    among: Any = list(found) if standings.query.is_sliced else standings.order_by().values("pk")
    due = CareTask.objects.filter(
        system_id__in=among, active=True, who__in=FIRM_TASKS, next_due__lte=on
    ).order_by("next_late", "code")
    for task in map(DueTask._make, due.values_list(*DueTask._fields)):
        if task.system_id in found:
            found[task.system_id].append(task)
    return found


def _reasons(system: DueSystem, tasks: list[DueTask], on: dt.date) -> list[Reason]:
    reasons = []
    if system.advice_urgency in (Urgency.NOW, Urgency.TODAY):
        since = system.advice_since.date() if system.advice_since else None
        code = "advice_now" if system.advice_urgency == Urgency.NOW else "advice_today"
        reasons.append(Reason(code, since, json.loads(system.advice)))
    if system.worst_judgement in ("harmful", "out_of_band"):
        since = system.worst_since.date() if system.worst_since else None
        worst = json.loads(system.worst)
        reasons.append(
            Reason(system.worst_judgement, since, worst, worst.get("value"), worst.get("unit", ""))
        )
    groups: dict[str, list[DueTask]] = {}
    for task in tasks:
        late = task.next_late is not None and task.next_late < on
        code = "due" if not late else "late_a" if task.criticality == "A" else "late"
        groups.setdefault(code, []).append(task)
    for code in ("late_a", "late", "ahead", "due"):
        if code == "ahead" and system.ahead_from and system.ahead_from <= on:
            reasons.append(_crossing(json.loads(system.ahead)))
        if rows := groups.get(code):
            first, count = rows[0], len(rows)
            parameters = {"task": first.code, "count": count}
            reasons.append(Reason(code, first.next_due, parameters, float(count)))
    return reasons


def _crossing(seen: dict[str, Any]) -> Reason:
    day = seen.get("middle") or seen.get("soonest")
    since = dt.date.fromisoformat(day) if day else None
    return Reason("ahead", since, seen, seen.get("level"), str(seen.get("unit") or ""))


def due_rows(standings: QuerySet[Standing], on: dt.date, first_rank: int = 1) -> list[DueRow]:
    """Return the rows of ranked standings, all or one page: two queries, however many there are."""
    systems = [DueSystem._make(row) for row in standings.values_list(*COLUMNS)]
    tasks = _tasks(standings, systems, on)
    rows = []
    for rank, system in enumerate(systems, first_rank):
        own = tasks[system.pk]
        days_late = max(0, (on - system.due_by).days) if system.due_by else 0
        rows.append(DueRow(rank, system, days_late, _reasons(system, own, on), own))
    return rows


def open_tasks(system_id: UUID, on: dt.date) -> list[CareTask]:
    """Return the firm's tasks that may be done on a day: open by then, or wanted at each visit."""
    return list(
        CareTask.objects.filter(
            Q(next_open__lte=on) | Q(mode="every_visit"),
            system_id=system_id,
            active=True,
            who__in=FIRM_TASKS,
        )
    )


def feed_counts(system_ids: Iterable[UUID]) -> ScopedQuerySet:
    """Return the counts of feed of systems, the one that counts first.

    That is the latest; of two of the same time the one that was noted later, and of two that were
    noted at once the smaller one, which is written about sooner.
    """
    rows: ScopedQuerySet = FeedCount.objects.filter(system_id__in=list(system_ids))
    return rows.order_by("-counted_at", "-made_at", "amount_g", "pk")


def meter_readings(
    system_id: UUID, meter: str, loop_id: UUID | None = None, component_id: UUID | None = None
) -> QuerySet[MeterReading]:
    """Return what one counter has shown, oldest first, without what was withdrawn."""
    where: dict[str, Any] = {"loop_id": loop_id, "component_id": component_id}
    rows = MeterReading.objects.filter(system_id=system_id, meter=meter, **where)
    return rows.filter(withdrawal=None).order_by("taken_on", "made_at")


def counters_of(tasks: Iterable[CareTask]) -> dict[UUID, dict[str, Meter]]:
    """Return the counter of each task that waits for one, by the meter's name: one query, or none.

    A task goes by the counter that stands where the task does: at its system, loop or component.
    What was withdrawn does not count.
    """
    waiting = [task for task in tasks if task.meter]
    if not waiting:
        return {}
    shown: dict[tuple[Any, ...], list[Reading]] = {}
    systems = {task.system_id for task in waiting}
    rows = MeterReading.objects.filter(system_id__in=systems, withdrawal=None)
    for row in rows.order_by("taken_on", "made_at"):
        where = (row.system_id, row.loop_id, row.component_id, row.meter)
        shown.setdefault(where, []).append(Reading(row.taken_on, row.value, row.is_reset))
    return {task.pk: {task.meter: Meter(tuple(shown.get(_counter(task), ())))} for task in waiting}


def waits_to_begin(system_id: UUID) -> bool:
    """Tell whether care of a system sleeps until somebody says from when it runs."""
    return CareTask.objects.filter(WAITS, system=system_id).exists()


def wanting_systems(place_id: UUID) -> set[UUID]:
    """Return a place's systems with open advice that asks for a deed, or a reading out of band."""
    asks = ~Q(advice_urgency__in=["", Urgency.GOOD_TO_KNOW])
    out = Q(worst_judgement__in=["out_of_band", "harmful"])
    rows = Standing.objects.filter(asks | out, system__place=place_id, system__active=True)
    return set(rows.values_list("system_id", flat=True))


def appointment_days(row: StandingAppointment, first: dt.date, last: dt.date) -> list[dt.date]:
    """Return the days of a standing appointment from the first to the last day, both included."""
    until = min(last, row.last or last)
    rhythm = Rhythm("calendar", rrule=row.rrule, anchor=row.first)
    found: list[dt.date] = []
    day = occurrence_after(rhythm, first - dt.timedelta(days=1))
    while day is not None and day <= until:
        found.append(day)
        day = occurrence_after(rhythm, day)
    return found


def barred_weekdays(row: StandingAppointment) -> list[int]:
    """Return the days of the week of a standing appointment on which nobody may come then.

    ISO 8601 numbers, of the first days of its rule; none where the place has no hours.
    """
    hours = list(row.place.hours.all())
    rhythm = Rhythm("calendar", rrule=row.rrule, anchor=row.first)
    weekdays: set[int] = set()
    day = occurrence_after(rhythm, row.first - dt.timedelta(days=1)) if hours else None
    for _n in range(LOOKED_AT):
        if day is None or day > (row.last or day):
            break
        weekdays.add(day.isoweekday())
        day = occurrence_after(rhythm, day)
    let_in = {
        span.weekday for span in hours if span.opens <= row.starts and row.ends <= span.closes
    }
    return sorted(weekdays - let_in)


def standing_barred(place_id: UUID, on: dt.date) -> list[StandingAppointment]:
    """Return a place's standing appointments that go on, and for which its hours let nobody in."""
    rows = StandingAppointment.objects.filter(place=place_id).exclude(last__lt=on)
    rows = rows.prefetch_related("place__hours").order_by("starts", "made_at", "pk")
    return [row for row in rows if barred_weekdays(row)]


def _counter(task: CareTask) -> tuple[Any, ...]:
    return (task.system_id, task.loop_id, task.component_id, task.meter)
