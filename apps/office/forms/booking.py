"""Booking, moving, answering, calling."""

import datetime as dt
from typing import Any

from django import forms
from django.db.models import QuerySet
from django.utils import timezone
from django.utils.translation import gettext_lazy as _

from apps.accounts.models import User
from apps.core.fields import LongWordsField, WordsField
from apps.office.forms.base import ClockField, DayField, RevForm
from apps.office.forms.doubts import DoubtedForm
from apps.systems.models import System
from apps.visits.choices import Answer, Way


class TimesForm(DoubtedForm):
    """A day, from when to when, and who."""

    day = DayField(label=_("Day"))
    start = ClockField(label=_("From"))
    end = ClockField(label=_("To"))
    technicians = forms.ModelMultipleChoiceField(
        queryset=User.objects.none(), label=_("Who comes"), widget=forms.CheckboxSelectMultiple
    )
    all_the_same = forms.CharField(label=_("Come then all the same"), required=False)

    def __init__(self, *args: Any, people: QuerySet[User], **more: Any) -> None:
        super().__init__(*args, **more)
        self.fields["technicians"].queryset = people

    def moments(self) -> tuple[dt.datetime, dt.datetime]:
        """Return start and end of a valid form, in the firm's zone."""
        day, data = self.cleaned_data["day"], self.cleaned_data
        first, last = (dt.datetime.combine(day, data[name]) for name in ("start", "end"))
        return timezone.make_aware(first), timezone.make_aware(last)


class BookForm(TimesForm):
    """A visit to some systems of one place."""

    systems = forms.ModelMultipleChoiceField(
        queryset=System.objects.none(), label=_("Systems"), widget=forms.CheckboxSelectMultiple
    )
    reason = WordsField(
        label=_("What for"), max_length=400, required=False,
        help_text=_("Stands on the visit; the client does not see it."),
    )  # fmt: skip
    ask = forms.BooleanField(
        label=_("Ask the client now"), required=False,
        help_text=_("Sends the appointment with a link to confirm, move or decline it."),
    )  # fmt: skip

    field_order = ["day", "start", "end", "systems", "technicians", "all_the_same", "reason", "ask"]

    def __init__(self, *args: Any, systems: QuerySet[System], **more: Any) -> None:
        super().__init__(*args, **more)
        self.fields["systems"].queryset = systems


class MoveForm(TimesForm, RevForm):
    """Another time or other technicians for a visit."""


class AnswerForm(forms.Form):
    """What a client said to an appointment, on the telephone or at the door."""

    answer = forms.ChoiceField(
        label=_("The client"), widget=forms.RadioSelect,
        choices=[(word.value, word.label) for word in Answer if word != Answer.NOT_ASKED],
    )  # fmt: skip
    words = WordsField(label=_("In their words"), max_length=1000, required=False)


class CallForm(forms.Form):
    """A note of a call, a message or a talk."""

    way = forms.ChoiceField(label=_("How"), choices=Way.choices, required=False, initial=Way.CALL)
    system = forms.ModelChoiceField(
        queryset=System.objects.none(), label=_("About"), required=False,
        empty_label=_("the place as a whole"),
    )  # fmt: skip
    text = LongWordsField(label=_("What was said"), max_length=4000)

    def __init__(self, *args: Any, systems: QuerySet[System], **more: Any) -> None:
        super().__init__(*args, **more)
        self.fields["system"].queryset = systems

    def clean_way(self) -> str:
        """Return how; a call where nothing was said."""
        return self.cleaned_data["way"] or Way.CALL
