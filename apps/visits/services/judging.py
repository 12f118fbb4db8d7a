"""From typed numbers to readings: base unit, doubts, band, word."""

import datetime as dt
from dataclasses import dataclass
from typing import Any
from uuid import UUID

from django.utils.translation import gettext as _

from apps.calc import reading as seeing
from apps.catalogue.selectors import Catalogue
from apps.core.dates import day_text
from apps.core.exceptions import Invalid
from apps.core.measures import Shift, shift_of
from apps.core.numbers import format_plain, with_unit
from apps.systems.models import Loop, System
from apps.visits.choices import TakenBy, When, Word
from apps.visits.models import Reading, Sheet
from apps.visits.selectors import LoopLife, band_as_json, bands_of, limits_of
from apps.visits.services.answers import LATEST_FUTURE
from apps.visits.services.typed import Rows, Where, moment_of


@dataclass(frozen=True)
class Ground:
    """What readings of one system are judged against."""

    system: System
    loops: dict[UUID, Loop]
    lives: dict[UUID, LoopLife]
    catalogue: Catalogue
    last: dict[tuple[UUID, str], float]
    altitude_m: float

    def seeing(self) -> seeing.Ground:
        """Return it as the science wants it."""
        return seeing.Ground(
            contexts={str(pk): life.context for pk, life in self.lives.items()},
            bands=bands_of(self.catalogue),
            limits=limits_of(self.catalogue),
            last={(str(loop), code): value for (loop, code), value in self.last.items()},
            altitude_m=self.altitude_m,
        )


class _Bad(Exception):
    def __init__(self, leaf: str, value: Any, message: str, **extra: Any) -> None:
        super().__init__(message)
        self.item = {"leaf": leaf, "value": value, "message": message, **extra}


def readings_build(
    *,
    sheet: Sheet | None,
    rows: Rows,
    ground: Ground,
    now: dt.datetime,
    by: str,
    where: Where | None = None,
    taken_by: str = TakenBy.TECHNICIAN,
) -> list[Reading]:
    """Return unsaved, judged readings of a sheet, or of a client at home.

    Raises Invalid with a pointer for each reading that cannot be taken: unknown loop, measurand
    or unit, a value outside what can be, a time in the future or before the system began.
    """
    errors: list[dict[str, Any]] = []
    found: list[Reading] = []
    where = where or Where()

    def refuse(key: UUID, error: _Bad) -> None:
        item = dict(error.item)
        errors.append({"pointer": where.of("readings", key, item.pop("leaf")), **item})

    for key, row in rows.items():
        try:
            found.append(_reading(key, row, sheet, ground, now, by))
            found[-1].taken_by = taken_by
        except _Bad as error:
            refuse(key, error)
    typed = [_typed(reading) for reading in found]
    for reading, seen in zip(found, seeing.look(typed, ground.seeing()), strict=True):
        if seen.refused:
            refuse(reading.pk, _refusal(seen, rows[reading.pk], ground))
        else:
            _see(reading, seen)
    if errors:
        raise Invalid(errors)
    return found


def _typed(reading: Reading) -> seeing.Typed:
    return seeing.Typed(
        str(reading.pk), str(reading.loop_id), reading.measurand, reading.value,
        reading.typed_unit, reading.basis, reading.method, reading.checked_twice,
    )  # fmt: skip


def _see(reading: Reading, seen: seeing.Seen) -> None:
    reading.value, reading.trusted, reading.word = seen.value, seen.trusted, seen.word
    reading.band = band_as_json(seen.band)
    reading.doubts = [
        {"code": d.code, "parameters": dict(d.params), "suggestion": d.suggestion}
        for d in seen.doubts
    ]


def _measurand(row: dict[str, Any], ground: Ground) -> tuple[str, dict[str, Any]]:
    typed = str(row.get("measurand") or "")
    for code in (typed, typed.lower()):
        entry = ground.catalogue.measurand(code)
        if entry is not None:
            return code, entry
    allowed = list(ground.catalogue.of("measurands"))
    raise _Bad(
        "measurand",
        typed,
        "measurand: " + _("%(typed)s is not known") % {"typed": repr(typed)},
        allowed=allowed,
    )


def _loop(row: dict[str, Any], ground: Ground) -> UUID:
    if not row.get("loop"):
        if len(ground.loops) == 1:
            return next(iter(ground.loops))
        raise _Bad("loop", None, "loop: " + _("say in which loop this was read"))
    typed = str(row["loop"])
    for key, loop in ground.loops.items():
        if typed.lower() in (str(key), loop.kind):
            return key
    allowed = [str(key) for key in ground.loops]
    raise _Bad(
        "loop",
        typed,
        "loop: " + _("%(system)s has no such loop") % {"system": ground.system},
        allowed=allowed,
    )


