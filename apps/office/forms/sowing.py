"""What is to be picked each week, and the seed at hand."""

from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as _

from apps.office.forms.base import DayField, NumberField


class SowingForm(forms.Form):
    """A crop, how much of it a week, and the seed."""

    crop = forms.ChoiceField(label=_("Crop"))
    heads = NumberField(label=_("To pick each week"), low=0.1, high=10_000, unit=_("heads"))
    first = DayField(label=_("First sowing"))
    temp_c = NumberField(label=_("Where they come up"), low=0, high=45, unit=_("°C"))
    tested_pct = NumberField(
        label=_("Came up in a test of this seed"), low=1, high=100, required=False, unit=_("%"),
        help_text=_("Of 20 seeds on wet paper. Empty: as published."),
    )  # fmt: skip
    age_years = NumberField(
        label=_("Age of the seed"), low=0, high=50, required=False, unit=_("years")
    )
    area_m2 = NumberField(label=_("Bed for it"), low=0.1, high=10_000, required=False, unit=_("m²"))

    def __init__(self, *args: Any, crops: list[tuple[str, str]], **more: Any) -> None:
        super().__init__(*args, **more)
        field: Any = self.fields["crop"]
        field.choices = crops
