"""How much feed lies at a place."""

from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as _

from apps.calc.feed_left import MOST_G
from apps.office.forms.base import DoneDayField, NumberField


class FeedCountForm(forms.Form):
    """A count of the feed at a place; `sure` is asked for once something was refused."""

    amount_kg = NumberField(
        label=_("Feed left"), low=0, high=MOST_G / 1000, unit="kg",
        help_text=_("All bags together, once the fish of that day have eaten."),
    )  # fmt: skip
    counted_on = DoneDayField(label=_("Counted on"))
    sure = forms.BooleanField(label=_("I have looked again: it is so"), required=False)

    def __init__(self, data: Any, **more: Any) -> None:
        super().__init__(data, **more)
        if data is None:
            del self.fields["sure"]