def _time(
    row: dict[str, Any], ground: Ground, now: dt.datetime, sheet: Sheet | None
) -> dt.datetime:
    begun = sheet.visit.started_at if sheet else None
    taken = moment_of(row.get("taken_at")) or begun or now
    if taken > now + LATEST_FUTURE:
        raise _Bad(
            "taken_at", row.get("taken_at"),
            "taken_at: " + _("lies in the future; check the clock of the phone"),
        )  # fmt: skip
    if ground.system.started_on and taken.date() < ground.system.started_on:
        raise _Bad(
            "taken_at", row.get("taken_at"),
            "taken_at: " + _("before the system began on %(started_on)s") % {"started_on": day_text(ground.system.started_on, "year")},
        )  # fmt: skip
    return taken.astimezone(dt.UTC)


def _reading(
    key: UUID, row: dict[str, Any], sheet: Sheet | None, ground: Ground, now: dt.datetime, by: str
) -> Reading:
    code, entry = _measurand(row, ground)
    if entry.get("derived"):
        raise _Bad(
            "measurand",
            code,
            "measurand: " + _("%(code)s is worked out, not read") % {"code": code},
        )
    unit = seeing.unit_name(str(row.get("unit") or ""))
    basis = str(row.get("basis") or "")
    if basis and not entry.get("basis_choices"):
        raise _Bad(
            "basis", basis, "basis: " + _("%(code)s has no basis; leave it out") % {"code": code}
        )
    loop_id = _loop(row, ground)
    value = float(row["value"])
    return Reading(
        pk=key,
        loop_id=loop_id,
        sheet=sheet,
        measurand=code,
        value=value,
        unit=str(entry["unit"]),
        typed=str(row.get("as_typed") or f"{value:g}")[:40],
        typed_unit=unit,
        basis=basis,
        when=row.get("when") or When.BEFORE,
        method=row.get("method") or "",
        instrument=row.get("instrument") or "",
        taken_at=_time(row, ground, now, sheet),
        received_at=now,
        taken_by=TakenBy.TECHNICIAN,
        by=by,
        checked_twice=bool(row.get("checked_twice")),
        word=Word.IN_BAND,
    )


def _refusal(seen: seeing.Seen, row: dict[str, Any], ground: Ground) -> _Bad:
    """Return why a reading cannot be, in words, with the leaf to mend."""
    entry = ground.catalogue.measurand(seen.measurand) or {}
    if seen.refused == seeing.UNKNOWN_UNIT:
        allowed = [str(name) for name in entry.get("units", [])]
        words = _("%(code)s is read in %(allowed)s") % {
            "code": seen.measurand, "allowed": ", ".join(allowed),
        }  # fmt: skip
        return _Bad("unit", row.get("unit"), f"unit: {words}", allowed=allowed)
    if seen.refused == seeing.NEEDS_TEMPERATURE:
        words = _("oxygen in percent needs the water temperature beside it")
        return _Bad("unit", "%", f"unit: {words}")
    return _out_of_range(seen, row, entry)


def _out_of_range(seen: seeing.Seen, row: dict[str, Any], entry: dict[str, Any]) -> _Bad:
    doubt = next(doubt for doubt in seen.doubts if doubt.code == seen.refused)
    unit = str(entry.get("unit", ""))
    name = _(str(entry["name"])) if entry.get("name") else seen.measurand
    # a limit is said in the unit in which its value was typed
    shift = shift_of(unit)
    shift = shift if shift and seeing.unit_name(str(row.get("unit") or "")) == shift.name else None
    low, high = (_told(float(doubt.params[end]), shift) for end in ("low", "high"))
    message = _("%(name)s %(value)s cannot be: it lies outside %(low)s to %(high)s") % {
        "name": name, "value": format_plain(float(row["value"])), "low": low,
        "high": with_unit(high, shift.name if shift else unit),
    }  # fmt: skip
    if doubt.suggestion is not None:
        meant = with_unit(format_plain(float(f"{doubt.suggestion:.3g}")), unit)
        message += ". " + _("Did you mean %(figure)s?") % {"figure": meant}
    return _Bad("value", row["value"], message, suggestion=doubt.suggestion)


def _told(limit: float, shift: Shift | None) -> str:
    return format_plain(round(shift.shown(limit), 1) if shift else limit)


def readings_judge(readings: list[Reading], ground: Ground) -> None:
    """Give stored readings the word of their band anew, by what is known of each loop."""
    seen = [
        seeing.Seen(str(row.pk), str(row.loop_id), row.measurand, row.value, trusted=row.trusted)
        for row in readings
    ]
    for row, one in zip(readings, seeing.words_of(seen, ground.seeing()), strict=True):
        row.word, row.band = one.word, band_as_json(one.band)
