"""A form made from a calculator's fields."""

from collections.abc import Mapping
from typing import Any

from django import forms
from django.utils.translation import gettext as _

from apps.calc.calculators import Calculator, Field
from apps.calc.calculators.fields import CHOICE, DATE, INTEGER, LIST, NUMBER, ROWS
from apps.core.numbers import format_plain, unit_word
from apps.office.calculator_words import CHOICES, say
from apps.office.forms.systems import MEDIA
from apps.office.wording import upper_first

ROW_COUNT = 4
# a range that only guards against slips is not worth a hint
UNBOUNDED = 30_000


class CalculatorForm(forms.Form):
    """Fields as texts: the calculator itself reads them, strictly, and names every fault."""

    def __init__(
        self, *args: Any, calculator: Calculator, names: Mapping[str, str], **more: Any
    ) -> None:
        super().__init__(*args, **more)
        self.calculator, self.names = calculator, names
        for field in calculator.fields:
            if field.kind == ROWS:
                for index in range(ROW_COUNT):
                    for column in field.columns:
                        self.fields[f"{field.name}-{index}-{column.name}"] = self._field(column)
            else:
                self.fields[field.name] = self._field(field)

    def _field(self, field: Field) -> forms.Field:
        label = label_of(field)
        # whether a field is wanted is told by the calculator, which knows the others
        made: forms.Field
        if field.kind == CHOICE:
            choices = [("", "–"), *((code, self._word(code)) for code in field.choices)]
            made = forms.ChoiceField(choices=choices, label=label)
        elif field.kind == DATE:
            made = forms.CharField(
                widget=forms.DateInput(attrs={"type": "date"}), label=label, max_length=10
            )
        else:
            made = forms.CharField(label=label, max_length=4000, help_text=_hint(field))
            if field.kind in (NUMBER, INTEGER):
                keypad = "numeric" if field.kind == INTEGER else "decimal"
                made.widget.attrs |= {"inputmode": keypad, "class": "numeric"}
        made.required = field.required
        made.widget.is_required = False
        made.unit = unit_word(field.unit)  # type: ignore[union-attr]
        if field.default is not None:
            made.initial = (
                f"{field.default:g}" if isinstance(field.default, float) else field.default
            )
        made.clean = lambda value: value or ""  # type: ignore[method-assign]
        return made

    def _word(self, code: str) -> str:
        return self.names.get(code) or str(CHOICES.get(code) or MEDIA.get(code) or code)

    def payload(self) -> dict[str, Any]:
        """Return what was typed as the calculator takes it; empty fields are left out."""
        found: dict[str, Any] = {}
        for field in self.calculator.fields:
            if field.kind == ROWS:
                rows = [row for row in map(self._row(field), range(ROW_COUNT)) if row]
                if rows:
                    found[field.name] = rows
                continue
            text = str(self.data.get(field.name, "")).strip()
            if text:
                found[field.name] = text.replace(";", " ").split() if field.kind == LIST else text
        return found

    def _row(self, field: Field) -> Any:
        def read(index: int) -> dict[str, str]:
            cells = {
                column.name: str(self.data.get(f"{field.name}-{index}-{column.name}", "")).strip()
                for column in field.columns
            }
            return {name: text for name, text in cells.items() if text}

        return read

    def refuse(self, errors: list[dict[str, Any]]) -> None:
        """Put each of the calculator's faults beside its field."""
        for error in errors:
            parts = str(error["pointer"]).strip("/").split("/")
            name = "-".join(parts) if "-".join(parts) in self.fields else parts[0]
            message = upper_first(say(error["message"], self.labels()))
            self.add_error(name if name in self.fields else None, message)

    def labels(self) -> dict[str, str]:
        """Return what the fields, their columns and their choices are called."""
        fields = [f for field in self.calculator.fields for f in (field, *field.columns)]
        choices = {code: self._word(code) for field in fields for code in field.choices}
        return choices | {field.name: label_of(field) for field in fields}

    def groups(self) -> list[tuple[str, list[Any]]]:
        """Return the fields for the page: one list, and one for each row of rows."""
        plain = [self[field.name] for field in self.calculator.fields if field.kind != ROWS]
        found = [("", plain)]
        for field in self.calculator.fields:
            if field.kind == ROWS:
                for index in range(ROW_COUNT):
                    cells = [
                        self[f"{field.name}-{index}-{column.name}"] for column in field.columns
                    ]
                    title = _(field.help) if index == 0 else ""
                    found.append((title, cells))
        return found


def label_of(field: Field) -> str:
    """Return what a field is called."""
    return _(field.help) if field.help else field.name.replace("_", " ").capitalize()


def _hint(field: Field) -> str:
    if field.kind == LIST:
        return _("One after the other, parted by spaces.")
    if field.low is None or field.high is None or field.high >= UNBOUNDED:
        return ""
    return _("%(low)s to %(high)s") % {
        "low": format_plain(field.low),
        "high": format_plain(field.high),
    }
