"""What is asked of a site: one field for each question of the survey sheet."""

from typing import Any

from django import forms
from django.core.validators import MaxValueValidator, MinValueValidator
from django.utils.translation import gettext as _now
from django.utils.translation import gettext_lazy as _

from apps.catalogue.selectors import Catalogue
from apps.core.fields import LongWordsField, WordsField
from apps.core.phrases import upper_first
from apps.office.forms.base import DoneDayField, NumberField
from apps.office.forms.places import SourceForm
from apps.proposals import survey_words as ask
from apps.proposals.models import SiteSurvey

FIRST = ("on", "surveyed_by")


class SurveyForm(forms.Form):
    """A survey of a site; everything but day and name may be left empty: not looked at."""

    on = DoneDayField(label=_("Day of the survey"))
    surveyed_by = WordsField(label=_("Who was there"), max_length=120)
    rev = forms.IntegerField(widget=forms.HiddenInput, min_value=0, initial=0)

    def __init__(self, *args: Any, catalogue: Catalogue, **more: Any) -> None:
        super().__init__(*args, **more)
        species = [
            (code, upper_first(_now(str(row["name"]))))
            for code, row in catalogue.of("species").items()
        ]
        for _code, _title, rows in ask.GROUPS:
            for asked in rows:
                self.fields[asked.name] = _field(asked, species)

    def groups(self) -> list[tuple[Any, list[Any]]]:
        """Return the fields in groups with their headings."""
        first = (_("The survey"), [self[name] for name in FIRST])
        return [first, *((t, [self[row.name] for row in rows]) for _c, t, rows in ask.GROUPS)]

    def clean(self) -> dict[str, Any]:
        """Refuse half a measurement of water, and a summer colder than the winter."""
        data = super().clean() or {}
        winter, summer = data.get("winter_c"), data.get("summer_c")
        if winter is not None and summer is not None and summer < winter:
            self.add_error("summer_c", _now("The hottest weeks cannot be colder than the coldest month."))  # fmt: skip
        measured = any(data.get(name) not in (None, False) for name in ask.WATER)
        for name in ask.WATER_NEEDED:
            if measured and data.get(name) is None and name not in self.errors:
                self.add_error(name, _now("A measurement of the water needs pH, alkalinity and total chlorine: give all three, or leave the water empty."))  # fmt: skip
        if data.get("allowed_by") and not data.get("allowed"):
            self.add_error("allowed", _now("Say what they said, too."))
        return data

    def values(self) -> dict[str, Any]:
        """Return the answers by field."""
        return {name: value for name, value in self.cleaned_data.items() if name != "rev"}


def _field(asked: ask.Asked, species: list[tuple[str, str]]) -> forms.Field:
    """Return the field of a question, with the limits of what keeps its answer."""
    held = SourceForm.base_fields.get(asked.name) if asked.name in ask.WATER else None
    more: dict[str, Any] = {"label": asked.label, "required": False, "help_text": asked.hint}
    if asked.kind == ask.TICK:
        return forms.BooleanField(**more)
    if asked.kind == ask.SPECIES:
        return forms.ChoiceField(choices=[("", "–"), *species], **more)
    if asked.choices is not None:
        return forms.ChoiceField(choices=[("", "–"), *asked.choices.choices], **more)
    if isinstance(held, NumberField):
        return NumberField(low=held.low, high=held.high, unit=asked.unit, **more)
    column: Any = SiteSurvey._meta.get_field(asked.name)
    if asked.kind in (ask.LINE, ask.TEXT):
        kind = LongWordsField if asked.kind == ask.TEXT else WordsField
        return kind(max_length=column.max_length, **more)
    limits = {type(v): v.limit_value for v in column.validators}
    return NumberField(
        low=limits.get(MinValueValidator, 0), high=limits[MaxValueValidator], unit=asked.unit,
        whole=asked.kind == ask.WHOLE, **more,
    )  # fmt: skip
