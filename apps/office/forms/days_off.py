"""Whose holidays the firm keeps, and its own days off."""

from django import forms
from django.utils.translation import gettext_lazy as _

from apps.core.fields import WordsField
from apps.office.forms.base import DayField


class CountryForm(forms.Form):
    """Whose holidays the firm keeps."""

    country = WordsField(
        label=_("Country"), max_length=2, required=False,
        help_text=_("Two letters as ISO 3166 has them. Empty: no holidays."),
    )  # fmt: skip
    subdivision = WordsField(
        label=_("Part of the country"), max_length=6, required=False,
        help_text=_(
            "The code of a state, province or land, where it has holidays of its own: what "
            "ISO 3166-2 puts after the hyphen."
        ),
    )  # fmt: skip


class ClosureForm(forms.Form):
    """Days on which the firm is closed, or works although they are holidays."""

    name = WordsField(label=_("Name"), max_length=80, help_text=_("such as: summer break"))
    first = DayField(label=_("First day"))
    last = DayField(label=_("Last day"), required=False, help_text=_("Empty for a single day."))
    works = forms.BooleanField(
        label=_("We work on these days although they are holidays"), required=False
    )
