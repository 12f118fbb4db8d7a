"""The form that erases a client."""

from django import forms
from django.utils.translation import gettext_lazy as _

from apps.core.fields import WordsField


class EraseForm(forms.Form):
    """The client's name, so that it is this one, and the password of whoever asks for it."""

    name = WordsField(
        label=_("The client's name"), max_length=120,
        help_text=_("As it stands above, so that it is this one and no other."),
    )  # fmt: skip
    password = forms.CharField(
        label=_("Your password"), max_length=200, strip=False,
        widget=forms.PasswordInput(attrs={"autocomplete": "current-password"}),
    )  # fmt: skip
