"""One operation of a phone as it is read, and what is answered to it."""

import datetime as dt
from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Any
from uuid import UUID

from django.db.models import Q
from django.utils.dateparse import parse_datetime
from django.utils.translation import gettext as _

from apps.core.scoping import Actor
from apps.visits.models import Operation
from apps.visits.services.answers import BadAnswer, moment
from apps.visits.services.phones import refused_keep
from apps.visits.services.steps import author

# how far a phone's clock may be believed
BACK, AHEAD = dt.timedelta(days=30), dt.timedelta(minutes=10)
Why = list[dict[str, Any]]


@dataclass
class Reply:
    """What became of one operation of a phone."""

    id: str
    status: str = "ok"
    outcome: str = ""
    rev: int = 0
    theirs: Any = None
    theirs_by: str = ""
    why: Why = field(default_factory=list)


@dataclass(frozen=True)
class PhoneOp:
    """One operation of a phone. `at`: by its clock, where that can be believed."""

    row: dict[str, Any]
    id: UUID
    seq: int
    visit: UUID
    sheet: UUID | None
    path: str
    value: Any
    base_rev: int | None
    at: dt.datetime


class BadOp(Exception):
    """An operation that cannot be read; `why` says so."""

    def __init__(self, message: str) -> None:
        super().__init__(message)
        self.why: Why = [{"code": "shape", "message": message}]


class Known:
    """Operations that are here already, by their key and by the phone's count."""

    def __init__(self, device: str, ops: Sequence[PhoneOp]) -> None:
        rows = Operation.objects.filter(
            Q(pk__in=[op.id for op in ops]) | Q(device=device, seq__in=[op.seq for op in ops])
        )
        self.device = device
        self.by_id: dict[UUID, tuple[Any, ...]] = {}
        self.by_seq: dict[int, UUID] = {}
        for row in rows:
            self.by_id[row.pk] = (row.visit_id, row.sheet_id, row.path, row.value)
            if row.seq is not None and row.device == device:
                self.by_seq[row.seq] = row.pk

    def fault(self, op: PhoneOp, says: tuple[Any, ...]) -> Why:
        """Return why an operation is another one under the same mark; empty where it is not."""
        if self.by_id.get(op.id, says) != says or self.by_seq.get(op.seq, op.id) != op.id:
            message = _("The same mark was used for another answer.")
            return [{"code": "reused_id", "message": message}]
        self.by_id[op.id], self.by_seq[op.seq] = says, op.id
        return []


def told(value: Any) -> dt.datetime | None:
    """Return a time that a phone told, None where it is none."""
    try:
        return parse_datetime(moment(value))
    except BadAnswer:
        return None


def _uuid(row: dict[str, Any], name: str) -> UUID:
    try:
        return UUID(str(row.get(name)))
    except ValueError:
        raise BadOp(_("%(name)s: a UUID is needed") % {"name": name}) from None


def read(row: dict[str, Any], at: dt.datetime) -> PhoneOp:
    """Return an operation out of what a phone sent. Raises BadOp."""
    seq, base = row.get("seq"), row.get("base_rev")
    if type(seq) is not int or not 0 < seq < 2**53:
        raise BadOp(_("seq: a whole number from 1 is needed"))
    if base is not None and (type(base) is not int or not 0 <= base < 2**31):
        raise BadOp(_("base_rev: a whole number from 0 is needed, or null"))
    path = row.get("path")
    if not isinstance(path, str) or len(path) > 200:
        raise BadOp(_("path: text of at most 200 characters is needed"))
    when = told(row.get("at"))
    if when is None or not at - BACK <= when <= at + AHEAD:
        when = at
    sheet = None if row.get("sheet") is None else _uuid(row, "sheet")
    return PhoneOp(
        row, _uuid(row, "id"), seq, _uuid(row, "visit"), sheet, path, row.get("value"), base, when
    )


def refused(device: str, row: dict[str, Any], why: Why, by: Actor, at: dt.datetime) -> Reply:
    """Keep an operation that cannot be taken, for the office to see, and say why."""
    refused_keep(device=device, row=row, why=why, by=author(by), at=at)
    return Reply(str(row.get("id")), "rejected", "refused", why=why)
