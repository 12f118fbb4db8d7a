"""Climate normals: twelve months in boxes, or pasted from a table to fill the boxes with."""

import re
from collections.abc import Sequence
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
            "with rain and evaporation. From a spreadsheet, or with semicolons. Nothing is kept "
            "before you have looked the boxes over."
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


class _Line(NamedTuple):
    number: int
    cells: list[str]


def table_read(text: str) -> tuple[Month, ...]:
    """Return the months of a pasted table, January first.

    Cells are parted by tabs, semicolons, commas or spaces; a line of words before the first month
    and a first cell that names the month are passed over. Raises ValidationError naming the line.
    """
    lines = [
        _Line(number, _cells(line, text))
        for number, line in enumerate(text.splitlines(), start=1)
        if line.strip()
    ]
    if lines and not any(_number(cell) is not None for cell in lines[0].cells):
        lines = lines[1:]
    if len(lines) != MONTHS:
        words = _now("Twelve lines are needed, January to December, not %(count)s.")
        raise ValidationError(words % {"count": len(lines)})
    named = all(_names_month(line.cells, place) for place, line in enumerate(lines, start=1))
    months = [_month(line, 1 if named else 0) for line in lines]
    for fault in faults_of(months)[:1]:
        raise ValidationError(_at(lines[fault.month].number, fault.message))
    return tuple(months)


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
    return bool(cells) and (_number(cells[0]) is None or cells[0] == str(place))


def _month(line: _Line, begin: int) -> Month:
    cells = line.cells[begin:]
    while cells and not cells[-1]:
        cells.pop()
    if not len(NEEDED) <= len(cells) <= len(LABELS):
        words = _now("three to five figures are needed, not %(count)s")
        raise ValidationError(_at(line.number, words % {"count": len(cells)}))
    values: dict[str, float | None] = {}
    for name, cell in zip(LABELS, cells, strict=False):
        value = _number(cell) if cell else None
        if value is None and (cell or name in NEEDED):
            words = _now("%(value)s is no number")
            raise ValidationError(_at(line.number, words % {"value": repr(cell)}))
        values[name] = value
    return Month(**values)  # type: ignore[arg-type]


def _number(cell: str) -> float | None:
    try:
        return number(typed_number(cell))
    except BadAnswer:
        return None


def _at(line: int, message: str) -> str:
    return _now("Line %(line)s: %(message)s") % {"line": line, "message": message}
