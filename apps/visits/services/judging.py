"""From typed numbers to readings: base unit, doubts, band, word."""

import datetime as dt
from dataclasses import dataclass
from typing import Any
from uuid import UUID

from django.utils.translation import gettext as _

from apps.calc import plausibility
from apps.calc.judgement import judge, judge_ammonia
from apps.calc.quantities import MEASURANDS, Quantity
from apps.catalogue.selectors import Catalogue
from apps.core.dates import day_text
from apps.core.exceptions import Invalid
from apps.core.numbers import format_plain, with_unit
from apps.systems.models import Loop, System
from apps.visits.choices import TakenBy, When, Word
from apps.visits.models import Reading, Sheet
from apps.visits.selectors import LoopLife, band_as_json, band_for
from apps.visits.services.answers import LATEST_FUTURE
from apps.visits.services.typed import Rows, Where, moment_of

UNIT_NAMES = {
    "c": "°C", "degc": "°C", "deg_c": "°C", "celsius": "°C", "f": "°F", "degf": "°F",
    "mg/l": "mg/L", "mg_l": "mg/L", "ppm": "mg/L", "mg/l n": "mg/L", "mg/l caco3": "mg/L CaCO3",
    "mg_l_caco3": "mg/L CaCO3", "mg/l as caco3": "mg/L CaCO3", "ms/cm": "mS/cm", "us/cm": "uS/cm",
    "µs/cm": "uS/cm", "ph": "", "-": "", "1": "", "none": "", "l/min": "L/min", "l/h": "L/h",
    "percent": "%", "dkh": "dKH", "dgh": "dGH", "meq/l": "meq/L", "g/d": "g/day",
}  # fmt: skip


@dataclass(frozen=True)
class Ground:
    """What readings of one system are judged against."""

    system: System
    loops: dict[UUID, Loop]
    lives: dict[UUID, LoopLife]
    catalogue: Catalogue
    last: dict[tuple[UUID, str], float]
    altitude_m: float


def unit_name(unit: str) -> str:
    """Return the usual spelling of a unit.

    >>> unit_name("degC")
    '°C'
    """
    return UNIT_NAMES.get(unit.strip().lower(), unit.strip())


class _Bad(Exception):
    def __init__(self, leaf: str, value: Any, message: str, **extra: Any) -> None:
        super().__init__(message)
        self.item = {"leaf": leaf, "value": value, "message": message, **extra}


def readings_build(
    *,
    sheet: Sheet,
    rows: Rows,
    ground: Ground,
    now: dt.datetime,
    by: str,
    where: Where | None = None,
) -> list[Reading]:
    """Return unsaved, judged readings of a sheet.

    Raises Invalid with a pointer for each reading that cannot be taken: unknown loop, measurand
    or unit, a value outside what can be, a time in the future or before the system began.
    """
    errors: list[dict[str, Any]] = []
    found: list[tuple[Reading, dict[str, Any]]] = []
    where = where or Where()
    for key, row in rows.items():
        try:
            found.append((_reading(key, row, sheet, ground, now, by), row))
        except _Bad as error:
            item = dict(error.item)
            pointer = where.of("readings", key, item.pop("leaf"))
            errors.append({"pointer": pointer, **item})
    others = _others([reading for reading, _row in found], ground)
    for reading, row in found:
        try:
            _doubt(reading, row, others.get(reading.loop_id, {}), ground)
        except _Bad as error:
            item = dict(error.item)
            pointer = where.of("readings", reading.pk, item.pop("leaf"))
            errors.append({"pointer": pointer, **item})
    if errors:
        raise Invalid(errors)
    readings_judge([reading for reading, _row in found], ground)
    return [reading for reading, _row in found]


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


