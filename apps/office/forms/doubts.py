"""A form that asks once about what is odd in it: ticked, it is taken all the same."""

from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as _


class DoubtedForm(forms.Form):
    """Holds what speaks against a valid form, and whether that was ticked."""

    # what was ticked away, word for word: another doubt is asked about anew
    all_the_same = forms.CharField(label=_("Keep it all the same"), required=False)

    def __init__(self, *args: Any, **more: Any) -> None:
        super().__init__(*args, **more)
        self.doubts: list[str] = []

    @property
    def doubted(self) -> str:
        """What speaks against it, in sentences."""
        return " ".join(self.doubts)

    def doubt(self, doubts: list[str]) -> bool:
        """Ask once about a valid form; return True where that was not ticked yet."""
        self.doubts = doubts
        if not doubts or self.cleaned_data["all_the_same"] == self.doubted:
            return False
        self.add_error("all_the_same", self.doubted)
        return True
