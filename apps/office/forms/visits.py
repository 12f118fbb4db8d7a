"""Correcting what a visit found."""

from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as _

from apps.core.fields import WordsField
from apps.office.forms.base import NumberField


class CorrectForm(forms.Form):
    """What a reading should have said, and what was wrong."""

    value = NumberField(label=_("It should read"))
    unit = forms.ChoiceField(label=_("Unit"), required=False)
    basis = forms.ChoiceField(
        label=_("The kit reports"), required=False,
        choices=[("n", _("nitrogen or phosphorus (N, P)")), ("ion", _("the ion"))],
    )  # fmt: skip
    reason = WordsField(label=_("What was wrong"), max_length=400)

    def __init__(self, *args: Any, measurand: dict[str, Any], **more: Any) -> None:
        super().__init__(*args, **more)
        units = [str(unit) for unit in measurand.get("units") or [""]]
        if units == [""]:
            del self.fields["unit"]
        else:
            self.fields["unit"].choices = [(unit, unit) for unit in units]
        if not measurand.get("basis_choices"):
            del self.fields["basis"]
