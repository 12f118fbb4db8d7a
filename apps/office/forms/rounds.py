"""Planning rounds, moving a stop, somebody away, when and from where people work."""

import datetime as dt
from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.db.models import QuerySet
from django.utils.translation import gettext as _now
from django.utils.translation import gettext_lazy as _

from apps.accounts.models import User
from apps.clients.choices import Weekday
from apps.core import clock
from apps.office.forms.base import ClockField, DayField, NumberField, WordsField
from apps.rounds.choices import Part, StartsFrom
from apps.rounds.models import WorkingHours

QUICK, THOROUGH = "5", "30"


class PlanForm(forms.Form):
    """Which days to plan, and how long to search."""

    first = DayField(label=_("From"))
    days = NumberField(label=_("Days"), low=1, high=31, whole=True)
    seconds = forms.ChoiceField(
        label=_("How long to search"),
        choices=[(QUICK, _("5 seconds")), (THOROUGH, _("30 seconds, a little better"))],
    )

    def clean_first(self) -> dt.date:
        """Refuse a day that has gone by."""
        first: dt.date = self.cleaned_data["first"]
        if first < clock.today():
            raise ValidationError(_now("This day has gone by; plan from today on."))
        return first


class StopForm(forms.Form):
    """Where a stop goes: day, who, and when or wherever it is cheapest."""

    day = forms.ChoiceField(label=_("Day"))
    technicians = forms.ModelMultipleChoiceField(
        queryset=User.objects.none(), label=_("Who comes"), widget=forms.CheckboxSelectMultiple
    )
    time = ClockField(
        label=_("Begins at"), required=False,
        help_text=_("Empty: wherever in the round it costs least."),
    )  # fmt: skip

    def __init__(
        self, *args: Any, people: QuerySet[User], days: list[tuple[str, str]], **more: Any
    ) -> None:
        super().__init__(*args, **more)
        self.fields["technicians"].queryset = people
        self.fields["day"].choices = days

    def clean_day(self) -> dt.date:
        """Return the day."""
        return dt.date.fromisoformat(self.cleaned_data["day"])


class AwayForm(forms.Form):
    """Who is away from when to when."""

    technician = forms.ModelChoiceField(queryset=User.objects.none(), label=_("Who"))
    first = DayField(label=_("First day"))
    last = DayField(label=_("Last day"))
    part = forms.ChoiceField(label=_("Of each day"), choices=Part.choices, initial=Part.WHOLE)
    reason = WordsField(
        label=_("Why"), max_length=200, required=False,
        help_text=_("For the office alone; no illness needs a name."),
    )  # fmt: skip
    plan = forms.BooleanField(label=_("Plan these days anew at once"), required=False, initial=True)

    def __init__(self, *args: Any, people: QuerySet[User], **more: Any) -> None:
        super().__init__(*args, **more)
        self.fields["technician"].queryset = people

    def clean(self) -> dict[str, Any]:
        """Refuse days in the wrong order."""
        data = super().clean() or {}
        first, last = data.get("first"), data.get("last")
        if first and last and last < first:
            self.add_error("last", _now("The last day must not come before the first."))
        return data


class CrewForm(forms.Form):
    """From where somebody works, what they can do, how long a day may become; their week."""

    starts_from = forms.ChoiceField(
        label=_("The day begins at"), choices=StartsFrom.choices, widget=forms.RadioSelect
    )
    latitude = NumberField(label=_("Home, latitude"), low=-90, high=90, required=False)
    longitude = NumberField(label=_("Home, longitude"), low=-180, high=180, required=False)
    skills = WordsField(
        label=_("Skills"), max_length=400, required=False,
        help_text=_("Words of the care tasks, with commas between them."),
    )  # fmt: skip
    overtime_minutes = NumberField(
        label=_("Overtime a day"), unit=_("min"), low=0, high=240, whole=True
    )

    def __init__(self, *args: Any, **more: Any) -> None:
        super().__init__(*args, **more)
        for number, _name in Weekday.choices:
            self.fields[f"starts_{number}"] = ClockField(label=_("from"), required=False)
            self.fields[f"ends_{number}"] = ClockField(label=_("to"), required=False)
            self.fields[f"lunch_{number}"] = NumberField(
                label=_("lunch, min"), low=0, high=120, whole=True, required=False
            )
            self.fields[f"area_{number}"] = WordsField(
                label=_("area"), max_length=60, required=False,
                widget=forms.TextInput(attrs={"list": "areas"}),
            )  # fmt: skip

    @property
    def plain_fields(self) -> list[forms.BoundField]:
        """The fields that are not of a weekday."""
        week = ("starts_", "ends_", "lunch_", "area_")
        return [
            field
            for field in self
            if field.name == "starts_from" or not field.name.startswith(week)
        ]

    @property
    def week(self) -> list[tuple[str, list[forms.BoundField]]]:
        """Each weekday with its boxes: from, to, lunch, area."""
        return [
            (str(name), [self[f"{box}_{n}"] for box in ("starts", "ends", "lunch", "area")])
            for n, name in Weekday.choices
        ]

    @staticmethod
    def initial_of(rows: list[WorkingHours]) -> dict[str, Any]:
        """Return what stands as the values of the week's boxes."""
        found: dict[str, Any] = {}
        for row in rows:
            found |= {
                f"starts_{row.weekday}": row.starts, f"ends_{row.weekday}": row.ends,
                f"lunch_{row.weekday}": row.lunch_minutes, f"area_{row.weekday}": row.area,
            }  # fmt: skip
        return found

    def clean(self) -> dict[str, Any]:
        """Refuse half a day's hours, hours in the wrong order, and half a position."""
        data = super().clean() or {}
        if (data.get("latitude") is None) != (data.get("longitude") is None):
            self.add_error("longitude", _now("Give both latitude and longitude, or neither."))
        if data.get("starts_from") == StartsFrom.HOME and data.get("latitude") is None:
            self.add_error("latitude", _now("Where is home? Give its latitude and longitude."))
        for number, _name in Weekday.choices:
            starts, ends = data.get(f"starts_{number}"), data.get(f"ends_{number}")
            if (starts is None) != (ends is None):
                missing = f"ends_{number}" if ends is None else f"starts_{number}"
                self.add_error(missing, _now("Give both times of a day, or none."))
            elif starts and ends <= starts:
                self.add_error(f"ends_{number}", _now("The day must end after it starts."))
            elif data.get(f"area_{number}") and not starts:
                self.add_error(f"area_{number}", _now("Give the hours of this day as well."))
        return data

    def days(self) -> list[dict[str, Any]]:
        """Return the hours of each day that has some, of a valid form."""
        data = self.cleaned_data
        return [
            {
                "weekday": n, "starts": data[f"starts_{n}"], "ends": data[f"ends_{n}"],
                "lunch_minutes": data.get(f"lunch_{n}") or 0, "area": data.get(f"area_{n}") or "",
            }
            for n, _name in Weekday.choices
            if data.get(f"starts_{n}")
        ]  # fmt: skip

    def skill_list(self) -> list[str]:
        """Return the skills one by one."""
        return [word for part in self.cleaned_data["skills"].split(",") if (word := part.strip())]
