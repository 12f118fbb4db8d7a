"""A sheet as it stands: its lines, its answers so far, its readings judged."""

import datetime as dt
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from typing import Any
from uuid import UUID, uuid5

from django.db.models import Prefetch
from django.http import Http404
from django.utils import timezone

from apps.catalogue.selectors import Catalogue, catalogue_current
from apps.core.exceptions import Invalid
from apps.core.scoping import Actor
from apps.systems.models import Loop
from apps.visits.choices import State, When
from apps.visits.models import Line, Reading, Sheet, Value, Visit
from apps.visits.selectors import HISTORY, Background, backgrounds_of, band_for, history
from apps.visits.services.judging import Ground, readings_build
from apps.visits.services.projection import ground_of
from apps.visits.services.steps import author
from apps.visits.services.typed import Typed, typed_sheets

READING_SPACE = UUID("b3f6c0a1-2a52-5b0c-8d6e-0c9a4b7d51f2")
OPEN_STATES = (State.BOOKED, State.UNDER_WAY)


def reading_key(sheet_id: UUID, loop_id: UUID, measurand: str, when: str, turn: int) -> UUID:
    """Return the key of a reading's row: the same place on a sheet gives the same row."""
    return uuid5(READING_SPACE, f"{sheet_id}/{loop_id}/{measurand}/{when}/{turn}")


@dataclass(frozen=True)
class Row:
    """One row of answers: its leaves with their revisions."""

    key: UUID
    leaves: dict[str, Value]

    def get(self, leaf: str, default: Any = None) -> Any:
        """Return what stands in a leaf."""
        value = self.leaves.get(leaf)
        return default if value is None else value.value

    def rev(self, leaf: str) -> int:
        """Return a leaf's revision; 0 where nothing was answered."""
        value = self.leaves.get(leaf)
        return value.rev if value else 0


@dataclass
class Work:
    """Everything that a page of a sheet is made from."""

    actor: Actor
    sheet: Sheet
    catalogue: Catalogue
    lines: list[Line]
    rows: dict[str, dict[UUID, Row]]
    typed: Typed
    ground: Ground
    past: list[Reading]
    readings: dict[UUID, Reading] = field(default_factory=dict)
    refused: dict[UUID, dict[str, Any]] = field(default_factory=dict)

    @property
    def visit(self) -> Visit:
        """The sheet's visit."""
        return self.sheet.visit

    @property
    def now(self) -> dt.datetime:
        """The time of the request."""
        return self.actor.at

    @property
    def loops(self) -> list[Loop]:
        """The system's loops."""
        return list(self.ground.loops.values())

    @property
    def open(self) -> bool:
        """The visit takes answers."""
        return self.visit.state in OPEN_STATES

    def row(self, group: str, key: UUID) -> Row:
        """Return a row, empty where nothing was answered."""
        return self.rows.get(group, {}).get(key) or Row(key, {})

    def place_rows(self, loop: Loop, measurand: str, when: str) -> list[Row]:
        """Return the readings given at one place, the first given first."""
        found = [
            row
            for row in self.rows.get("readings", {}).values()
            if not row.get("gone")
            and str(row.get("measurand") or "").lower() == measurand
            and (row.get("when") or When.BEFORE) == when
            and self._in_loop(row, loop)
        ]
        return sorted(found, key=lambda row: (str(row.get("taken_at") or ""), str(row.key)))

    def _in_loop(self, row: Row, loop: Loop) -> bool:
        given = str(row.get("loop") or "").lower()
        return given in (str(loop.pk), loop.kind) or (not given and len(self.loops) == 1)

    def place_key(self, loop: Loop, measurand: str, when: str, turn: int) -> UUID:
        """Return the row in which the reading of a place stands or will stand."""
        rows = self.place_rows(loop, measurand, when)
        if turn <= len(rows):
            return rows[turn - 1].key
        return reading_key(self.sheet.pk, loop.pk, measurand, when, turn)


def sheet_of(actor: Actor, visit: UUID, pk: UUID) -> Sheet:
    """Return a sheet with its visit, place and lines: two queries. Raises Http404."""
    sheet = (
        Sheet.objects.visible_to(actor)
        .filter(pk=pk, visit_id=visit)
        .select_related("system", "visit__place__client")
        .prefetch_related(
            Prefetch("lines", Line.objects.select_related("task").order_by("position", "code"))
        )
        .first()
    )
    if sheet is None:
        raise Http404
    return sheet