def _time(row: dict[str, Any], ground: Ground, now: dt.datetime, sheet: Sheet) -> dt.datetime:
    taken = moment_of(row.get("taken_at")) or sheet.visit.started_at or now
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
    key: UUID, row: dict[str, Any], sheet: Sheet, ground: Ground, now: dt.datetime, by: str
) -> Reading:
    code, entry = _measurand(row, ground)
    if entry.get("derived"):
        raise _Bad(
            "measurand",
            code,
            "measurand: " + _("%(code)s is worked out, not read") % {"code": code},
        )
    unit = unit_name(str(row.get("unit") or ""))
    basis = str(row.get("basis") or "")
    if basis and not entry.get("basis_choices"):
        raise _Bad(
            "basis", basis, "basis: " + _("%(code)s has no basis; leave it out") % {"code": code}
        )
    loop_id = _loop(row, ground)
    value = float(row["value"])
    if code == "do" and unit == "%":
        base = value
    else:
        try:
            base = plausibility.to_base(code, value, unit, basis or None)
        except ValueError:
            allowed = [str(name) for name in entry.get("units", [])]
            raise _Bad(
                "unit", row.get("unit"), "unit: " + _("%(code)s is read in %(allowed)s") % {"code": code, "allowed": ", ".join(allowed)},
                allowed=allowed,
            ) from None  # fmt: skip
    return Reading(
        pk=key,
        loop_id=loop_id,
        sheet=sheet,
        measurand=code,
        value=base,
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


def _others(readings: list[Reading], ground: Ground) -> dict[UUID, dict[str, float]]:
    others: dict[UUID, dict[str, float]] = {}
    for reading in readings:
        known = MEASURANDS.get(reading.measurand)
        # what is refused for itself must not be used to doubt its neighbours
        if reading.typed_unit != "%" and (known is None or known.holds(reading.value)):
            others.setdefault(reading.loop_id, {"altitude_m": ground.altitude_m})[
                reading.measurand
            ] = reading.value
    return others


def _limits(entry: dict[str, Any], code: str) -> Quantity | None:
    known = MEASURANDS.get(code)
    if known is None or entry.get("hard_low") is None or entry.get("hard_high") is None:
        return known
    return Quantity(
        code, known.title, known.unit, known.decimals, float(entry["hard_low"]),
        float(entry["hard_high"]), entry.get("ask_low"), entry.get("ask_high"),
    )  # fmt: skip


def _doubt(reading: Reading, row: dict[str, Any], others: dict[str, float], ground: Ground) -> None:
    entry = ground.catalogue.measurand(reading.measurand) or {}
    if reading.measurand == "do" and reading.typed_unit == "%":
        if "temp" not in others:
            raise _Bad(
                "unit", "%", "unit: " + _("oxygen in percent needs the water temperature beside it")
            )
        reading.value = plausibility.oxygen_from_percent(
            reading.value, others["temp"], ground.altitude_m
        )
    doubts = plausibility.check(
        reading.measurand,
        reading.value,
        "",
        last=ground.last.get((reading.loop_id, reading.measurand)),
        others={name: value for name, value in others.items() if name != reading.measurand},
        limits=_limits(entry, reading.measurand),
        method=reading.method,
    )
    if reading.basis == "ion":
        # the sender has said that the kit prints the ion; the value is converted already
        doubts = [doubt for doubt in doubts if doubt.code != "ion_for_nitrogen"]
    for doubt in doubts:
        if doubt.code in ("outside_range", "not_a_number"):
            raise _out_of_range(reading, row, doubt, entry)
    reading.doubts = [
        {"code": d.code, "parameters": dict(d.params), "suggestion": d.suggestion} for d in doubts
    ]
    reading.trusted = plausibility.is_trusted(doubts, reading.checked_twice)


def _out_of_range(
    reading: Reading, row: dict[str, Any], doubt: plausibility.Doubt, entry: dict[str, Any]
) -> _Bad:
    unit = str(entry.get("unit", ""))
    name = _(str(entry["name"])) if entry.get("name") else reading.measurand
    low, high = doubt.params["low"], doubt.params["high"]
    message = _("%(name)s %(value)s cannot be: it lies outside %(low)s to %(high)s") % {
        "name": name, "value": format_plain(float(row["value"])), "low": format_plain(float(low)),
        "high": with_unit(format_plain(float(high)), unit),
    }  # fmt: skip
    if doubt.suggestion is not None:
        meant = with_unit(format_plain(float(f"{doubt.suggestion:.3g}")), unit)
        message += ". " + _("Did you mean %(figure)s?") % {"figure": meant}
    return _Bad("value", row["value"], message, suggestion=doubt.suggestion)


def readings_judge(readings: list[Reading], ground: Ground) -> None:
    """Give each reading the word of its band; ammonia by the stricter of its own and its toxic part."""
    values = {(row.loop_id, row.measurand): row.value for row in readings if row.trusted}
    for reading in readings:
        life = ground.lives[reading.loop_id]
        band = band_for(ground.catalogue, reading.measurand, life.context)
        reading.band = band_as_json(band)
        if not reading.trusted:
            reading.word = Word.MEASURE_AGAIN
        elif band is None:
            reading.word = Word.IN_BAND
        elif reading.measurand == "tan":
            reading.word = judge_ammonia(
                reading.value,
                band,
                band_for(ground.catalogue, "nh3", life.context),
                values.get((reading.loop_id, "ph")),
                values.get((reading.loop_id, "temp")),
            )
        else:
            reading.word = judge(reading.value, band)
