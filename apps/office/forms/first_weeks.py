"""When a new system was filled, and the fish that are to come."""

from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as _

from apps.office.forms.base import DayField, NumberField

BAG, OPEN = "bag", "open"


class StartForm(forms.Form):
    """The day on which a system is filled and how warm its water is while the filter comes in."""

    started = DayField(label=_("Filled on"))
    temp_c = NumberField(
        label=_("Water while the filter comes in"), low=10, high=32, unit=_("°C"),
        help_text=_("24 to 28 °C is quickest; the dates follow from it."),
    )  # fmt: skip


class FishForm(forms.Form):
    """The fish that are to come: how many in the end, and the water that they come in."""

    species = forms.ChoiceField(label=_("Fish"))
    final_kg = NumberField(
        label=_("All of them, grown"), low=0.1, high=10_000, unit=_("kg"),
        help_text=_("What the system is built for."),
    )  # fmt: skip
    weight_g = NumberField(label=_("One of them when they come"), low=0.1, high=10_000, unit=_("g"))
    way = forms.ChoiceField(
        label=_("They come in"),
        choices=[(BAG, _("closed bags with oxygen")), (OPEN, _("an open tank with air"))],
    )
    water_c = NumberField(label=_("Their water"), low=0, high=40, unit=_("°C"))
    water_ph = NumberField(label=_("Its pH"), low=4, high=10)

    def __init__(self, *args: Any, species: list[tuple[str, str]], **more: Any) -> None:
        super().__init__(*args, **more)
        field: Any = self.fields["species"]
        field.choices = species
