"""How the firm plans its rounds: where from, what things cost, how fast one drives."""

from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.utils.translation import gettext_lazy as _

from apps.clients.models import Place
from apps.office.forms.base import AmountField, NumberField
from apps.office.forms.coordinates import HELP, position_typed
from apps.rounds.models import MOST_DAYS, PlanningSettings

WHERE = ("base_latitude", "base_longitude")


class PlanningForm(forms.Form):
    """The firm's one row of settings for rounds."""

    where = forms.CharField(
        label=_("Where the day begins"), max_length=120, required=False, help_text=HELP
    )
    per_km = AmountField(label=_("A kilometre costs"), high=99, places=3)
    per_hour = AmountField(label=_("An hour costs"), high=9999)
    sending_out = AmountField(
        label=_("Sending somebody out costs"), high=9999,
        help_text=_("Before the first kilometre: loading, the vehicle."),
    )  # fmt: skip
    keeping_a_day = AmountField(
        label=_("Keeping a visit on its day is worth"), high=9999,
        help_text=_("How much longer rounds may become so that a plan moves less."),
    )  # fmt: skip
    area_day = AmountField(
        label=_("A visit on its area's day is worth"), high=9999,
        help_text=_("More than on another day. Areas have their days under Hours and skills."),
    )  # fmt: skip
    area_technician = AmountField(
        label=_("That its area's technician comes is worth"), high=9999,
        help_text=_("On the area's day: how much dearer a round may become so that they go, not somebody else."),
    )  # fmt: skip
    detour = NumberField(
        label=_("Roads are longer than the straight line by a factor of"), low=1, high=5,
        help_text=_("Common practice: 1.2 to 1.4. Compare it with the trips that you drive."),
    )  # fmt: skip
    town_kmh = NumberField(
        label=_("Speed on the first 3 km"), unit=_("km/h"), low=1, high=150, whole=True
    )
    near_kmh = NumberField(
        label=_("Speed up to 15 km"), unit=_("km/h"), low=1, high=150, whole=True
    )
    far_kmh = NumberField(label=_("Speed beyond"), unit=_("km/h"), low=1, high=150, whole=True)
    parking_minutes = NumberField(
        label=_("Parking and unloading"), unit=_("min"), low=0, high=60, whole=True
    )
    days_ahead = NumberField(
        label=_("Days planned at once"), unit=_("days"), low=1, high=MOST_DAYS, whole=True
    )
    frozen_days = NumberField(
        label=_("Days that a plan leaves alone"), unit=_("days"), low=0, high=MOST_DAYS, whole=True,
        help_text=_("2: today and tomorrow stay as they are."),
    )  # fmt: skip
    most_letters = NumberField(
        label=_("Letters about one visit, at most"), low=1, high=20, whole=True,
        help_text=_("Who was written to so often is not moved again by a plan."),
    )  # fmt: skip

    def __init__(self, *args: Any, currency: str, **more: Any) -> None:
        super().__init__(*args, **more)
        for field in self.fields.values():
            if isinstance(field, AmountField):
                field.unit = currency

    @staticmethod
    def initial_of(row: PlanningSettings) -> dict[str, Any]:
        """Return what stands as the values of the boxes."""
        held = {name: getattr(row, name) for name in PlanningForm.base_fields if name != "where"}
        base = Place(latitude=row.base_latitude, longitude=row.base_longitude)
        return held | {"where": base.where}

    def clean(self) -> dict[str, Any]:
        """Find the base."""
        data = super().clean() or {}
        try:
            found = position_typed(data.get("where", ""))
        except ValidationError as error:
            self.add_error("where", error)
        else:
            data |= dict(zip(WHERE, found or (None, None), strict=True))
        return data

    def values(self) -> dict[str, Any]:
        """Return the row's values of a valid form."""
        return {name: value for name, value in self.cleaned_data.items() if name != "where"}
