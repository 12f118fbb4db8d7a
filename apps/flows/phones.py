"""Operations of a phone, taken one by one: a bad one is refused and kept, the others go on.

Order is the order of arrival and the phone's own count, never its clock.
"""

import datetime as dt
from collections.abc import Iterator, Sequence
from itertools import groupby
from typing import Any
from uuid import UUID

from django.db import transaction
from django.utils.translation import gettext as _

from apps.accounts.models import User
from apps.core.exceptions import DomainError
from apps.core.scoping import Actor
from apps.flows import checking_in, on_the_way, phone_finish
from apps.flows.phone_parts import BadOp, Known, PhoneOp, Reply, Why, read, refused
from apps.visits.choices import State
from apps.visits.models import Operation, Phone, Value, Visit
from apps.visits.services.answers import BadAnswer, check
from apps.visits.services.fields import CONFLICT, Answer, Taken, fields_set
from apps.visits.services.phones import late_keep
from apps.visits.services.steps import author, visit_locked

LATE = "late"
ENDED = (State.WRITTEN_UP, State.REPORTED)
Placed = tuple[int, PhoneOp]


def operations_take(
    *, phone: Phone, rows: Sequence[dict[str, Any]], by: Actor, at: dt.datetime
) -> list[Reply]:
    """Take operations in their order and tell for each what became of it."""
    device = str(phone.pk)
    replies: dict[int, Reply] = {}
    good: list[Placed] = []
    for place, row in enumerate(rows):
        try:
            good.append((place, read(row, at)))
        except BadOp as error:
            replies[place] = refused(device, row, error.why, by, at)
    for visit_id, items in groupby(good, key=lambda item: item[1].visit):
        replies.update(_visit(device, visit_id, list(items), by, at))
    return [replies[place] for place in range(len(rows))]


def _visit(
    device: str, pk: UUID, items: list[Placed], by: Actor, at: dt.datetime
) -> Iterator[tuple[int, Reply]]:
    visit = Visit.objects.visible_to(by).filter(pk=pk).prefetch_related("sheets").first()
    if visit is None:
        message = _("This visit is not one of yours; the office has what you wrote.")
        for place, op in items:
            yield place, refused(device, op.row, [{"code": "visit", "message": message}], by, at)
        return
    apart = {"finish", *on_the_way.KINDS}
    yield from _answers(
        device, visit, [item for item in items if item[1].path not in apart], by, at
    )
    for place, op in items:
        if op.path in on_the_way.KINDS:
            yield place, on_the_way.telling_take(device, visit, op, by, at)
    for place, op in items:
        if op.path == "finish":
            yield place, phone_finish.finish_take(device, visit, op, by, at)


def _answers(
    device: str, visit: Visit, items: list[Placed], by: Actor, at: dt.datetime
) -> Iterator[tuple[int, Reply]]:
    sheets = {sheet.pk for sheet in visit.sheets.all()}
    known = Known(device, [op for _place, op in items])
    taken: list[Placed] = []
    for place, op in items:
        why = _fault(op, sheets, known, visit)
        if why:
            yield place, refused(device, op.row, why, by, at)
        else:
            taken.append((place, op))
    if not taken:
        return
    visit.refresh_from_db(fields=["state"])
    if visit.state in ENDED:
        yield from _late(device, visit, taken, by, at)
        return
    rows = [
        Answer(op.path, op.value, op.id, op.sheet, op.base_rev, f"/{op.path}", op.seq, op.at)
        for _place, op in taken
    ]
    try:
        found = fields_set(visit=visit, answers=rows, device=device, at=at, by=by)
    except DomainError as error:
        for place, op in taken:
            why = [{"code": error.code, "message": error.message}]
            yield place, refused(device, op.row, why, by, at)
        return
    names = _people(found)
    for (place, op), item in zip(taken, found, strict=True):
        if item.outcome != CONFLICT:
            checking_in.heard(visit=visit, path=op.path, value=op.value, by=by, at=at)
        yield place, Reply(str(op.id), "ok", item.outcome, item.rev, item.theirs,
                           names.get(op.id, ""))  # fmt: skip


def _fault(op: PhoneOp, sheets: set[UUID], known: Known, visit: Visit) -> Why:
    """Return why an operation cannot be taken; empty where it can."""
    if op.sheet is not None and op.sheet not in sheets:
        return [{"code": "sheet", "message": _("This system is no longer part of the visit.")}]
    try:
        path, value = check(op.path, op.value)
    except BadAnswer as error:
        return [{"code": "answer", "message": str(error)}]
    return known.fault(op, (visit.pk, op.sheet, path, value))


def _people(found: Sequence[Taken]) -> dict[UUID, str]:
    """Return who gave the answers that clashing operations met."""
    met = [item.op_id for item in found if item.outcome == CONFLICT]
    if not met:
        return {}
    names: dict[UUID, str] = {}
    for op in Operation.objects.filter(pk__in=met):
        value = _standing(op.visit_id, op.sheet_id, op.path)
        stands = Operation.objects.filter(pk=value.op_id).first() if value else None
        key = stands.by.partition(":")[2] if stands else ""
        user = User.objects.filter(pk=key).first() if len(key) == 36 else None
        names[op.pk] = str(user) if user else ""
    return names


@transaction.atomic
def _late(
    device: str, visit: Visit, items: list[Placed], by: Actor, at: dt.datetime
) -> list[tuple[int, Reply]]:
    """Keep answers that arrive after the visit was written up: told, not applied, never refused.

    What was given before the end and comes once more stands as it is.
    """
    visit_locked(visit.pk)
    held = set(
        Operation.objects.filter(pk__in=[op.id for _place, op in items])
        .exclude(outcome=LATE)
        .values_list("pk", flat=True)
    )
    rows = {
        op.id: _late_row(device, visit, op, by, at) for _place, op in items if op.id not in held
    }
    late_keep(visit=visit, rows=list(rows.values()), at=at)
    return [
        (place, Reply(str(op.id), "ok", LATE) if op.id in rows else
         Reply(str(op.id), "ok", "again", _rev(visit, op)))
        for place, op in items
    ]  # fmt: skip


def _late_row(device: str, visit: Visit, op: PhoneOp, by: Actor, at: dt.datetime) -> Operation:
    path, value = check(op.path, op.value)
    return Operation(
        pk=op.id, visit=visit, sheet_id=op.sheet, path=path, value=value, base_rev=op.base_rev,
        device=device, seq=op.seq, at=op.at, received_at=at, by=author(by), outcome=LATE,
    )  # fmt: skip


def _rev(visit: Visit, op: PhoneOp) -> int:
    value = _standing(visit.pk, op.sheet, op.path)
    return value.rev if value else 0


def _standing(visit: UUID, sheet: UUID | None, path: str) -> Value | None:
    rows = Value.objects.filter(visit_id=visit, path=path)
    if sheet is None:
        return rows.filter(sheet__isnull=True).first()
    return rows.filter(sheet_id=sheet).first()
