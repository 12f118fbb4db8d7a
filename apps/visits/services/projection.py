"""From values to rows: what a finished sheet leaves behind.

Readings and findings are append-only. After a reopening, what changed becomes a correction that
names the row before it; what did not change stays.
"""

import datetime as dt
from collections.abc import Iterable, Mapping
from typing import Any
from uuid import UUID, uuid5

from django.utils import timezone
from django.utils.translation import gettext as _

from apps.care.models import CareTask
from apps.care.services import completions_set
from apps.catalogue.choices import EntryKind
from apps.catalogue.selectors import Catalogue, catalogue_current
from apps.clients.models import Place
from apps.core.bulk import rows_insert, rows_update
from apps.core.exceptions import Invalid
from apps.core.scoping import Actor
from apps.systems.models import Component, System
from apps.visits.choices import LEFT_RUNNING, Outcome
from apps.visits.models import Finding, Line, Photo, Reading, Sheet, Value, Visit
from apps.visits.selectors import HISTORY, Background, backgrounds_of, latest
from apps.visits.services.judging import Ground, readings_build
from apps.visits.services.lines import lines_again
from apps.visits.services.steps import author
from apps.visits.services.typed import Rows, Typed, Where, typed_sheets

SAME_READING = (
    "loop_id", "measurand", "value", "basis", "when", "method", "instrument", "taken_at",
    "checked_twice",
)  # fmt: skip
# the leaves of a finding that say something
SAYS = ("sign", "text", "component", "photo_ids")


def ground_of(
    sheet: Sheet, catalogue: Catalogue, now: dt.datetime, background: Background | None = None
) -> Ground:
    """Return what a sheet's readings are judged against.

    `background` is what is known of the system, where it was read already.
    """
    before = sheet.visit.started_at or now
    if background is None:
        day = timezone.localdate(now)
        background = backgrounds_of([sheet.system], catalogue, day, before)[sheet.system_id]
    past = latest(background.past(before, sheet.pk))
    return _ground(sheet.system, sheet.visit.place, catalogue, background, past)


def ground_at_home(system: System, catalogue: Catalogue, now: dt.datetime) -> Ground:
    """Return what readings of a system are judged against that no visit brought."""
    day = timezone.localdate(now)
    background = backgrounds_of([system], catalogue, day, now)[system.pk]
    past = latest(background.past(now, None))
    return _ground(system, system.place, catalogue, background, past)


def _ground(
    system: System, place: Place, catalogue: Catalogue, background: Background,
    past: Mapping[tuple[UUID, str], Reading],
) -> Ground:  # fmt: skip
    return Ground(
        system=system,
        loops={loop.pk: loop for loop in background.loops},
        lives=background.lives,
        catalogue=catalogue,
        last={key: row.value for key, row in past.items() if row.trusted},
        altitude_m=place.altitude_m,
    )


def sheet_readings(
    sheet: Sheet,
    typed: Typed,
    ground: Ground,
    now: dt.datetime,
    by: str,
    where: Where,
) -> list[Reading]:
    """Return a sheet's readings as they stand in its values, judged and unsaved."""
    return readings_build(
        sheet=sheet, rows=typed.readings, ground=ground, now=now, by=by, where=where
    )


def _lines_fill(
    sheet: Sheet, held: list[Line], rows: Rows, catalogue: Catalogue, where: Where
) -> list[Line]:
    lines = {line.pk: line for line in held if line.sheet_id == sheet.pk}
    by_task = {line.task_id: line for line in lines.values() if line.task_id}
    errors: list[dict[str, Any]] = []
    for key, row in rows.items():
        line = lines.get(key) or by_task.get(key)
        if line is None:
            message = "id: " + _("this sheet has no such line; read the visit for its lines")
            errors.append(_error(where.of("lines", key), str(key), message))
            continue
        line.outcome = row.get("outcome") or ""
        line.reason = row.get("reason") or ""
        line.minutes = row.get("minutes")
        line.note = row.get("note") or ""
        errors += _line_errors(line, where.of("lines", key, "reason"), catalogue)
    if errors:
        raise Invalid(errors)
    return list(lines.values())


def _line_errors(line: Line, where: str, catalogue: Catalogue) -> list[dict[str, Any]]:
    allowed = list(catalogue.of(EntryKind.REASON))
    if line.outcome == Outcome.NOT_DONE and not line.reason:
        message = "reason: " + _("a line that was not done needs a reason")
        return [{"pointer": where, "value": "", "message": message, "allowed": allowed}]
    if line.reason and line.reason not in allowed:
        message = "reason: " + _("%(reason)s is not on the list") % {"reason": repr(line.reason)}
        return [
            {
                "pointer": where, "value": line.reason, "message": message,
                "allowed": allowed,
            }
        ]  # fmt: skip
    return []


