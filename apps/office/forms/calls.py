"""Calls for help: opening, closing."""

from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as _

from apps.core.fields import LongWordsField, WordsField
from apps.incidents.choices import Cause, Said
from apps.incidents.services import MOST_LOST
from apps.office.forms.base import NumberField, RevForm


class OpenForm(forms.Form):
    """What the caller says first; each word is a button of its own."""

    caller = WordsField(label=_("Who calls"), max_length=120, required=False)
    said = LongWordsField(
        label=_("What they say"), max_length=2000, required=False,
        widget=forms.Textarea(attrs={"rows": 2}),
    )  # fmt: skip
    kind = forms.ChoiceField(label=_("What it is about"), choices=Said.choices)


class NoteForm(forms.Form):
    """A note while the call lasts. `key` is born with the form, so that a note is kept once."""

    text = LongWordsField(
        label=_("Note"), max_length=4000, required=False,
        widget=forms.Textarea(attrs={"rows": 3}),
    )  # fmt: skip
    key = forms.UUIDField(widget=forms.HiddenInput)


class CloseForm(RevForm):
    """What it was, and how it ended."""

    cause = forms.ChoiceField(
        label=_("What it was"), choices=[("", _("choose")), *Cause.choices],
        help_text=_("as far as anybody knows; the words below say how sure that is"),
    )  # fmt: skip
    cause_words = WordsField(label=_("More about the cause"), max_length=400, required=False)
    outcome = LongWordsField(
        label=_("How it ended"), max_length=2000, widget=forms.Textarea(attrs={"rows": 4})
    )
    fish_lost = NumberField(
        label=_("Fish lost"), low=0, high=MOST_LOST, whole=True, required=False,
        help_text=_("Their number. The stock is put right on the system's page."),
    )  # fmt: skip

    def values(self) -> dict[str, Any]:
        """Return what was typed, for the service."""
        return {name: value for name, value in self.cleaned_data.items() if name != "rev"}
