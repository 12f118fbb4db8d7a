"""The one way in: an answer becomes a value, however it arrives.

The online checklist, the phone's sync and the API's submission all end in `fields_take`.
"""

import datetime as dt
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any
from uuid import UUID

from django.db import transaction
from django.utils.translation import gettext as _

from apps.core.bulk import rows_insert, rows_update
from apps.core.exceptions import Conflict, DomainError, Invalid
from apps.core.scoping import Actor
from apps.visits.choices import State
from apps.visits.exceptions import IllegalTransition
from apps.visits.models import Operation, Value, Visit
from apps.visits.services.answers import BadAnswer, check
from apps.visits.services.steps import author, step_take, visit_change, visit_locked

APPLIED, SAME, CONFLICT, AGAIN = "applied", "same", "conflict", "again"


@dataclass(frozen=True)
class Answer:
    """One answer on its way in. `base_rev` None: not based on an earlier one."""

    path: str
    value: Any
    op_id: UUID
    sheet_id: UUID | None = None
    base_rev: int | None = None
    pointer: str = ""
    seq: int | None = None
    at: dt.datetime | None = None


@dataclass(frozen=True)
class Taken:
    """What became of an answer."""

    op_id: UUID
    outcome: str
    rev: int
    theirs: Any = None


@transaction.atomic
def fields_set(
    *, visit: Visit, answers: Sequence[Answer], device: str, at: dt.datetime, by: Actor
) -> list[Taken]:
    """Give answers: all or none. See fields_take for what becomes of them."""
    current = visit_locked(visit.pk)
    taken, _values = fields_take(visit=current, answers=answers, device=device, at=at, by=by)
    if visit.state != current.state:
        visit.refresh_from_db()
    return taken


def fields_take(
    *, visit: Visit, answers: Sequence[Answer], device: str, at: dt.datetime, by: Actor
) -> tuple[list[Taken], list[Value]]:
    """Give answers to a visit that is locked already; return also all values as they stand then.

    All or none, in the caller's transaction. The same operation again changes nothing and says
    so. An answer based on an older revision than another device's is kept as a conflict and not
    applied. `at` is now; an answer's own time is the one that its device told. The first answer
    starts a booked visit. Raises Invalid with a JSON pointer for each bad answer,
    IllegalTransition where the visit takes no answers, DomainError for an operation key used for
    something else.
    """
    if visit.state == State.BOOKED:
        step_take(visit=visit, to=State.UNDER_WAY, by=by, at=at)
    elif visit.state != State.UNDER_WAY:
        raise IllegalTransition(visit.state, "answered", [State.UNDER_WAY])
    cleaned = _clean(answers)
    known = {row.pk: row for row in Operation.objects.filter(pk__in=[a.op_id for a in answers])}
    values = {(row.sheet_id, row.path): row for row in Value.objects.filter(visit=visit)}
    writer = _Writer(visit, values, device, at, author(by), _own(values, answers, device))
    taken = [writer.take(answer, path, value, known) for answer, path, value in cleaned]
    writer.write()
    return taken, list(values.values())


def _own(
    values: dict[tuple[UUID | None, str], Value], answers: Sequence[Answer], device: str
) -> frozenset[UUID]:
    """Return the operations that this very phone gave and that stand: it cannot clash with them."""
    if all(answer.seq is None for answer in answers):
        return frozenset()
    standing = [row.op_id for row in values.values()]
    rows = Operation.objects.filter(pk__in=standing, device=device, seq__isnull=False)
    return frozenset(rows.values_list("pk", flat=True))


def _clean(answers: Sequence[Answer]) -> list[tuple[Answer, str, Any]]:
    errors: list[dict[str, Any]] = []
    cleaned = []
    for answer in answers:
        try:
            path, value = check(answer.path, answer.value)
        except BadAnswer as error:
            leaf = answer.path.rsplit("/", 1)[-1]
            item: dict[str, Any] = {
                "pointer": answer.pointer or f"/{answer.path}",
                "value": answer.value if not isinstance(answer.value, dict) else None,
                "message": f"{leaf}: {error}",
            }
            if error.allowed:
                item["allowed"] = error.allowed
            errors.append(item)
        else:
            cleaned.append((answer, path, value))
    if errors:
        raise Invalid(errors)
    return cleaned


