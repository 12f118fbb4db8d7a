"""What lives in a system: fish, plants, treatments."""

from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.db.models import QuerySet
from django.utils.translation import gettext as _now
from django.utils.translation import gettext_lazy as _

from apps.batches.choices import Touches
from apps.core.fields import LongWordsField, WordsField
from apps.office.forms.base import DayField, DoneDayField, NumberField
from apps.systems.models import Component, Loop
from apps.visits.services.answers import BadAnswer, number

MOST_WEIGHTS = 300


class WeightsField(LongWordsField):
    """Weights in grams, one after the other: parted by spaces, semicolons or lines."""

    def to_python(self, value: Any) -> Any:
        """Return the numbers. Raises ValidationError naming the one that cannot be read."""
        text = super().to_python(value)
        parts = text.replace(";", " ").split()
        if len(parts) > MOST_WEIGHTS:
            raise ValidationError(_now("At most 300 weights at once."))
        found = []
        for part in parts:
            try:
                found.append(number(part))
            except BadAnswer:
                raise ValidationError(
                    _now("'%(text)s' is not a number.") % {"text": part[:20]}
                ) from None
        return found


class StockForm(forms.Form):
    """Fish put into a loop."""

    loop = forms.ModelChoiceField(queryset=Loop.objects.none(), label=_("Loop"), empty_label="–")
    species_code = forms.ChoiceField(label=_("Species"))
    count = NumberField(label=_("How many"), low=1, high=100_000, whole=True)
    mean_weight_g = NumberField(label=_("Mean weight"), low=0.05, high=20_000, unit="g")
    stocked_on = DayField(label=_("Stocked on"))
    supplier = WordsField(label=_("From whom"), max_length=120, required=False)

    def __init__(
        self, *args: Any, loops: QuerySet[Loop], species: list[tuple[str, str]], **more: Any
    ) -> None:
        super().__init__(*args, **more)
        self.fields["loop"].queryset = loops
        self.fields["species_code"].choices = species


class WeighForm(forms.Form):
    """A sample of weights."""

    on = DoneDayField(label=_("Weighed on"))
    weights_g = WeightsField(
        label=_("Weights in grams"), max_length=4000,
        help_text=_("One after the other, parted by spaces: 178 190 181"),
    )  # fmt: skip


class DeathsForm(forms.Form):
    """Fish found dead."""

    on = DoneDayField(label=_("Found on"))
    count = NumberField(label=_("How many"), low=1, high=100_000, whole=True)
    note = WordsField(label=_("What was seen"), max_length=400, required=False)


class FishTakenForm(forms.Form):
    """Fish taken out to be eaten."""

    on = DoneDayField(label=_("Taken on"))
    count = NumberField(label=_("How many"), low=1, high=100_000, whole=True)
    mass_kg = NumberField(
        label=_("Weight together"), low=0.001, high=10_000, unit="kg", required=False
    )


class PlantForm(forms.Form):
    """Plants sown or set into a component."""

    component = forms.ModelChoiceField(
        queryset=Component.objects.none(), label=_("Where"), empty_label="–"
    )
    crop_code = forms.ChoiceField(label=_("Crop"))
    count = NumberField(label=_("How many"), low=1, high=100_000, whole=True)
    sown_on = DayField(label=_("Sown on"), required=False)
    transplanted_on = DayField(label=_("Set out on"), required=False)

    def __init__(
        self, *args: Any, parts: QuerySet[Component], crops: list[tuple[str, str]], **more: Any
    ) -> None:
        super().__init__(*args, **more)
        self.fields["component"].queryset = parts
        self.fields["crop_code"].choices = crops

    def clean(self) -> dict[str, Any]:
        """Ask for one of the days, in their order."""
        data = super().clean() or {}
        sown, out = data.get("sown_on"), data.get("transplanted_on")
        if not sown and not out and not {"sown_on", "transplanted_on"} & set(self.errors):
            self.add_error("transplanted_on", _now("Sown or set out: one of the days is needed."))
        elif sown and out and out < sown:
            self.add_error("transplanted_on", _now("It cannot be set out before it is sown."))
        return data


class SetOutForm(forms.Form):
    """On which day sown plants were set out."""

    transplanted_on = DayField(label=_("Set out on"))


class PickForm(forms.Form):
    """What was picked."""

    on = DoneDayField(label=_("Picked on"))
    heads = NumberField(label=_("Heads"), low=1, high=100_000, whole=True, required=False)
    mass_kg = NumberField(label=_("Weight"), low=0.001, high=10_000, unit="kg", required=False)
    finished = forms.BooleanField(label=_("That was the last of them"), required=False)

    def clean(self) -> dict[str, Any]:
        """Ask for heads or kilograms."""
        data = super().clean() or {}
        missing = data.get("heads") is None and data.get("mass_kg") is None
        if missing and not {"heads", "mass_kg"} & set(self.errors):
            self.add_error("heads", _now("Heads or kilograms: one is needed."))
        return data


class TreatForm(forms.Form):
    """A treatment that was given, with the harvest hold that it puts."""

    loop = forms.ModelChoiceField(queryset=Loop.objects.none(), label=_("Loop"), empty_label="–")
    product = WordsField(label=_("Product"), max_length=120)
    lot = WordsField(label=_("Lot"), max_length=60)
    on_whose_word = WordsField(
        label=_("On whose word"), max_length=120,
        help_text=_("The vet or fish-health professional who prescribed it."),
    )  # fmt: skip
    reason = WordsField(label=_("What for"), max_length=400, required=False)
    began_on = DoneDayField(label=_("Given on"))
    ended_on = DayField(label=_("Ended on"), required=False)
    touches = forms.ChoiceField(label=_("The hold touches"), choices=Touches.choices)
    hold_until = DayField(
        label=_("Nothing is eaten until"),
        help_text=_("By the label or the prescription; local rules decide."),
    )  # fmt: skip

    def __init__(self, *args: Any, loops: QuerySet[Loop], **more: Any) -> None:
        super().__init__(*args, **more)
        self.fields["loop"].queryset = loops

    def clean(self) -> dict[str, Any]:
        """Refuse a hold or an end before the treatment."""
        data = super().clean() or {}
        began = data.get("began_on")
        for name in ("ended_on", "hold_until"):
            if began and data.get(name) and data[name] < began:
                self.add_error(name, _now("This lies before the treatment."))
        return data
