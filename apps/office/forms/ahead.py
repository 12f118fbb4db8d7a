"""What may be asked of a forecast."""

import math
from typing import Any

from django import forms
from django.utils.translation import gettext as _now
from django.utils.translation import gettext_lazy as _

from apps.calc.ahead.wishes import Wishes
from apps.core.numbers import format_figure
from apps.office.forms.base import NumberField


class WhatIfForm(forms.Form):
    """Changes from tomorrow on. Empty: as it is."""

    fewer = NumberField(
        label=_("Fish taken out"), low=0, high=100_000, whole=True, required=False, unit=_("fish")
    )
    more_beds_m2 = NumberField(
        label=_("More planted bed"), low=0, high=1000, required=False, unit=_("m²")
    )
    protein = NumberField(
        label=_("Other feed, protein"), low=5, high=70, required=False, unit=_("%")
    )
    holiday_days = NumberField(
        label=_("Holiday without feeding"), low=1, high=42, whole=True, required=False,
        unit=_("days"),
    )  # fmt: skip
    warmer_c = NumberField(
        label=_("Heat wave, warmer by"), low=0, high=15, required=False, unit=_("°C")
    )
    warm_days = NumberField(
        label=_("For how long"), low=1, high=42, whole=True, required=False, unit=_("days")
    )
    change_l = NumberField(
        label=_("Water changed now"), low=0, high=100_000, required=False, unit=_("L")
    )
    pump_hours = NumberField(
        label=_("Pump and air off for"), low=0, high=72, required=False, unit=_("h")
    )
    pump_temp_c = NumberField(
        label=_("With water at"), low=0, high=45, required=False, unit=_("°C")
    )

    def __init__(self, *args: Any, fish: int, litres: float = 0.0, **more: Any) -> None:
        """`fish`: how many there are to take out; `litres`: of the largest water, 0 where none is known."""
        super().__init__(*args, **more)
        water: Any = self.fields["change_l"]
        if litres:
            water.high = math.ceil(litres)
            water.help_text = _now("At most all of it at once: %(litres)s L.") % {
                "litres": format_figure(math.ceil(litres), 0)
            }
        field: Any = self.fields["fewer"]
        field.high = fish
        if fish:
            field.help_text = _now("Of %(count)s.") % {"count": fish}

    def clean(self) -> dict[str, Any]:
        """Refuse half a heat wave and a form in which nothing is asked."""
        data = super().clean() or {}
        if data.get("warmer_c") and not data.get("warm_days") and "warm_days" not in self.errors:
            self.add_error("warm_days", _now("A heat wave needs its days."))
        if data.get("warm_days") and not data.get("warmer_c") and "warmer_c" not in self.errors:
            self.add_error("warmer_c", _now("By how many degrees is it warmer?"))
        if not self.errors and not any(data.values()):
            self.add_error(None, _now("Fill in at least one change."))
        return data

    def wishes(self) -> Wishes:
        """Return what a valid form asks."""
        data = self.cleaned_data
        return Wishes(
            fewer=data["fewer"] or 0,
            more_beds_m2=data["more_beds_m2"] or 0.0,
            protein=data["protein"] / 100 if data["protein"] else None,
            holiday_days=data["holiday_days"] or 0,
            warmer_c=data["warmer_c"] or 0.0,
            warm_days=data["warm_days"] or 0,
            change_l=data["change_l"] or 0.0,
        )
