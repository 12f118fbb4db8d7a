"""Changing an entry's figures, the original beside each."""

from typing import Any

from django import forms
from django.utils.translation import gettext as _

from apps.catalogue.limits import out_of_order
from apps.catalogue.models import Entry
from apps.core.fields import LongWordsField, WordsField
from apps.office.forms.base import NumberField, RevForm
from apps.office.reference_words import FIXED, label_of
from apps.office.wording import upper_first

LOWEST, HIGHEST = -10_000, 999_999
LONG = 90


class EntryForm(RevForm):
    """The figures of an entry that the firm may set; `numeric` names those that are numbers."""

    def __init__(self, *args: Any, entry: Entry, numeric: set[str], **more: Any) -> None:
        super().__init__(*args, **more)
        self.entry = entry
        for key, original in entry.original.items():
            field = None if key in FIXED else _field(key, original, numeric)
            if field is not None:
                field.label = upper_first(label_of(key))
                field.help_text = _("loaded: %(value)s") % {"value": shown(original)}
                field.initial = entry.figures.get(key)
                self.fields[key] = field

    def clean(self) -> dict[str, Any]:
        """Refuse limits that do not follow one another."""
        data = super().clean() or {}
        for low, high in out_of_order({key: data.get(key) for key in self.fields}):
            text = _("Write at least %(value)s, which is '%(name)s', or change that too.")
            name = self.fields[low].label
            self.add_error(high, text % {"value": shown(data[low]), "name": name})
        return data

    def changes(self) -> dict[str, Any]:
        """Return the figures that differ from what counts now."""
        found = {}
        for key in self.fields:
            if key == "rev":
                continue
            value = self.cleaned_data[key]
            if isinstance(value, float) and value.is_integer() and _whole(self.entry, key):
                value = int(value)
            if value != self.entry.figures.get(key):
                found[key] = value
        return found


def _whole(entry: Entry, key: str) -> bool:
    return not isinstance(entry.original.get(key), float)


def _field(key: str, original: Any, numeric: set[str]) -> forms.Field | None:
    if isinstance(original, bool):
        return forms.BooleanField(required=False)
    if key in numeric:
        return NumberField(low=LOWEST, high=HIGHEST, required=original is not None)
    if isinstance(original, str):
        kind = LongWordsField if len(original) > LONG else WordsField
        return kind(max_length=1000, required=False)
    return None


def shown(value: Any) -> str:
    """Return a figure as it reads in a table."""
    if value is None or value == "" or value == []:
        return _("none")
    if isinstance(value, bool):
        return _("yes") if value else _("no")
    if isinstance(value, list):
        return ", ".join(str(item) for item in value)
    if isinstance(value, dict):
        return "; ".join(f"{key}: {item}" for key, item in value.items())
    return f"{value:g}" if isinstance(value, float) else str(value)
