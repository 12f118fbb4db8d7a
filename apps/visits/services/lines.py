"""The lines of a checklist: from what is due and what the system is made of, in working order."""

from collections.abc import Collection
from uuid import UUID, uuid5

from django.utils import timezone

from apps.care.models import CareTask
from apps.care.selectors import open_tasks
from apps.catalogue.selectors import Catalogue, catalogue_current
from apps.visits.choices import GREETING_MINUTES, LEFT_RUNNING, SHORTEST_MINUTES
from apps.visits.models import Line, Sheet, Visit

LINE_SPACE = UUID("7d1f6f0e-55a1-5c1c-9b1e-6f1d1f2c9a10")
FIRST_TEST = "water_full_test"
LAST_POSITION = 10_000


def line_id(sheet_id: UUID, code: str, task_id: UUID | None) -> UUID:
    """Return a line's key: the same for the same task on the same sheet."""
    return uuid5(LINE_SPACE, f"{sheet_id}/{code}/{task_id or ''}")


def visit_minutes(work: int) -> int:
    """Return how long a visit takes [min] whose lines take `work` [min]: words at the door besides."""
    return max(work + GREETING_MINUTES, SHORTEST_MINUTES)


def _position(catalogue: Catalogue, code: str) -> int:
    template = catalogue.task(code)
    return int(template["order"]) if template else 5000


def lines_wanted(sheet: Sheet, tasks: list[CareTask], catalogue: Catalogue) -> list[Line]:
    """Return the unsaved lines that a sheet asks for, from the tasks that are open that day."""
    apart = _apart(catalogue)
    lines: list[Line] = []
    taken: set[str] = set()
    # what is due first has the right of way over what would hurt the filter on the same day
    for task in sorted(tasks, key=lambda task: (task.next_due is None, task.next_due, task.code)):
        if apart.get(task.code, set()) & taken:
            continue
        taken.add(task.code)
        lines.append(_line(sheet, task.code, task, _position(catalogue, task.code)))
    if FIRST_TEST not in taken:
        lines.append(_line(sheet, FIRST_TEST, None, _position(catalogue, FIRST_TEST)))
    lines.append(_line(sheet, LEFT_RUNNING, None, LAST_POSITION))
    return lines


def _line(sheet: Sheet, code: str, task: CareTask | None, position: int) -> Line:
    task_id = task.pk if task else None
    return Line(
        pk=line_id(sheet.pk, code, task_id),
        sheet=sheet,
        task=task,
        code=code,
        position=position,
        minutes_planned=task.minutes if task else 5,
    )


def lines_again(sheet: Sheet, keys: Collection[UUID], catalogue: Catalogue) -> list[Line]:
    """Return unsaved lines that were taken off a sheet while somebody answered them, by their keys.

    A phone that was out of reach knows nothing of it: what it says was done was done.
    """
    tasks = [(task.code, task) for task in CareTask.objects.filter(system=sheet.system_id)]
    lines = [
        _line(sheet, code, task, _position(catalogue, code))
        for code, task in [*tasks, (FIRST_TEST, None)]
    ]
    return [line for line in lines if line.pk in keys]


def _apart(catalogue: Catalogue) -> dict[str, set[str]]:
    apart: dict[str, set[str]] = {}
    for row in catalogue.of("tasks_apart").values():
        for code in row["tasks"]:
            apart.setdefault(code, set()).update(set(row["tasks"]) - {code})
    return apart


def lines_make(*, visit: Visit, sheets: list[Sheet]) -> None:
    """Make or complete the lines of sheets for the visit's day; lines already answered stay."""
    catalogue = catalogue_current()
    on = timezone.localdate(visit.start)
    for sheet in sheets:
        wanted = {
            line.pk: line
            for line in lines_wanted(sheet, open_tasks(sheet.system_id, on), catalogue)
        }
        held = {line.pk: line for line in sheet.lines.all()}
        answered = {
            path.split("/")[1]
            for path in sheet.values.filter(path__startswith="lines/").values_list(
                "path", flat=True
            )
        }
        Line.objects.filter(
            pk__in=[pk for pk in held if pk not in wanted and str(pk) not in answered]
        ).delete()
        Line.objects.bulk_create(line for pk, line in wanted.items() if pk not in held)
