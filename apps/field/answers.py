"""Giving answers from a page: saved one by one, with what is to be shown when two people met."""

import datetime as dt
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any
from uuid import UUID, uuid4

from django.db import transaction
from django.utils.translation import gettext as _

from apps.accounts.models import User
from apps.field.work import Work
from apps.visits.models import Operation, Sheet
from apps.visits.services.fields import APPLIED, CONFLICT, Answer, Taken, fields_set
from apps.visits.services.steps import author

DEVICE = "browser"


@dataclass(frozen=True)
class Clash:
    """An answer that met a newer one of somebody else."""

    path: str
    mine: Any
    theirs: Any
    rev: int


class _Met(Exception):
    def __init__(self, clashes: list[Clash]) -> None:
        super().__init__()
        self.clashes = clashes


def save(work: Work, answers: Mapping[str, Any], bases: Mapping[str, int | None]) -> list[Clash]:
    """Give answers to a sheet: all, or none where one meets a newer one; those are returned.

    What met is kept as an attempt. Raises what fields_set raises.
    """
    sheet = work.sheet
    if not answers:
        return []
    try:
        with transaction.atomic():
            taken = _set(work, sheet, answers, bases)
            paths = list(answers)
            clashes = [
                Clash(paths[i], answers[paths[i]], item.theirs, item.rev)
                for i, item in enumerate(taken)
                if item.outcome == CONFLICT
            ]
            if clashes:
                raise _Met(clashes)
    except _Met as met:
        _set(work, sheet, {c.path: c.mine for c in met.clashes}, bases)
        return met.clashes
    return []


def _set(
    work: Work, sheet: Sheet, answers: Mapping[str, Any], bases: Mapping[str, int | None]
) -> list[Taken]:
    rows = [
        Answer(path, value, uuid4(), sheet.pk, bases.get(path), f"/{path}")
        for path, value in answers.items()
    ]
    return fields_set(
        visit=work.visit, answers=rows, device=DEVICE, at=work.now, by=work.actor
    )  # fmt: skip


def bases_of(posted: Mapping[str, Any], prefix: str) -> dict[str, int | None]:
    """Return the revisions that a form was made from: `base-<leaf>` for `<prefix>/<leaf>`."""
    found: dict[str, int | None] = {}
    for name, value in posted.items():
        if name.startswith("base-"):
            text = str(value)
            number = int(text) if text.isascii() and text.isdigit() and len(text) < 9 else 0
            found[f"{prefix}/{name[5:]}"] = number
    return found


def person(work: Work, path: str) -> str:
    """Return who gave the answer that stands: one or two queries."""
    row = (
        Operation.objects.visible_to(work.actor)
        .filter(visit=work.visit, sheet_id=work.sheet.pk, path=path, outcome=APPLIED)
        .order_by("-received_at")
        .first()
    )
    key = row.by.partition(":")[2] if row else ""
    try:
        user = User.objects.filter(pk=UUID(key)).first()
    except ValueError:
        user = None
    return str(user) if user else _("somebody else")


@dataclass(frozen=True)
class Last:
    """The last answer that somebody gave on a sheet: what may be taken back."""

    at: str
    paths: dict[str, Any]
    group: str
    key: UUID


def last_of(work: Work) -> Last | None:
    """Return the last answer that this person gave on this sheet: one query."""
    if not work.open:
        return None
    rows = list(
        Operation.objects.visible_to(work.actor)
        .filter(visit=work.visit, sheet_id=work.sheet.pk, by=author(work.actor), outcome=APPLIED)
        .order_by("-received_at", "path")[:16]
    )
    if not rows:
        return None
    own = {row.path: row.value for row in rows if row.received_at == rows[0].received_at}
    lead = min(own, key=lambda path: (path.startswith("lines/"), path))
    group, key, _leaf = lead.split("/")
    return Last(rows[0].received_at.isoformat(), own, group, UUID(key))


NOTHING: dict[str, Any] = {
    "outcome": "", "reason": "", "note": "", "minutes": None, "gone": False,
    "checked_twice": False, "sign": "", "text": "", "component": None, "photo_ids": [],
    "decision": "keep", "method": "", "instrument": "", "basis": "",
}  # fmt: skip


def take_back(work: Work, last: Last) -> list[Clash]:
    """Set everything back to what stood before the last answer: one query and the saving."""
    rows = (
        Operation.objects.visible_to(work.actor)
        .filter(visit=work.visit, sheet_id=work.sheet.pk, path__in=last.paths, outcome=APPLIED)
        .order_by("received_at")
    )
    then = dt.datetime.fromisoformat(last.at)
    before = {row.path: row.value for row in rows if row.received_at < then}
    answers: dict[str, Any] = {}
    for path in last.paths:
        group, key, leaf = path.split("/")
        whole = f"{group}/{key}/gone"
        if path in before:
            answers[path] = before[path]
        elif (
            group in ("readings", "findings") and leaf != "gone" and _born(last, before, group, key)
        ):
            answers[whole] = True
        elif leaf in NOTHING:
            answers[path] = NOTHING[leaf]
    bases = {path: _rev(work, path) for path in answers}
    return save(work, answers, bases)


def _born(last: Last, before: Mapping[str, Any], group: str, key: str) -> bool:
    """Tell whether a row came into being with the last answer."""
    leaf = "value" if group == "readings" else ("sign", "text")
    leaves = (leaf,) if isinstance(leaf, str) else leaf
    return any(f"{group}/{key}/{name}" in last.paths for name in leaves) and not any(
        f"{group}/{key}/{name}" in before for name in leaves
    )


def _rev(work: Work, path: str) -> int:
    group, key, leaf = path.split("/")
    return work.row(group, UUID(key)).rev(leaf)
