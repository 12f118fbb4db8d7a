"""Offering a client times to choose from, and noting what they chose by telephone."""

import datetime as dt
from collections.abc import Sequence
from typing import Any

from django import forms
from django.utils import timezone
from django.utils.translation import gettext_lazy as _

from apps.office.forms.base import ClockField, DayField


class OfferForm(forms.Form):
    """Which times, and until when the client may choose; born with the offer's key."""

    key = forms.UUIDField(widget=forms.HiddenInput)
    times = forms.MultipleChoiceField(
        label=_("Times"), widget=forms.CheckboxSelectMultiple,
        error_messages={
            "required": _("Leave at least two, so that the client can choose."),
            "invalid_choice": _("One of these can be had no more; look at the times again."),
        },
    )  # fmt: skip
    until = DayField(label=_("The client may choose until"))
    until_time = ClockField(label=_("At"))

    def __init__(self, *args: Any, times: Sequence[tuple[str, str]], **more: Any) -> None:
        super().__init__(*args, **more)
        self.fields["times"].choices = list(times)

    def deadline(self) -> dt.datetime:
        """Return until when, of a valid form, in the firm's zone."""
        day, clock = self.cleaned_data["until"], self.cleaned_data["until_time"]
        return timezone.make_aware(dt.datetime.combine(day, clock))

    @staticmethod
    def initial_of(until: dt.datetime) -> dict[str, Any]:
        """Return day and time of a moment as the form's values."""
        local = timezone.localtime(until)
        return {"until": local.date(), "until_time": local.time()}


class PickForm(forms.Form):
    """Which of the times the client chose."""

    time = forms.ChoiceField(
        label=_("They choose"), widget=forms.RadioSelect,
        error_messages={
            "required": _("Choose one of the times."),
            "invalid_choice": _("This time can be had no more; choose another one."),
        },
    )  # fmt: skip

    def __init__(self, *args: Any, times: Sequence[tuple[str, str]], **more: Any) -> None:
        super().__init__(*args, **more)
        self.fields["time"].choices = list(times)