class _Writer:
    """Collects what a batch of answers changes and writes it in three statements."""

    def __init__(
        self,
        visit: Visit,
        values: dict[tuple[UUID | None, str], Value],
        device: str,
        at: dt.datetime,
        by: str,
        own: frozenset[UUID] = frozenset(),
    ) -> None:
        self.visit, self.values, self.device, self.at, self.by = visit, values, device, at, by
        self.own = own
        self.operations: dict[UUID, Operation] = {}
        self.new: dict[tuple[UUID | None, str], Value] = {}
        self.changed: dict[UUID, Value] = {}

    def take(self, answer: Answer, path: str, value: Any, known: dict[UUID, Operation]) -> Taken:
        """Apply one answer to the values in memory."""
        before = known.get(answer.op_id) or self.operations.get(answer.op_id)
        place = (answer.sheet_id, path)
        current = self.values.get(place)
        if before is not None:
            return self._again(before, answer, path, value, current)
        outcome = self._outcome(answer, current, value)
        self.operations[answer.op_id] = Operation(
            pk=answer.op_id,
            visit=self.visit,
            sheet_id=answer.sheet_id,
            path=path,
            value=value,
            base_rev=answer.base_rev,
            device=self.device[:60],
            seq=answer.seq,
            at=answer.at or self.at,
            received_at=self.at,
            by=self.by,
            outcome=outcome,
        )
        if outcome == APPLIED:
            current = self._apply(place, current, value, answer.op_id)
        theirs = current.value if outcome == CONFLICT and current else None
        return Taken(answer.op_id, outcome, current.rev if current else 0, theirs)

    def _again(
        self, before: Operation, answer: Answer, path: str, value: Any, current: Value | None
    ) -> Taken:
        same = (before.visit_id, before.sheet_id, before.path, before.value) == (
            self.visit.pk,
            answer.sheet_id,
            path,
            value,
        )
        if not same:
            raise DomainError(
                _("%(op_id)s: this operation key was used for another answer.")
                % {"op_id": answer.op_id},
                "key_reused",
            )
        return Taken(answer.op_id, AGAIN, current.rev if current else 0)

    def _outcome(self, answer: Answer, current: Value | None, value: Any) -> str:
        if current is None:
            return APPLIED
        if current.value == value:
            return SAME
        met = answer.base_rev is not None and current.rev > answer.base_rev
        if met and current.op_id not in self.own:
            return CONFLICT
        return APPLIED

    def _apply(
        self, place: tuple[UUID | None, str], current: Value | None, value: Any, op_id: UUID
    ) -> Value:
        if current is None:
            current = Value(
                visit=self.visit, sheet_id=place[0], path=place[1], value=value, op_id=op_id
            )
            self.values[place] = self.new[place] = current
            return current
        current.value, current.op_id = value, op_id
        current.rev += 1
        if place not in self.new:
            self.changed[current.pk] = current
        return current

    def write(self) -> None:
        """Store it."""
        rows_insert(self.operations.values())
        rows_insert(self.new.values())
        rows_update(self.changed.values(), ["value", "rev", "op_id"])
        if self.new or self.changed:
            visit_change(self.visit)


def conflicts_refuse(taken: Sequence[Taken]) -> None:
    """Raise Conflict where an answer met a newer one."""
    met = [item for item in taken if item.outcome == CONFLICT]
    if met:
        raise Conflict(
            _("Somebody else answered this meanwhile; look at both and choose."),
            "conflict",
            conflicts=[
                {"op_id": str(item.op_id), "rev": item.rev, "theirs": item.theirs} for item in met
            ],
        )
