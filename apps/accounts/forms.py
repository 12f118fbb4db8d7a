"""Forms of this app."""

from django import forms
from django.utils.translation import gettext_lazy as _


class SignInForm(forms.Form):
    """Name and password."""

    username = forms.CharField(
        label=_("Name"),
        max_length=150,
        widget=forms.TextInput(attrs={"autocomplete": "username", "autofocus": True}),
    )
    password = forms.CharField(
        label=_("Password"),
        max_length=200,
        strip=False,
        widget=forms.PasswordInput(attrs={"autocomplete": "current-password"}),
    )
