"""A standing appointment of a place."""

from typing import Any

from django import forms
from django.db.models import QuerySet
from django.utils.translation import gettext_lazy as _

from apps.accounts.models import User
from apps.care.choices import Mode
from apps.care.models import CareTask
from apps.care.services import rule_check
from apps.core.exceptions import Invalid
from apps.core.fields import WordsField
from apps.office.forms.base import ClockField, DayField


class StandingForm(forms.Form):
    """Days by a rule of the calendar, from when to when, and who."""

    rrule = WordsField(
        label=_("The rule"), max_length=200,
        help_text=_(
            "Written as RFC 5545 has it: FREQ=WEEKLY;INTERVAL=2;BYDAY=TU is every second Tuesday, "
            "FREQ=MONTHLY;BYDAY=1MO the first Monday of each month."
        ),
    )  # fmt: skip
    first = DayField(label=_("First day"), help_text=_("The rule counts from this day."))
    last = DayField(label=_("Last day"), required=False, help_text=_("Empty: until it is let go."))
    starts = ClockField(label=_("From"))
    ends = ClockField(label=_("To"))
    technician = forms.ModelChoiceField(
        queryset=User.objects.none(), label=_("Who comes"), required=False,
        empty_label=_("whoever is free"),
    )  # fmt: skip

    def __init__(self, *args: Any, people: QuerySet[User], **more: Any) -> None:
        super().__init__(*args, **more)
        self.fields["technician"].queryset = people

    def clean(self) -> dict[str, Any]:
        """Refuse a rule that cannot be worked out, whatever else is wrong."""
        data = super().clean() or {}
        if data.get("rrule") and data.get("first"):
            try:
                rule_check(CareTask(mode=Mode.CALENDAR, rrule=data["rrule"], anchor=data["first"]))
            except Invalid as error:
                # the name of the field stands beside it already
                said = str(error.errors[0]["message"]).partition(": ")[2]
                self.add_error("rrule", said[:1].upper() + said[1:])
        return data
