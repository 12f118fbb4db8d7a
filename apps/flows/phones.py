"""Operations of a phone, taken one by one: a bad one is refused and kept, the others go on.

Order is the order of arrival and the phone's own count, never its clock.
"""

import datetime as dt
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from itertools import groupby
from typing import Any
from uuid import UUID

from django.db import transaction
from django.utils.dateparse import parse_datetime
from django.utils.translation import gettext as _

from apps.accounts.models import User
from apps.core.exceptions import DomainError, Invalid
from apps.core.scoping import Actor
from apps.flows import visit_closing
from apps.visits.choices import State
from apps.visits.models import Operation, Phone, Photo, Value, Visit
from apps.visits.services.answers import BadAnswer, check, keys
from apps.visits.services.fields import CONFLICT, Answer, Taken, fields_set
from apps.visits.services.phones import check_in, refused_keep
from apps.visits.services.steps import author
from apps.visits.services.typed import moment_of

FINISH = "finish"
LATE, WAITING = "late", "waiting"
ENDED = (State.WRITTEN_UP, State.REPORTED)
# how far a phone's clock may be believed
BACK, AHEAD = dt.timedelta(days=30), dt.timedelta(minutes=10)


@dataclass
class Reply:
    """What became of one operation of a phone."""

    id: str
    status: str = "ok"
    outcome: str = ""
    rev: int = 0
    theirs: Any = None
    theirs_by: str = ""
    why: list[dict[str, Any]] = field(default_factory=list)


@dataclass(frozen=True)
class _Op:
    row: dict[str, Any]
    id: UUID
    seq: int
    visit: UUID
    sheet: UUID | None
    path: str
    value: Any
    base_rev: int | None
    at: dt.datetime


class _Bad(Exception):
    def __init__(self, code: str, message: str) -> None:
        super().__init__(message)
        self.why = [{"code": code, "message": message}]


def _uuid(row: dict[str, Any], name: str) -> UUID:
    try:
        return UUID(str(row.get(name)))
    except ValueError:
        raise _Bad("shape", _("%(name)s: a UUID is needed") % {"name": name}) from None


def _read(row: dict[str, Any], at: dt.datetime) -> _Op:
    """Return an operation out of what a phone sent. Raises _Bad."""
    seq, base = row.get("seq"), row.get("base_rev")
    if type(seq) is not int or not 0 < seq < 2**53:
        raise _Bad("shape", _("seq: a whole number from 1 is needed"))
    if base is not None and (type(base) is not int or not 0 <= base < 2**31):
        raise _Bad("shape", _("base_rev: a whole number from 0 is needed, or null"))
    path = row.get("path")
    if not isinstance(path, str) or len(path) > 200:
        raise _Bad("shape", _("path: text of at most 200 characters is needed"))
    told = parse_datetime(str(row.get("at"))) if isinstance(row.get("at"), str) else None
    if told is None or told.tzinfo is None or not at - BACK <= told <= at + AHEAD:
        told = at
    sheet = None if row.get("sheet") is None else _uuid(row, "sheet")
    return _Op(row, _uuid(row, "id"), seq, _uuid(row, "visit"), sheet, path, row.get("value"),
               base, told)  # fmt: skip


def operations_take(
    *, phone: Phone, rows: Sequence[dict[str, Any]], by: Actor, at: dt.datetime
) -> list[Reply]:
    """Take operations in their order and tell for each what became of it."""
    device = str(phone.pk)
    replies: dict[int, Reply] = {}
    good: list[tuple[int, _Op]] = []
    for place, row in enumerate(rows):
        try:
            good.append((place, _read(row, at)))
        except _Bad as error:
            replies[place] = _refused(device, row, error.why, by, at)
    for visit_id, items in groupby(good, key=lambda item: item[1].visit):
        replies.update(_visit(device, visit_id, list(items), by, at))
    return [replies[place] for place in range(len(rows))]


def _refused(
    device: str, row: dict[str, Any], why: list[dict[str, Any]], by: Actor, at: dt.datetime
) -> Reply:
    refused_keep(device=device, row=row, why=why, by=author(by), at=at)
    return Reply(str(row.get("id")), "rejected", "refused", why=why)


def _visit(
    device: str, pk: UUID, items: list[tuple[int, _Op]], by: Actor, at: dt.datetime
) -> Iterator[tuple[int, Reply]]:
    visit = Visit.objects.visible_to(by).filter(pk=pk).prefetch_related("sheets").first()
    if visit is None:
        message = _("This visit is not one of yours; the office has what you wrote.")
        for place, op in items:
            yield place, _refused(device, op.row, [{"code": "visit", "message": message}], by, at)
        return
    answers = [(place, op) for place, op in items if op.path != FINISH]
    yield from _answers(device, visit, answers, by, at)
    for place, op in items:
        if op.path == FINISH:
            yield place, _finish(device, visit, op, by, at)


