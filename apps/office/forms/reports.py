"""The office's words on a report, photos that it holds back, and what is printed on."""

from collections.abc import Sequence
from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as _

from apps.accounts.choices import Paper
from apps.core.fields import LongWordsField
from apps.office.forms.base import DayField, DoneDayField


class ReportWordsForm(forms.Form):
    """A word to the client, and photos that the report does not show."""

    note = LongWordsField(
        label=_("A word to the client"), max_length=2000, required=False,
        help_text=_("It stands in the report under the first lines, as you write it."),
    )  # fmt: skip
    held_back = forms.MultipleChoiceField(
        label=_("Photos to hold back"), required=False, widget=forms.CheckboxSelectMultiple,
        help_text=_("They stay on record here, and are left out of the report."),
    )  # fmt: skip

    def __init__(self, *args: Any, photos: Sequence[tuple[str, str]], **more: Any) -> None:
        super().__init__(*args, **more)
        self.fields["held_back"].choices = photos
        if not photos:
            del self.fields["held_back"]


class PaperForm(forms.Form):
    """What reports and days are printed on."""

    paper = forms.ChoiceField(label=_("Paper"), choices=Paper.choices)


class SummaryForm(forms.Form):
    """Which days a summary covers."""

    first = DayField(label=_("From"))
    last = DoneDayField(label=_("To"), help_text=_("A year at most."))
