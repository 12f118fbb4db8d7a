"""What a client allows of photos; the form that erases them."""

from typing import Any

from django import forms
from django.utils.translation import gettext as _now
from django.utils.translation import gettext_lazy as _

from apps.clients.choices import PhotoUse
from apps.core.fields import WordsField
from apps.office.forms.base import RevForm


class PhotosForm(RevForm):
    """What a client allows of photos that we take, and how they said so."""

    use = forms.ChoiceField(
        label=_("Photos"), choices=PhotoUse.choices, widget=forms.RadioSelect,
        help_text=_("Of their home and systems, taken by us. What they send themselves is theirs."),
    )  # fmt: skip
    how = WordsField(
        label=_("How they said so"), max_length=200, required=False,
        help_text=_("Such as: on paper with the agreement, by telephone, at the door."),
    )  # fmt: skip

    def clean(self) -> dict[str, Any]:
        """Ask how, unless nobody has asked them."""
        data = super().clean() or {}
        needed = data.get("use") not in (None, PhotoUse.UNKNOWN)
        if needed and not data.get("how") and "how" not in self.errors:
            self.add_error("how", _now("Say how they said so, in a few words."))
        return data


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