def _answers(
    device: str, visit: Visit, items: list[tuple[int, _Op]], by: Actor, at: dt.datetime
) -> Iterator[tuple[int, Reply]]:
    sheets = {sheet.pk for sheet in visit.sheets.all()}
    known = {row.pk: row for row in Operation.objects.filter(pk__in=[op.id for _p, op in items])}
    taken: list[tuple[int, _Op]] = []
    for place, op in items:
        why = _fault(op, sheets, known.get(op.id), visit)
        if why:
            yield place, _refused(device, op.row, why, by, at)
        else:
            taken.append((place, op))
    if not taken:
        return
    visit.refresh_from_db(fields=["state"])
    if visit.state in ENDED:
        yield from _late(device, visit, taken, known, by, at)
        return
    rows = [Answer(op.path, op.value, op.id, op.sheet, op.base_rev, f"/{op.path}", op.seq, op.at)
            for _p, op in taken]  # fmt: skip
    try:
        found = fields_set(visit=visit, answers=rows, device=device, at=at, by=by)
    except DomainError as error:
        for place, op in taken:
            why = [{"code": error.code, "message": error.message}]
            yield place, _refused(device, op.row, why, by, at)
        return
    names = _people(found)
    for (place, op), item in zip(taken, found, strict=True):
        _check_in(visit, op, by)
        yield place, Reply(str(op.id), "ok", item.outcome, item.rev, item.theirs,
                           names.get(op.id, ""))  # fmt: skip


def _fault(
    op: _Op, sheets: set[UUID], before: Operation | None, visit: Visit
) -> list[dict[str, Any]]:
    """Return why an operation cannot be taken; empty where it can."""
    if op.sheet is not None and op.sheet not in sheets:
        return [{"code": "sheet", "message": _("This system is no longer part of the visit.")}]
    try:
        path, value = check(op.path, op.value)
    except BadAnswer as error:
        return [{"code": "answer", "message": str(error)}]
    if before is not None and (before.visit_id, before.sheet_id, before.path, before.value) != (
        visit.pk, op.sheet, path, value,
    ):  # fmt: skip
        message = _("The same mark was used for another answer.")
        return [{"code": "reused_id", "message": message}]
    return []


def _people(found: Sequence[Taken]) -> dict[UUID, str]:
    """Return who gave the answers that clashing operations met."""
    met = [item.op_id for item in found if item.outcome == CONFLICT]
    if not met:
        return {}
    names: dict[UUID, str] = {}
    for op in Operation.objects.filter(pk__in=met):
        value = _standing(op.visit_id, op)
        stands = Operation.objects.filter(pk=value.op_id).first() if value else None
        key = stands.by.partition(":")[2] if stands else ""
        user = User.objects.filter(pk=key).first() if len(key) == 36 else None
        names[op.pk] = str(user) if user else ""
    return names


def _check_in(visit: Visit, op: _Op, by: Actor) -> None:
    group, _sep, rest = op.path.partition("/")
    if group != "checkin" or op.value is None:
        return
    key, _sep, leaf = rest.partition("/")
    moment = moment_of(check(op.path, op.value)[1])
    if moment is not None:
        check_in(visit=visit, key=UUID(key), leaf=leaf, moment=moment, by=author(by))


def _late(
    device: str,
    visit: Visit,
    items: list[tuple[int, _Op]],
    known: dict[UUID, Operation],
    by: Actor,
    at: dt.datetime,
) -> Iterator[tuple[int, Reply]]:
    """Keep answers that arrive after the visit was written up: told, not applied, never refused."""
    fresh = []
    for place, op in items:
        before = known.get(op.id)
        if before is None:
            fresh.append(_late_row(device, visit, op, by, at))
        else:
            # given before the end: it stands
            yield place, Reply(str(op.id), "ok", "again", _rev(visit, before))
            continue
        yield place, Reply(str(op.id), "ok", LATE)
    Operation.objects.bulk_create(fresh)


def _late_row(device: str, visit: Visit, op: _Op, by: Actor, at: dt.datetime) -> Operation:
    path, value = check(op.path, op.value)
    return Operation(
        pk=op.id, visit=visit, sheet_id=op.sheet, path=path, value=value, base_rev=op.base_rev,
        device=device, seq=op.seq, at=op.at, received_at=at, by=author(by), outcome=LATE,
    )  # fmt: skip


def _rev(visit: Visit, op: Operation) -> int:
    value = _standing(visit.pk, op)
    return value.rev if value else 0


def _standing(visit: UUID, op: Operation) -> Value | None:
    rows = Value.objects.filter(visit_id=visit, path=op.path)
    if op.sheet_id is None:
        return rows.filter(sheet__isnull=True).first()
    return rows.filter(sheet_id=op.sheet_id).first()


def _finish(device: str, visit: Visit, op: _Op, by: Actor, at: dt.datetime) -> Reply:
    """End a visit once all that belongs to it is here; until then it waits and says for what."""
    visit.refresh_from_db()
    if visit.state in ENDED:
        return Reply(str(op.id), "ok", "again")
    value = op.value if isinstance(op.value, dict) else {}
    try:
        photos = {UUID(key) for key in keys(value.get("photos") or [])}
    except BadAnswer as error:
        why = [{"code": "answer", "message": f"photos: {error}"}]
        return _refused(device, op.row, why, by, at)
    missing = photos - set(
        Photo.objects.filter(pk__in=photos, sheet__visit=visit).values_list("pk", flat=True)
    )
    if missing:
        return Reply(str(op.id), "ok", WAITING, why=[
            {"code": "photos", "message": _("Photos are still on their way."),
             "photos": sorted(map(str, missing))},
        ])  # fmt: skip
    try:
        with transaction.atomic():
            visit_closing.finish(visit=visit, by=by, at=at)
    except Invalid as error:
        why = [{"code": "invalid", "message": str(item["message"]), "pointer": item["pointer"]}
               for item in error.errors]  # fmt: skip
        return _refused(device, op.row, why, by, at)
    except DomainError as error:
        why = [{"code": error.code, "message": error.message}]
        return _refused(device, op.row, why, by, at)
    return Reply(str(op.id), "ok", "applied")
