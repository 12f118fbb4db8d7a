"""Sending out the list of a weather."""

from typing import Any

from django import forms
from django.db.models import QuerySet
from django.utils.translation import gettext_lazy as _

from apps.core.fields import WordsField
from apps.systems.models import System


class WeatherForm(forms.Form):
    """Whose systems, and a few words of ours."""

    words = WordsField(
        label=_("A few words of ours"), max_length=400, required=False,
        help_text=_("When it comes, as the forecast has it. Stands in the letter as typed."),
    )  # fmt: skip
    systems = forms.ModelMultipleChoiceField(
        queryset=System.objects.none(), label=_("Systems"), widget=forms.CheckboxSelectMultiple,
        error_messages={"required": _("Choose at least one system.")},
    )  # fmt: skip
    again = forms.BooleanField(
        label=_("Send it again"), required=False,
        help_text=_("Also to those who had it within the last 12 hours."),
    )  # fmt: skip

    def __init__(self, *args: Any, systems: QuerySet[System], **more: Any) -> None:
        super().__init__(*args, **more)
        self.fields["systems"].queryset = systems
