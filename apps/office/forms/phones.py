"""Forms about the technicians' phones."""

from django import forms
from django.utils.translation import gettext_lazy as _later

from apps.core.fields import WordsField


class CutForm(forms.Form):
    """Why a phone is cut off, or let in again."""

    reason = WordsField(
        label=_later("Reason"), max_length=400, help_text=_later("lost, sold, another person's")
    )


class CopyForm(forms.Form):
    """The file that a phone saved."""

    copy = forms.FileField(
        label=_later("File"),
        help_text=_later("its name begins with backyard-phone and ends with .json"),
    )
