"""What the firm counts in."""

import datetime as dt
from typing import Any

from django import forms
from django.utils.translation import gettext as _now
from django.utils.translation import gettext_lazy as _

from apps.core.money import currencies, currency_name


class CurrencyForm(forms.Form):
    """The currency of all amounts. `priced`: some stand already, and stay the figures that they are."""

    currency = forms.ChoiceField(label=_("Currency"))
    same = forms.BooleanField(
        label=_("I know that no amount is converted"), required=False,
        help_text=_("A price of 5.00 stays 5.00, in the other currency."),
    )  # fmt: skip

    def __init__(self, *args: Any, held: str, priced: bool, on: dt.date, **more: Any) -> None:
        super().__init__(*args, **more)
        self.initial["currency"] = held
        self.held, self.priced = held, priced
        # what is paid in no more may stand where it was set while it was
        rows = [(code, f"{code} · {currency_name(code)}") for code in {*currencies(on), held}]
        self.fields["currency"].choices = sorted(rows)  # type: ignore[attr-defined]
        if not priced:
            del self.fields["same"]

    def clean(self) -> dict[str, Any]:
        """Ask for a tick where amounts stand already that would read otherwise."""
        data = super().clean() or {}
        other = data.get("currency") not in (None, self.held)
        if other and self.priced and not data.get("same"):
            self.add_error("same", _now("Amounts are not converted: tick this, then change them by hand."))  # fmt: skip
        return data
