"""The technicians' phones: the last visits came by them, answer by answer, and one has a gap."""

import datetime as dt
from collections import defaultdict
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any
from uuid import UUID

from apps.accounts.models import User
from apps.field.phone.shell import version
from apps.visits.models import Finding, Line, Operation, Phone, Reading, Sheet, Value, Visit
from apps.visits.services.fields import APPLIED
from demo.firm.keys import key
from demo.firm.sheets import Made

Answer = tuple[Sheet | None, str, Any, dt.datetime]
# a phone is heard once more when all has arrived
AFTER = dt.timedelta(minutes=4)


@dataclass(frozen=True)
class Carried:
    """A phone: whose, which of their last visits it carried (0 the newest), what never arrived.

    `tab`: used in a browser's tab, whose storage is not promised.
    """

    name: str
    owner: str
    newest: int
    oldest: int
    lost: int = 0
    tab: bool = False


PHONES = (
    Carried("ana", "ana", 0, 4),
    Carried("marek", "marek", 0, 2),
    # its browser cleared the tab's storage with four answers in it; the next one is on the home screen
    Carried("marek before", "marek", 3, 5, lost=4, tab=True),
)


def phones(
    visits: list[Visit], authors: dict[UUID, UUID], made: Made, people: dict[str, User]
) -> list[list[Any]]:
    """Return the unsaved rows, table by table; `authors`: visit -> who answered."""
    answers = _Answers(made)
    found: list[Phone] = []
    operations: list[Operation] = []
    for one in PHONES:
        own = [row for row in visits if row.finished_at and authors[row.pk] == people[one.owner].pk]
        own.sort(key=lambda row: (row.start, row.pk), reverse=True)
        carried = own[one.newest : one.oldest + 1][::-1]
        phone = _phone(one, people[one.owner], carried)
        rows = [op for visit in carried for op in _operations(visit, phone, answers.of(visit))]
        for seq, row in enumerate(rows, 1):
            row.seq = seq
        phone.last_seq = len(rows) + one.lost
        found.append(phone)
        operations += rows
    values = [_value(row) for row in operations if row.path != "finish"]
    return [found, operations, values]


def _phone(one: Carried, owner: User, carried: list[Visit]) -> Phone:
    first, last = carried[0], carried[-1]
    return Phone(
        pk=key("phone", one.name), user=owner, first_at=first.start - dt.timedelta(hours=1),
        last_at=(last.finished_at or last.end) + AFTER, version=version(), persisted=not one.tab,
        standalone=not one.tab,
    )  # fmt: skip


def _operations(visit: Visit, phone: Phone, answers: list[Answer]) -> Iterator[Operation]:
    for sheet, path, value, at in answers:
        yield Operation(
            pk=key("operation", sheet.pk if sheet else visit.pk, path), visit=visit,
            sheet_id=sheet.pk if sheet else None, path=path, value=value, base_rev=0,
            device=str(phone.pk), at=at, received_at=(visit.finished_at or at) + AFTER / 2,
            by=f"technician:{phone.user_id}", outcome=APPLIED,
        )  # fmt: skip


def _value(row: Operation) -> Value:
    return Value(
        pk=key("value", row.pk), visit=row.visit, sheet_id=row.sheet_id, path=row.path,
        value=row.value, op_id=row.pk,
    )  # fmt: skip


class _Answers:
    """What the sheets of the visits say, as their technician gave it."""

    def __init__(self, made: Made) -> None:
        self.sheets: dict[Any, list[Sheet]] = defaultdict(list)
        self.rows: dict[Any, list[Line | Reading | Finding]] = defaultdict(list)
        for sheet in made.sheets:
            self.sheets[sheet.visit_id].append(sheet)
        given: list[Line | Reading | Finding] = [*made.lines, *made.readings, *made.findings]
        for row in given:
            # what was put right later is the office's
            if not getattr(row, "corrects_id", None):
                self.rows[row.sheet_id].append(row)

    def of(self, visit: Visit) -> list[Answer]:
        """Return the answers of a visit in the order of the work, its end last."""
        began, ended = visit.started_at or visit.start, visit.finished_at or visit.end
        found: list[Answer] = [(None, "started_at", began.isoformat(), began)]
        for sheet in self.sheets[visit.pk]:
            for row in self.rows[sheet.pk]:
                group, leaves = LEAVES[type(row)](row)
                at = _given_at(row, began)
                found += [
                    (sheet, f"{group}/{row.pk}/{leaf}", value, at)
                    for leaf, value in leaves.items()
                    if value not in ("", None, [])
                ]
        end = {"needs_seq": 0, "photos": [], "worked_out": None}
        return [
            *found,
            (None, "finished_at", ended.isoformat(), ended),
            (None, "finish", end, ended),
        ]


def _given_at(row: Line | Reading | Finding, began: dt.datetime) -> dt.datetime:
    if isinstance(row, Reading):
        return row.taken_at
    return row.seen_at if isinstance(row, Finding) else began


def _line(row: Line) -> tuple[str, dict[str, Any]]:
    return "lines", {
        "outcome": row.outcome, "reason": row.reason, "minutes": row.minutes, "note": row.note,
    }  # fmt: skip


def _reading(row: Reading) -> tuple[str, dict[str, Any]]:
    return "readings", {
        "loop": str(row.loop_id), "measurand": row.measurand, "when": row.when,
        "value": float(row.typed) if row.typed else row.value,
        "unit": row.typed_unit or row.unit, "basis": row.basis, "method": row.method,
        "instrument": row.instrument, "taken_at": row.taken_at.isoformat(),
        "as_typed": row.typed or f"{row.value:g}", "checked_twice": row.checked_twice,
    }  # fmt: skip


def _finding(row: Finding) -> tuple[str, dict[str, Any]]:
    return "findings", {
        "sign": row.sign, "text": row.text, "photo_ids": row.photo_ids,
        "component": str(row.component_id) if row.component_id else None,
    }  # fmt: skip


LEAVES: dict[type, Any] = {Line: _line, Reading: _reading, Finding: _finding}
