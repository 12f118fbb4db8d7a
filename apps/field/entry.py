"""The entry of one reading: what stands there, what may be chosen, what was perhaps meant."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from django.utils.html import format_html
from django.utils.translation import gettext as _

from apps.calc.reading import unit_name
from apps.core.numbers import format_figure, with_unit
from apps.field.work import Row, Work
from apps.systems.models import Loop
from apps.visits.choices import When
from apps.visits.labels import basis_name
from apps.visits.models import Reading
from apps.visits.services.answers import value_of

METHODS = ("meter", "drops", "strip", "photometer", "laboratory", "counted")
LEAVES = (
    "value", "unit", "basis", "method", "instrument", "checked_twice", "as_typed", "taken_at",
    "loop", "measurand", "when", "gone",
)  # fmt: skip
# what a doubt says was perhaps meant, as another unit or basis for the same figure
OTHER_UNIT = {
    "fahrenheit": {"unit": "°F"},
    "ion_for_nitrogen": {"basis": "ion"},
}
DEGREES = {"alk": "dKH", "gh": "dGH"}


def method_name(code: str) -> str:
    """Return what a method is called."""
    return {
        "meter": _("meter"), "drops": _("drops"), "strip": _("strip"),
        "photometer": _("photometer"), "laboratory": _("laboratory"), "counted": _("counted"),
    }.get(code, code)  # fmt: skip


@dataclass(frozen=True)
class Fix:
    """One tap that puts a slip right: the words, and the leaves to answer."""

    words: str
    leaves: dict[str, str]


def answers_of(
    work: Work, loop: Loop, measurand: str, when: str, row: Row, posted: Mapping[str, Any]
) -> dict[str, Any]:
    """Return the leaves that a posted entry answers. Raises BadAnswer."""
    entry = work.catalogue.measurand(measurand) or {}
    prefix = f"readings/{row.key}"
    text = str(posted.get("value", "")).strip()
    new: dict[str, Any] = {
        "loop": str(loop.pk), "measurand": measurand, "when": when,
        "value": None if posted.get("not_measured") else value_of(text),
        "as_typed": "" if posted.get("not_measured") else text[:40],
        "unit": str(posted.get("unit", entry.get("unit", ""))),
    }  # fmt: skip
    if entry.get("basis_choices"):
        new["basis"] = str(posted.get("basis", ""))
    for name in ("method", "instrument"):
        if posted.get(name) or row.get(name):
            new[name] = str(posted.get(name, ""))
    if row.get("gone"):
        new["gone"] = False
    changed = any(new[name] != row.get(name) for name in ("value", "unit"))
    if posted.get("checked_twice"):
        new["checked_twice"] = True
    elif changed and row.get("checked_twice"):
        new["checked_twice"] = False
    if changed:
        new["taken_at"] = work.now.isoformat()
    return {
        f"{prefix}/{leaf}": value for leaf, value in new.items()
        if not (leaf in row.leaves and row.get(leaf) == value)
    }  # fmt: skip


def chosen(row: Row, last: Reading | None, entry: Mapping[str, Any]) -> dict[str, str]:
    """Return unit, basis, method and instrument as they stand, else as they were last time."""
    unit = row.get("unit")
    units = [str(name) for name in entry.get("units", [])]
    if unit is None:
        unit = last.typed_unit if last and last.typed_unit in units else str(entry["unit"])
    basis = row.get("basis")
    if basis is None:
        # unsaid counts as the element and is doubted where it looks like the ion
        basis = "ion" if last and last.basis == "ion" else ""
    return {
        "unit": unit_name(unit) if unit_name(unit) in units else str(unit),
        "basis": str(basis),
        "method": str(row.get("method") or (last.method if last and row.rev("value") == 0 else "")),
        "instrument": str(
            row.get("instrument") or (last.instrument if last and row.rev("value") == 0 else "")
        ),
    }


def fixes_of(
    work: Work, measurand: str, row: Row, reading: Reading | None, refused: Mapping[str, Any] | None
) -> list[Fix]:
    """Return what was perhaps meant, each to be taken with one tap."""
    entry = work.catalogue.measurand(measurand) or {}
    if refused is not None:
        meant = refused.get("suggestion")
        return [] if meant is None else [_plain_fix(float(meant), entry, row, measurand)]
    fixes = []
    for doubt in reading.doubts if reading else []:
        meant = doubt.get("suggestion")
        if meant is None:
            continue
        fixes.append(_fix(str(doubt["code"]), float(meant), entry, row, measurand))
    return fixes[:2]


def _fix(code: str, meant: float, entry: Mapping[str, Any], row: Row, measurand: str) -> Fix:
    other = dict(OTHER_UNIT.get(code, {}))
    if code == "degrees_of_hardness":
        other = {"unit": DEGREES[measurand]}
    if not other:
        return _plain_fix(meant, entry, row, measurand)
    shown = str(row.get("as_typed") or row.get("value"))
    if "basis" in other:
        ion = basis_name("ion", measurand)
        words: str = format_html(_("Did you mean {value} {basis}?"), value=shown, basis=ion)
    else:
        words = _("Did you mean %(figure)s?") % {"figure": with_unit(shown, other["unit"])}
    return Fix(words, {"value": shown, **other})


def _plain_fix(meant: float, entry: Mapping[str, Any], row: Row, measurand: str) -> Fix:
    if measurand == "temp" and entry.get("unit") == "°C" and float(row.get("value") or 0) > 32:
        celsius = (float(row.get("value")) - 32) / 1.8
        if abs(celsius - meant) < 0.05:
            return _fix("fahrenheit", meant, entry, row, measurand)
    if measurand == "ec" and abs(float(row.get("value") or 0) - 1000 * meant) < 1e-6:
        shown = with_unit(str(row.get("as_typed") or row.get("value")), "µS/cm")
        leaves = {"value": str(row.get("as_typed") or row.get("value")), "unit": "uS/cm"}
        return Fix(_("Did you mean %(figure)s?") % {"figure": shown}, leaves)
    decimals = min(int(entry.get("decimals") or 0) + 1, 4)
    text = f"{meant:.{decimals}f}".rstrip("0").rstrip(".")
    unit = str(entry["unit"])
    shown = with_unit(format_figure(float(text), len(text.partition(".")[2])), unit)
    return Fix(_("Did you mean %(figure)s?") % {"figure": shown}, {"value": text, "unit": unit})


def when_allowed(when: str) -> bool:
    """Tell whether a word says when a reading was taken."""
    return when in When.values
