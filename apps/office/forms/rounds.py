"""Planning rounds, moving a stop, somebody away, when and from where people work."""

import datetime as dt
from collections.abc import Container
from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.db.models import QuerySet
from django.utils.translation import gettext as _now
from django.utils.translation import gettext_lazy as _

from apps.accounts.models import User
from apps.clients.choices import Weekday
from apps.core import clock
from apps.core.fields import WordsField
from apps.office.forms.base import ClockField, DayField, NumberField
from apps.office.forms.coordinates import HELP, position_typed
from apps.rounds.choices import Part, StartsFrom
from apps.rounds.models import WorkingHours

QUICK, THOROUGH = "5", "30"
BOXES = {"starts": _("from"), "ends": _("to"), "lunch": _("lunch, min"), "area": _("area")}


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


class DaySelect(forms.Select):
    """Days of a plan; those that nothing can be put on are shown, and cannot be chosen."""

    closed: Container[str] = ()

    def create_option(self, name: str, value: Any, *args: Any, **more: Any) -> dict[str, Any]:
        """Return an option, disabled where its day is closed."""
        option = super().create_option(name, value, *args, **more)
        if str(value) in self.closed:
            option["attrs"]["disabled"] = True
        return option


class StopForm(forms.Form):
    """Where a stop goes: day, who, and when or wherever it is cheapest."""

    day = forms.ChoiceField(label=_("Day"), widget=DaySelect)
    technicians = forms.ModelMultipleChoiceField(
        queryset=User.objects.none(), label=_("Who comes"), widget=forms.CheckboxSelectMultiple
    )
    time = ClockField(
        label=_("Begins at"), required=False,
        help_text=_("Empty: wherever in the round it costs least."),
    )  # fmt: skip
    # before which stop of the round it was dropped
    position = NumberField(low=0, high=100, whole=True, required=False, widget=forms.HiddenInput)

    def __init__(
        self,
        *args: Any,
        people: QuerySet[User],
        days: list[tuple[str, str]],
        closed: Container[str],
        **more: Any,
    ) -> None:
        super().__init__(*args, **more)
        self.fields["technicians"].queryset = people
        day: Any = self.fields["day"]
        day.choices, day.widget.closed = days, closed

    def clean_day(self) -> dt.date:
        """Return the day."""
        return dt.date.fromisoformat(self.cleaned_data["day"])


class AwayForm(forms.Form):
    """Who is away from when to when."""

    technician = forms.ModelChoiceField(
        queryset=User.objects.none(), label=_("Who"), empty_label=_("choose who")
    )
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
    where = forms.CharField(label=_("Home"), max_length=120, required=False, help_text=HELP)
    skills = WordsField(
        label=_("Skills"), max_length=400, required=False,
        help_text=_(
            "Words of the care tasks, with commas between them. Calls for help look for: "
            "electric, pumps, fish."
        ),
    )  # fmt: skip
    overtime_minutes = NumberField(
        label=_("Overtime a day"), unit=_("min"), low=0, high=240, whole=True
    )

    def __init__(self, *args: Any, **more: Any) -> None:
        super().__init__(*args, **more)
        for number, name in Weekday.choices:
            boxes = {
                "starts": ClockField(required=False), "ends": ClockField(required=False),
                "lunch": NumberField(low=0, high=120, whole=True, required=False),
                "area": WordsField(
                    max_length=60, required=False, widget=forms.TextInput(attrs={"list": "areas"})
                ),
            }  # fmt: skip
            for box, field in boxes.items():
                # the day as well: what is refused is said at the top of the page, too
                field.label = f"{name}, {BOXES[box]}"
                self.fields[f"{box}_{number}"] = field

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
    def week(self) -> list[tuple[str, list[tuple[str, forms.BoundField]]]]:
        """Each weekday with its boxes and their short names."""
        return [
            (str(name), [(str(short), self[f"{box}_{n}"]) for box, short in BOXES.items()])
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
        """Find the home; refuse half a day's hours, and hours in the wrong order."""
        data = super().clean() or {}
        try:
            found = position_typed(data.get("where", ""))
        except ValidationError as error:
            self.add_error("where", error)
        else:
            data["latitude"], data["longitude"] = found or (None, None)
            if data.get("starts_from") == StartsFrom.HOME and found is None:
                self.add_error("where", _now("Where is home? Give its coordinates."))
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