def lines_refuse_unfinished(sheets: list[tuple[Sheet, list[Line]]], pointers: list[str]) -> None:
    """Raise Invalid where 'left running' is not done: it cannot be skipped."""
    errors = []
    for (sheet, lines), pointer in zip(sheets, pointers, strict=True):
        last = [line for line in lines if line.code == LEFT_RUNNING]
        if not last or any(line.outcome != Outcome.DONE for line in last):
            errors.append(
                {
                    "pointer": f"{pointer}/lines",
                    "value": last[0].outcome if last else None,
                    "message": _(
                        "%(system)s: the line 'left running' must be done before the visit can end: pumps, air and heater run, timer, valves, level, lid, gate"
                    )
                    % {"system": sheet.system},
                    "line": str(last[0].pk) if last else None,
                }
            )
    if errors:
        raise Invalid(errors)


def _findings(
    sheet: Sheet, rows: Rows, now: dt.datetime, ground: Ground, where: Where
) -> list[Finding]:
    errors: list[dict[str, Any]] = []
    parts, photos = _known_parts(rows, ground), _known_photos(rows, sheet)
    found = []
    for key, row in rows.items():
        # what no body brought was given answer by answer: a row with nothing in it says nothing,
        # and a photo that never came (taken off, refused, lost with a phone) holds no end up
        loose = key not in where.places
        if loose and not any(row.get(name) for name in SAYS):
            continue
        shown = [pk for pk in row.get("photo_ids") or [] if not loose or pk in photos]
        finding = Finding(
            pk=key, sheet=sheet, sign=row.get("sign") or "", text=row.get("text") or "",
            component_id=UUID(row["component"]) if row.get("component") else None,
            photo_ids=shown, seen_at=sheet.visit.started_at or now,
        )  # fmt: skip
        errors += _finding_errors(finding, parts, photos, ground, where)
        found.append(finding)
    if errors:
        raise Invalid(errors)
    return found


def _finding_errors(
    row: Finding, parts: set[UUID], photos: set[str], ground: Ground, where: Where
) -> list[dict[str, Any]]:
    def error(leaf: str, value: Any, message: str, **more: Any) -> dict[str, Any]:
        return _error(where.of("findings", row.pk, leaf), value, f"{leaf}: {message}") | more

    errors = []
    if not row.sign and not row.text:
        errors.append(error("text", "", _("say what was seen, or choose a sign")))
    if row.sign and ground.catalogue.get(EntryKind.SIGN, row.sign) is None:
        known = list(ground.catalogue.of(EntryKind.SIGN))
        said = _("%(value)s is not known") % {"value": repr(row.sign)}
        errors.append(error("sign", row.sign, said, allowed=known))
    if row.component_id and row.component_id not in parts:
        errors.append(error("component", str(row.component_id), _("not part of this system")))
    unknown = [pk for pk in row.photo_ids if pk not in photos]
    if unknown:
        errors.append(error("photo_ids", unknown[0], _("not uploaded to this sheet")))
    return errors


def _known_parts(rows: Rows, ground: Ground) -> set[UUID]:
    if not any(row.get("component") for row in rows.values()):
        return set()
    parts = Component.objects.filter(loop__in=ground.loops)
    return set(parts.values_list("pk", flat=True))


def _known_photos(rows: Rows, sheet: Sheet) -> set[str]:
    if not any(row.get("photo_ids") for row in rows.values()):
        return set()
    return {str(pk) for pk in Photo.objects.filter(sheet=sheet).values_list("pk", flat=True)}


def _error(pointer: str, value: Any, message: str) -> dict[str, Any]:
    return {"pointer": pointer, "value": value, "message": message}


def _changed(old: Any, new: Any, names: tuple[str, ...]) -> bool:
    return any(getattr(old, name) != getattr(new, name) for name in names)


def _append(
    model: type[Reading] | type[Finding],
    sheet: Sheet,
    rows: list[Any],
    names: tuple[str, ...],
    reason: str,
) -> list[Any]:
    """Insert rows that are new; what changed since an earlier finish becomes a correction.

    Return all rows that count now.
    """
    # nothing stands on a sheet that was never written up
    before = sheet.visit.written_up_at is not None
    held = {row.pk: row for row in model.objects.filter(sheet=sheet)} if before else {}
    after = {row.corrects_id: row for row in held.values() if row.corrects_id}
    fresh = []
    for row in rows:
        old = held.get(row.pk)
        if old is None:
            fresh.append(row)
            continue
        depth = 0
        while old.pk in after:
            old, depth = after[old.pk], depth + 1
        if _changed(old, row, names):
            row.pk = uuid5(row.pk, str(depth + 1))
            row.corrects, row.correction_reason = old, reason or "reopened"
            fresh.append(row)
    rows_insert(fresh)
    everything = [*held.values(), *fresh]
    replaced = {row.corrects_id for row in everything}
    return [row for row in everything if row.pk not in replaced]