def work_of(actor: Actor, visit: UUID, pk: UUID) -> Work:
    """Return a sheet as it stands; a fixed number of queries. Raises Http404."""
    sheet = sheet_of(actor, visit, pk)
    values = list(Value.objects.visible_to(actor).filter(visit_id=visit, sheet=sheet))
    catalogue = catalogue_current()
    ground = ground_of(sheet, catalogue, actor.at)
    before = sheet.visit.started_at or actor.at
    past = [row for row in history(list(ground.loops), before) if row.sheet_id != sheet.pk]
    work = Work(
        actor=actor,
        sheet=sheet,
        catalogue=catalogue,
        lines=list(sheet.lines.all()),
        rows=_rows(values),
        typed=typed_sheets(values).get(sheet.pk, Typed()),
        ground=ground,
        past=past,
    )
    work.readings, work.refused = judged(work)
    return work


def works_of(
    actor: Actor, visits: Sequence[Visit], catalogue: Catalogue
) -> tuple[dict[UUID, Work], dict[UUID, Background]]:
    """Return the sheets of visits as they stand, readings not judged, and what is known of systems.

    A fixed number of queries, whatever the number of visits, which bring their sheets with systems
    and lines (visits_full). Keys: sheet, system.
    """
    sheets = []
    for visit in visits:
        for sheet in visit.sheets.all():
            sheet.visit, sheet.system.place = visit, visit.place
            sheets.append(sheet)
    values: dict[UUID, list[Value]] = {}
    for value in Value.objects.visible_to(actor).filter(sheet__in=[row.pk for row in sheets]):
        values.setdefault(value.sheet_id, []).append(value)  # type: ignore[arg-type]
    earliest = min([actor.at, *(v.started_at for v in visits if v.started_at)])
    systems = list({sheet.system_id: sheet.system for sheet in sheets}.values())
    backgrounds = backgrounds_of(
        systems, catalogue, timezone.localdate(actor.at), actor.at, since=earliest - HISTORY
    )
    works = {}
    for sheet in sheets:
        background, own = backgrounds[sheet.system_id], values.get(sheet.pk, [])
        works[sheet.pk] = Work(
            actor=actor, sheet=sheet, catalogue=catalogue, lines=list(sheet.lines.all()),
            rows=_rows(own), typed=typed_sheets(own).get(sheet.pk, Typed()),
            ground=ground_of(sheet, catalogue, actor.at, background),
            past=background.past(sheet.visit.started_at or actor.at, sheet.pk),
        )  # fmt: skip
    return works, backgrounds


def _rows(values: Iterable[Value]) -> dict[str, dict[UUID, Row]]:
    rows: dict[str, dict[UUID, Row]] = {}
    for value in values:
        group, key, leaf = value.path.split("/")
        row = rows.setdefault(group, {}).setdefault(UUID(key), Row(UUID(key), {}))
        row.leaves[leaf] = value
    return rows


def judged(work: Work) -> tuple[dict[UUID, Reading], dict[UUID, dict[str, Any]]]:
    """Return the readings that can be, judged, and why each of the others cannot.

    One reading that cannot be must not keep the others from being judged.
    """
    rows, refused = dict(work.typed.readings), {}
    while True:
        try:
            found = readings_build(
                sheet=work.sheet, rows=rows, ground=work.ground, now=work.now,
                by=author(work.actor),
            )  # fmt: skip
        except Invalid as error:
            for item in error.errors:
                key = UUID(str(item["pointer"]).split("/")[-2])
                refused[key] = item
                rows.pop(key, None)
        else:
            return {row.pk: row for row in found}, refused


def past_of(work: Work, loop: Loop, measurand: str) -> list[Reading]:
    """Return the trusted readings of earlier days, oldest first."""
    return [
        row
        for row in work.past
        if row.loop_id == loop.pk and row.measurand == measurand and row.trusted
    ]


def loops_for(work: Work, line: Line, measurand: str) -> Sequence[Loop]:
    """Return the loops in which a line asks for a measurand.

    A plant loop is asked only for what its plants are judged by.
    """
    template = work.catalogue.task(line.code) or {}
    own = line.task.loop_id if line.task else None
    wanted = str(template.get("loop") or "system")
    found = []
    for loop in work.loops:
        if own is not None:
            fits = loop.pk == own
        elif wanted == "system":
            life = work.ground.lives[loop.pk]
            fits = loop.kind != "plant" or bool(band_for(work.catalogue, measurand, life.context))
        else:
            fits = loop.kind in (wanted, "whole")
        if fits:
            found.append(loop)
    return found
