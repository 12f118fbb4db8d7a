"""Where a visit's checklist and what its day asks for disagree, and how the two come together.

A visit keeps the lines that it was booked with; what is planned for its day moves on. Nothing here
touches the time of a visit.
"""

import datetime as dt
from collections.abc import Iterable
from dataclasses import dataclass
from uuid import UUID

from django.db import transaction
from django.utils import timezone
from django.utils.translation import gettext as _

from apps.accounts.services import audit
from apps.care.choices import Mode
from apps.care.models import CareTask
from apps.care.selectors import FIRM_TASKS
from apps.catalogue.selectors import Catalogue
from apps.core.exceptions import StaleVersion
from apps.core.scoping import Actor
from apps.visits.choices import State
from apps.visits.exceptions import LinesStay
from apps.visits.models import Line, Sheet, Visit
from apps.visits.services.lines import lines_wanted, visit_minutes
from apps.visits.services.steps import visit_change, visit_locked

NOT_BEGUN = (State.PENCILLED, State.BOOKED)
ROUND_MINUTES = 5


@dataclass(frozen=True)
class Apart:
    """What a checklist lacks and what it holds for nothing.

    `add`: lines that are not kept yet, some on a sheet that is not there yet; `take`: lines without
    an answer whose task is not open on that day. `work`: what all lines take once they are brought
    together [min]; `booked`: how long the visit stands on the calendar [min].
    """

    add: tuple[Line, ...]
    take: tuple[Line, ...]
    work: int
    booked: int

    @property
    def needs(self) -> int:
        """How long the visit would take [min], up to the next five."""
        return -(-visit_minutes(self.work) // ROUND_MINUTES) * ROUND_MINUTES

    @property
    def too_short(self) -> int:
        """By how much its time is too short then [min]."""
        return max(self.needs - self.booked, 0)

    @property
    def differs(self) -> bool:
        """Whether there is something to say of it."""
        return bool(self.add or self.take or self.too_short)


def lines_apart(visit: Visit, planned: Iterable[CareTask], catalogue: Catalogue) -> Apart:
    """Return where a visit that has not begun and what is planned for its day disagree.

    `planned`: the tasks, with their systems, that the visit days put on this visit. Reads the sheets
    with their lines, tasks and answers, which may have been fetched beforehand.
    """
    by_system: dict[UUID, list[CareTask]] = {}
    for task in planned:
        if task.who in FIRM_TASKS:
            by_system.setdefault(task.system_id, []).append(task)
    add: list[Line] = []
    take: list[Line] = []
    held: list[Line] = []
    for sheet in [*visit.sheets.all(), *_sheets_lacking(visit, by_system)]:
        own = [] if sheet._state.adding else list(sheet.lines.all())
        more, less = _sheet_apart(visit, sheet, own, by_system.get(sheet.system_id, []), catalogue)
        held, add, take = [*held, *own], [*add, *more], [*take, *less]
    work = sum(line.minutes_planned for line in [*held, *add]) - sum(
        line.minutes_planned for line in take
    )
    booked = int((visit.end - visit.start).total_seconds() // 60)
    return Apart(tuple(add), tuple(take), work, booked)


def _sheets_lacking(visit: Visit, planned: dict[UUID, list[CareTask]]) -> list[Sheet]:
    there = {sheet.system_id for sheet in visit.sheets.all()}
    return [
        Sheet(visit=visit, system=tasks[0].system)
        for system_id, tasks in sorted(planned.items(), key=lambda item: str(item[0]))
        if system_id not in there
    ]


def _sheet_apart(
    visit: Visit, sheet: Sheet, held: list[Line], planned: list[CareTask], catalogue: Catalogue
) -> tuple[list[Line], list[Line]]:
    """Return the lines that a sheet lacks, and those that it holds for nothing."""
    on = timezone.localdate(visit.start)
    answered = _answered(sheet)
    kept = {
        line.task.pk: line.task
        for line in held
        if line.task is not None and (line.pk in answered or _open(line.task, on))
    }
    wanted = lines_wanted(
        sheet, [*kept.values(), *(t for t in planned if t.pk not in kept)], catalogue
    )
    there, asked = {line.pk for line in held}, {line.pk for line in wanted}
    return (
        [line for line in wanted if line.pk not in there],
        [line for line in held if line.pk not in asked and line.pk not in answered],
    )


def _open(task: CareTask, on: dt.date) -> bool:
    """Whether the firm does a task on a day: open by then, or wanted at each visit."""
    if not task.active or task.who not in FIRM_TASKS:
        return False
    return task.mode == Mode.EVERY_VISIT or (task.next_open is not None and task.next_open <= on)


def _answered(sheet: Sheet) -> set[UUID]:
    if sheet._state.adding:
        return set()
    paths = (value.path.split("/") for value in sheet.values.all())
    return {UUID(parts[1]) for parts in paths if parts[0] == "lines"}


@transaction.atomic
def lines_mend(
    *,
    visit: Visit,
    planned: Iterable[CareTask],
    catalogue: Catalogue,
    rev: int,
    by: Actor,
    at: dt.datetime,
) -> Apart:
    """Add the lines that a visit lacks and take those that it holds for nothing; its time stays.

    Returns what was done. Raises StaleVersion where somebody else changed the visit meanwhile,
    LinesStay once it has begun or is off.
    """
    current = visit_locked(visit.pk)
    if current.state not in NOT_BEGUN:
        text = _("The visit is %(state)s by now: its checklist stays as it is.")
        raise LinesStay(text % {"state": current.get_state_display()})
    if current.rev != rev:
        raise StaleVersion(_("Somebody else changed this visit; read it again."))
    found = lines_apart(current, planned, catalogue)
    if not found.add and not found.take:
        return found
    fresh = {line.sheet.pk: line.sheet for line in found.add if line.sheet._state.adding}
    Sheet.objects.bulk_create(fresh.values())
    Line.objects.filter(pk__in=[line.pk for line in found.take]).delete()
    Line.objects.bulk_create(found.add)
    visit_change(current)
    audit(
        at=at, by=by, verb="brought the checklist up to date", kind="visit", object_id=visit.pk,
        change={"added": [line.code for line in found.add],
                "taken": [line.code for line in found.take]},
    )  # fmt: skip
    visit.refresh_from_db()
    return found
