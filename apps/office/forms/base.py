"""Fields that the office's forms share: numbers, texts, days and times as people type them."""

import datetime as dt
import re
from decimal import Decimal
from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.utils.functional import Promise
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy as _later

from apps.core import clock
from apps.core.fields import WordsField
from apps.core.numbers import format_plain
from apps.office.wording import upper_first
from apps.visits.services.answers import BadAnswer, number

# coordinates and figures of the catalogue have more decimals than a reading may
FINE = re.compile(r"-?[0-9]{1,6}[.,][0-9]{1,9}")
# a number of any size, so that one out of range hears the range
PLAIN = re.compile(r"-?[0-9]+([.,][0-9]+)?")
EARLIEST, LATEST = dt.date(1990, 1, 1), dt.date(2100, 12, 31)


class NumberField(forms.Field):
    """A number with one decimal mark, point or comma; never a thousands mark. None where empty."""

    widget = forms.TextInput

    def __init__(
        self,
        *,
        low: float | None = None,
        high: float | None = None,
        unit: str | Promise = "",
        whole: bool = False,
        **more: Any,
    ) -> None:
        self.low, self.high, self.unit, self.whole = low, high, unit, whole
        super().__init__(**more)

    def widget_attrs(self, widget: forms.Widget) -> dict[str, Any]:
        """Ask for the numeric keypad."""
        keypad = "numeric" if self.whole else "decimal"
        return {"inputmode": keypad, "autocomplete": "off", "class": "numeric"}

    def prepare_value(self, value: Any) -> Any:
        """Show a stored number without needless decimals."""
        return f"{value:.10g}" if isinstance(value, float) else value

    def to_python(self, value: Any) -> float | int | None:
        """Return the number. Raises ValidationError saying what to write."""
        if value in self.empty_values:
            return None
        text = str(value).strip()
        try:
            found = float(text.replace(",", ".")) if FINE.fullmatch(text) else number(text)
        except BadAnswer as error:
            if PLAIN.fullmatch(text):
                self._range(float(text.replace(",", ".")))
            raise ValidationError(upper_first(str(error))) from None
        if self.whole and found != int(found):
            raise ValidationError(_("A whole number is needed."))
        self._range(found)
        return int(found) if self.whole else found

    def _range(self, found: float) -> None:
        low, high = self.low, self.high
        if (low is None or found >= low) and (high is None or found <= high):
            return
        if low is not None and high is not None:
            text = _("A number from %(low)s to %(high)s is needed.")
        elif low is not None:
            text = _("At least %(low)s is needed.")
        else:
            text = _("At most %(high)s is possible.")
        shown = {"low": format_plain(low or 0), "high": format_plain(high or 0)}
        raise ValidationError(text % shown)


class AmountField(NumberField):
    """An amount of money that is not negative, exact: a Decimal with at most `places` decimals."""

    def __init__(self, *, high: float, places: int = 2, **more: Any) -> None:
        self.places = places
        super().__init__(low=0, high=high, **more)

    def prepare_value(self, value: Any) -> Any:
        """Show what is stored without needless decimals."""
        return f"{value.normalize():f}" if isinstance(value, Decimal) else value

    def to_python(self, value: Any) -> Any:
        """Return the amount. Raises ValidationError saying what to write."""
        found = super().to_python(value)
        if found is None:
            return None
        amount = Decimal(str(found))
        if amount != round(amount, self.places):
            text = _("At most %(places)s decimals are possible.")
            raise ValidationError(text % {"places": self.places})
        return amount


class DayField(forms.DateField):
    """A day, picked or typed as 2026-06-11."""

    widget = forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d")
    default_error_messages = {"invalid": _later("Write a day such as 2026-06-11.")}

    def __init__(self, **more: Any) -> None:
        super().__init__(input_formats=["%Y-%m-%d"], **more)

    def validate(self, value: Any) -> None:
        """Refuse a day that cannot be meant."""
        super().validate(value)
        if value is not None and not EARLIEST <= value <= LATEST:
            raise ValidationError(_("A day between 1990 and 2100 is needed."))


class DoneDayField(DayField):
    """A day on which something was done: today or before."""

    def validate(self, value: Any) -> None:
        """Refuse a day that lies ahead."""
        super().validate(value)
        if value is not None and value > clock.today():
            raise ValidationError(_("This day lies ahead; note it once it is done."))


class ClockField(forms.TimeField):
    """A time of day, 24 hours."""

    widget = forms.TimeInput(attrs={"type": "time"}, format="%H:%M")
    default_error_messages = {"invalid": _later("Write a time such as 08:30.")}

    def __init__(self, **more: Any) -> None:
        super().__init__(input_formats=["%H:%M", "%H:%M:%S"], **more)


class ReasonForm(forms.Form):
    """Why, in a few words."""

    reason = WordsField(max_length=400)

    def __init__(self, *args: Any, label: str = "", required: bool = True, **more: Any) -> None:
        super().__init__(*args, **more)
        self.fields["reason"].label = label or _("Why, in a few words")
        self.fields["reason"].required = required


class EmptyForm(forms.Form):
    """A form that only asks once."""


class RevForm(forms.Form):
    """A form that is based on a version of what it changes."""

    rev = forms.IntegerField(widget=forms.HiddenInput, min_value=1)
