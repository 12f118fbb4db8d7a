"""Climate normals: twelve months in boxes, or pasted from a table to fill the boxes with."""

import re
from collections.abc import Mapping, Sequence
from typing import Any, NamedTuple

from django import forms
from django.core.exceptions import ValidationError
from django.utils.functional import Promise
from django.utils.translation import gettext as _now
from django.utils.translation import gettext_lazy as _

from apps.calc.climate_months import FIELDS, Month
from apps.clients.climate import MONTHS, faults_of, faults_of_month
from apps.core.dates import month_text
from apps.core.fields import LongWordsField, WordsField
from apps.office.forms.base import NumberField
from apps.visits.services.answers import BadAnswer, number, typed_number

LABELS: dict[str, tuple[str | Promise, str | Promise]] = {
    "low_c": (_("Lowest"), "°C"), "high_c": (_("Highest"), "°C"), "rain_mm": (_("Rain"), "mm"),
    "wet_days": (_("Days with rain"), _("days")), "et0_mm": (_("Evaporation"), "mm"),
}  # fmt: skip
NEEDED = ("low_c", "high_c", "rain_mm")
_SPACED = re.compile(r"\S\s+\S")


class ClimateForm(forms.Form):
    """Twelve months, and where they are from. `rev`: of what they are to take the place of."""

    # a browser would keep a pasted table back while the boxes are empty
    use_required_attribute = False

    rev = forms.IntegerField(widget=forms.HiddenInput, min_value=1, required=False)
    source = WordsField(
        label=_("Which station, which years"), max_length=200, required=False,
        help_text=_("such as: Weir Hill, 1991 to 2020"),
    )  # fmt: skip
    pasted = LongWordsField(
        label=_("Fill the boxes from a table"), max_length=6000, required=False,
        help_text=_(
            "Twelve lines, January to December: lowest, highest, rain, and where you have them days "
            "with rain and evaporation. From a spreadsheet, or with semicolons; °F, cm and inches "
            "are turned into °C and mm where they are named. Nothing is kept before you have looked "
            "the boxes over."
        ),
    )  # fmt: skip

    def __init__(self, *args: Any, **more: Any) -> None:
        super().__init__(*args, **more)
        for month in range(1, MONTHS + 1):
            for name, (label, unit) in LABELS.items():
                self.fields[f"{name}_{month}"] = NumberField(
                    label=f"{label}, {month_text(month)}", unit=unit, required=name in NEEDED
                )

    @staticmethod
    def month_names() -> list[str]:
        """Return the names of the boxes, month by month."""
        return [f"{name}_{month}" for month in range(1, MONTHS + 1) for name in LABELS]

    @staticmethod
    def initial_of(months: Sequence[Month]) -> dict[str, Any]:
        """Return months as the values of the boxes."""
        return {
            f"{name}_{number}": getattr(month, name)
            for number, month in enumerate(months, start=1)
            for name in FIELDS
        }

    def groups(self) -> list[tuple[str, list[Any]]]:
        """Return the boxes by month, under its name."""
        return [
            (month_text(month), [self[f"{name}_{month}"] for name in LABELS])
            for month in range(1, MONTHS + 1)
        ]

    def clean_pasted(self) -> tuple[Month, ...]:
        """Return the months of the pasted table, none where there is none."""
        text = self.cleaned_data["pasted"]
        return table_read(text) if text.strip() else ()

    def clean(self) -> dict[str, Any]:
        """Refuse what does not go together in a month."""
        data = super().clean() or {}
        if self.data.get("pasted", "").strip():
            # only the table is looked at: the boxes are filled from it
            for name in self.month_names():
                self.errors.pop(name, None)
            return data
        for month in range(1, MONTHS + 1):
            if not any(f"{name}_{month}" in self.errors for name in LABELS):
                for fault in faults_of_month(month - 1, self._month(month)):
                    self.add_error(f"{fault.field}_{month}", fault.message)
        return data

    def months(self) -> list[Month]:
        """Return the months of a form whose boxes are valid."""
        return [self._month(month) for month in range(1, MONTHS + 1)]

    def _month(self, number: int) -> Month:
        return Month(**{name: self.cleaned_data[f"{name}_{number}"] for name in LABELS})


# units that tables come in, by what they measure, and how each becomes the one of the box
_DEGREES = {
    "°c": (1.0, 0.0),
    "c": (1.0, 0.0),
    "°": (1.0, 0.0),
    "°f": (5 / 9, -160 / 9),
    "f": (5 / 9, -160 / 9),
}
_DEPTHS = {
    "mm": (1.0, 0.0),
    "cm": (10.0, 0.0),
    "in": (25.4, 0.0),
    "inch": (25.4, 0.0),
    "inches": (25.4, 0.0),
    '"': (25.4, 0.0),
}
_DAYS = {"d": (1.0, 0.0), "day": (1.0, 0.0), "days": (1.0, 0.0)}
UNITS = {
    "low_c": _DEGREES,
    "high_c": _DEGREES,
    "rain_mm": _DEPTHS,
    "wet_days": _DAYS,
    "et0_mm": _DEPTHS,
}
_ANY_UNIT = {unit for units in UNITS.values() for unit in units} | {"k"}
_OWN_UNITS = {
    unit for units in UNITS.values() for unit, turn in units.items() if turn == (1.0, 0.0)
}
_FIGURE = re.compile(r"([-−+]?[0-9][0-9.,]*)\s*(\D*)")
# a unit that a space parts from its figure belongs to it, also where spaces part the cells
_APART = re.compile(
    r"(?<=[0-9])[ \u00a0\u202f]+(?=(?:°\s?[CF]?|[CF]|mm|cm|in|inch|inches|d|days?)(?:[\s;,]|$))",
    re.IGNORECASE,
)


