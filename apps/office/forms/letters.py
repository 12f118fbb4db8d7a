"""When letters to clients wait."""

from django import forms
from django.utils.translation import gettext_lazy as _

from apps.office.forms.base import ClockField


class QuietForm(forms.Form):
    """The firm's quiet hours, on the clock of whoever gets a letter."""

    quiet_from = ClockField(label=_("Quiet from"))
    quiet_until = ClockField(
        label=_("Until"),
        help_text=_("On the reader's own clock. Both the same: letters go out at any hour."),
    )