class Sheets:
    """The sheets of a visit on their way from values to rows.

    `now` is when this happens, `seen` the time as of which the visit is judged.
    """

    def __init__(
        self,
        visit: Visit,
        sheets: list[Sheet],
        values: Iterable[Value],
        *,
        now: dt.datetime,
        seen: dt.datetime,
        by: Actor,
    ) -> None:
        self.visit, self.sheets, self.now, self.seen, self.by = visit, sheets, now, seen, by
        self.catalogue = catalogue_current()
        self.typed = typed_sheets(values)
        began = visit.started_at or seen
        self.backgrounds = backgrounds_of(
            [sheet.system for sheet in sheets], self.catalogue, timezone.localdate(seen),
            max(now, seen), since=min(began, seen) - HISTORY,
        )  # fmt: skip
        self.grounds = {
            sheet.pk: ground_of(sheet, self.catalogue, seen, self.background(sheet))
            for sheet in sheets
        }

    def typed_of(self, sheet: Sheet) -> Typed:
        """Return what a sheet says so far."""
        return self.typed.get(sheet.pk, Typed())

    def background(self, sheet: Sheet) -> Background:
        """Return what is known of a sheet's system."""
        return self.backgrounds[sheet.system_id]

    def readings(self, sheet: Sheet, where: Where | None = None) -> list[Reading]:
        """Return a sheet's readings, judged and unsaved."""
        return sheet_readings(
            sheet, self.typed_of(sheet), self.grounds[sheet.pk], self.now, author(self.by),
            where or Where(),
        )  # fmt: skip

    def finish(
        self, wheres: dict[UUID, Where], tasks: Mapping[UUID, CareTask], reason: str = ""
    ) -> dict[UUID, list[Reading]]:
        """Write lines, readings, findings and completions; return the readings that count by sheet.

        In the caller's transaction, which has locked the systems' tasks. Raises Invalid.
        """
        held = list(Line.objects.filter(sheet__in=self.sheets))
        held += self._lines_again(held, wheres)
        filled = []
        for sheet in self.sheets:
            rows = self.typed_of(sheet).lines
            filled.append((sheet, _lines_fill(sheet, held, rows, self.catalogue, wheres[sheet.pk])))
        lines_refuse_unfinished(filled, [wheres[sheet.pk].sheet for sheet in self.sheets])
        counting = {}
        for sheet, lines in filled:
            where = wheres[sheet.pk]
            readings = self.readings(sheet, where)
            findings = _findings(
                sheet, self.typed_of(sheet).findings, self.now, self.grounds[sheet.pk], where
            )
            rows_update(lines, ["outcome", "reason", "minutes", "note"])
            rows_now = _append(Reading, sheet, readings, SAME_READING, reason)
            counting[sheet.pk] = sorted(rows_now, key=lambda row: (row.taken_at, row.pk))
            _append(Finding, sheet, findings, ("sign", "text", "component_id", "photo_ids"), reason)
        self._complete(held, tasks)
        return counting

    def _lines_again(self, held: list[Line], wheres: dict[UUID, Where]) -> list[Line]:
        """Put back the lines that were taken off while a phone that was out of reach answered them."""
        there = {line.pk for line in held}
        lines: list[Line] = []
        for sheet in self.sheets:
            # what a body names is looked at against the visit as its sender read it
            loose = self.typed_of(sheet).lines.keys() - there - wheres[sheet.pk].places.keys()
            if loose:
                lines += lines_again(sheet, loose, self.catalogue)
        Line.objects.bulk_create(lines)
        return lines

    def _complete(self, lines: list[Line], tasks: Mapping[UUID, CareTask]) -> None:
        completions_set(
            visit_id=self.visit.pk,
            first=self.visit.written_up_at is None,
            done=[
                (line.pk, line.task_id)
                for line in lines
                if line.task_id is not None
                and (line.outcome == Outcome.DONE or line.reason == "client_did_it")
            ],
            tasks=tasks,
            done_on=timezone.localdate(self.visit.started_at or self.now),
            by=author(self.by),
            at=self.now,
        )
