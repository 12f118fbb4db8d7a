"""Which of the proposed visits go into other hands."""

import re
from typing import Any
from uuid import UUID

from django import forms
from django.utils.translation import gettext_lazy as _

from apps.flows.standing_in import Pick

_HEX = "[0-9a-f]{8}(?:-[0-9a-f]{4}){3}-[0-9a-f]{12}"
_KEY = re.compile(f"({_HEX})/([0-9]{{1,9}})/({_HEX})")


def key_of(pick: Pick) -> str:
    """Return a line as the form sends it: the visit, its version, who makes it."""
    return f"{pick.visit}/{pick.rev}/{pick.user}"


class PicksField(forms.MultipleChoiceField):
    """Lines that were looked at, whether or not they would be proposed again now."""

    widget = forms.CheckboxSelectMultiple

    def valid_value(self, value: Any) -> bool:
        """Return True for a line; whether it can still be had is decided behind the lock."""
        return _KEY.fullmatch(value) is not None

    def clean(self, value: Any) -> list[Pick]:
        """Return the lines, each visit once."""
        found = {}
        for text in super().clean(value):
            match = _KEY.fullmatch(text)
            if match is not None:
                found[match[1]] = Pick(UUID(match[1]), int(match[2]), UUID(match[3]))
        return list(found.values())


class StandInForm(forms.Form):
    """The lines that stay ticked."""

    lines = PicksField(
        label=_("Visits"),
        error_messages={
            "required": _("Leave at least one ticked, or leave all as it is."),
            "invalid_choice": _("One of these is no visit of this page; look at it again."),
        },
    )  # fmt: skip


class AskForm(forms.Form):
    """The visits that nobody can make and whose clients are offered other times."""

    visits = forms.TypedMultipleChoiceField(coerce=UUID)

    def __init__(self, *args: Any, **more: Any) -> None:
        super().__init__(*args, **more)
        # whether one of them still waits is decided when times are looked for
        sent = self.data.getlist("visits") if hasattr(self.data, "getlist") else []
        self.fields["visits"].choices = [(key, key) for key in sent if re.fullmatch(_HEX, key)]