class _Line(NamedTuple):
    number: int
    cells: list[str]


def table_read(text: str) -> tuple[Month, ...]:
    """Return the months of a pasted table, January first.

    Cells are parted by tabs, semicolons, commas or spaces; a line of words before the first month
    and a first cell that names the month are passed over. Units behind figures or in the line of
    words are taken where they are known, and turned into °C and mm. Raises ValidationError naming
    the line.
    """
    text = _APART.sub("", text)
    lines = [
        _Line(number, _cells(line, text))
        for number, line in enumerate(text.splitlines(), start=1)
        if line.strip()
    ]
    head = None
    if lines and not any(_figure(cell) for cell in lines[0].cells):
        head, lines = lines[0], lines[1:]
    if len(lines) != MONTHS:
        words = _now("Twelve lines are needed, January to December, not %(count)s.")
        raise ValidationError(words % {"count": len(lines)})
    named = all(_names_month(line.cells, place) for place, line in enumerate(lines, start=1))
    begin = 1 if named else 0
    units = _head_units(head, begin, len(lines[0].cells)) if head else {}
    months = [_month(line, begin, units) for line in lines]
    for fault in faults_of(months)[:1]:
        raise ValidationError(_at(lines[fault.month].number, fault.message))
    return tuple(months)


def _head_units(head: _Line, begin: int, count: int) -> dict[str, str]:
    """Return the unit of each column that the line of words names one for.

    Raises ValidationError for a unit that the column cannot have, and where its cells do not stand
    over those of the months.
    """
    named = [(place, unit) for place, cell in enumerate(head.cells) if (unit := _unit_in(cell))]
    foreign = [unit for _place, unit in named if unit not in _OWN_UNITS]
    if len(head.cells) != count:
        if not foreign:
            return {}
        words = _now("it names units but has %(head)s cells, and January has %(count)s: "
                     "each over its column, or no units there")  # fmt: skip
        raise ValidationError(_at(head.number, words % {"head": len(head.cells), "count": count}))
    fields = list(LABELS)
    found = {}
    for place, unit in named:
        if begin <= place < begin + len(fields):
            name = fields[place - begin]
            _known_unit(head.number, name, unit)
            found[name] = unit
    return found


def _unit_in(cell: str) -> str:
    """Return the unit that a heading ends with: in brackets, after a comma or a space."""
    last = re.split(r"[\s,(\[/]+", cell.rstrip(")] \t"))[-1].lower()
    return last if last in _ANY_UNIT or last.startswith("°") else ""


def _known_unit(line: int, name: str, unit: str) -> tuple[float, float]:
    known = UNITS[name].get(unit.lower())
    if known is None:
        label, own = LABELS[name]
        words = _now("%(unit)s is no unit of %(what)s that is known here; it is kept in %(own)s")
        raise ValidationError(
            _at(line, words % {"unit": repr(unit), "what": str(label).lower(), "own": own})
        )
    return known


def _cells(line: str, text: str) -> list[str]:
    if "\t" in text:
        parts = line.split("\t")
    elif ";" in text:
        parts = line.split(";")
    elif re.search(r",\s", text) or not _SPACED.search(line.strip()):
        parts = line.split(",")
    else:
        parts = line.split()
    return [part.strip() for part in parts]


def _names_month(cells: Sequence[str], place: int) -> bool:
    return bool(cells) and (_figure(cells[0]) is None or cells[0] == str(place))


def _month(line: _Line, begin: int, units: Mapping[str, str]) -> Month:
    cells = line.cells[begin:]
    while cells and not cells[-1]:
        cells.pop()
    if not len(NEEDED) <= len(cells) <= len(LABELS):
        words = _now("three to five figures are needed, not %(count)s")
        raise ValidationError(_at(line.number, words % {"count": len(cells)}))
    values: dict[str, float | None] = {}
    for name, cell in zip(LABELS, cells, strict=False):
        found = _figure(cell) if cell else None
        if found is None and (cell or name in NEEDED):
            words = _now("%(value)s is no number")
            raise ValidationError(_at(line.number, words % {"value": repr(cell)}))
        values[name] = None if found is None else _turned(line.number, name, *found, units)
    return Month(**values)  # type: ignore[arg-type]


def _turned(line: int, name: str, value: float, unit: str, units: Mapping[str, str]) -> float:
    """Return a figure in the unit of its box: by its own unit, else by that of its column."""
    own = unit or units.get(name, "")
    if not own:
        return value
    times, plus = _known_unit(line, name, own)
    return value if times == 1.0 else round(value * times + plus, 2)


def _figure(cell: str) -> tuple[float, str] | None:
    """Return a cell's figure and the unit behind it; None where it holds no figure."""
    match = _FIGURE.fullmatch(cell)
    if match is None:
        return None
    try:
        return number(typed_number(match[1])), re.sub(r"\s", "", match[2])
    except BadAnswer:
        return None


def _at(line: int, message: str) -> str:
    return _now("Line %(line)s: %(message)s") % {"line": line, "message": message}
