"""The rule of a care task: what brings it round, how exactly, by whom."""

import datetime as dt
import re
from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.db.models import QuerySet
from django.utils.translation import gettext as _now
from django.utils.translation import gettext_lazy as _

from apps.care.choices import Criticality, Mode, MonthEnd, OffSeason, Unit, Who
from apps.care.models import CareTask
from apps.office.forms.base import DayField, NumberField
from apps.systems.models import Component, Loop

_MONTH_DAY = re.compile(r"(\d{1,2})-(\d{1,2})")
PLAIN = (
    "loop", "component", "mode", "every_n", "unit", "anchor", "month_end", "season_from",
    "season_to", "off_season", "minutes", "who", "criticality",
)  # fmt: skip


class MonthDayField(forms.CharField):
    """A day of the year as 04-15; empty for none."""

    widget = forms.TextInput(attrs={"inputmode": "numeric", "placeholder": "04-15"})

    def to_python(self, value: Any) -> str:
        """Return the day as MM-DD."""
        text = (super().to_python(value) or "").strip()
        if not text:
            return ""
        match = _MONTH_DAY.fullmatch(text)
        try:
            if match is None:
                raise ValueError
            # 2024 is a leap year, so the 29th of February is a day
            day = dt.date(2024, int(match[1]), int(match[2]))
        except ValueError:
            raise ValidationError(_now("Month and day are needed, such as 04-15.")) from None
        return f"{day:%m-%d}"


class TaskForm(forms.Form):
    """A task of a system with its rhythm."""

    code = forms.ChoiceField(label=_("Task"))
    loop = forms.ModelChoiceField(
        queryset=Loop.objects.none(), label=_("Loop"), required=False,
        empty_label=_("the whole system"),
    )  # fmt: skip
    component = forms.ModelChoiceField(
        queryset=Component.objects.none(), label=_("Part"), required=False,
        empty_label=_("no part of its own"),
    )  # fmt: skip
    mode = forms.ChoiceField(label=_("What brings it round"), choices=Mode.choices)
    every_n = NumberField(label=_("Every"), low=1, high=3650, whole=True, initial=1)
    unit = forms.ChoiceField(label=_("Days, weeks or months"), choices=Unit.choices)
    anchor = DayField(
        label=_("First on"), required=False,
        help_text=_("Fixed days and a single time count from here."),
    )  # fmt: skip
    month_end = forms.ChoiceField(label=_("A month without that day"), choices=MonthEnd.choices)
    early_days = NumberField(
        label=_("May be done early by"), low=0, high=365, whole=True, unit=_("days"), initial=0
    )
    late_days = NumberField(
        label=_("Late after"), low=0, high=365, whole=True, unit=_("days"), initial=0
    )
    season_from = MonthDayField(label=_("Season from"), required=False)
    season_to = MonthDayField(label=_("Season to"), required=False)
    off_season = forms.ChoiceField(label=_("Outside the season"), choices=OffSeason.choices)
    measurand = forms.ChoiceField(label=_("After a reading of"), required=False)
    below = NumberField(label=_("Below"), low=-1000, high=100_000, required=False)
    above = NumberField(label=_("Above"), low=-1000, high=100_000, required=False)
    minutes = NumberField(label=_("Takes"), low=0, high=600, whole=True, unit=_("min"), initial=5)
    who = forms.ChoiceField(label=_("Who does it"), choices=Who.choices)
    criticality = forms.ChoiceField(
        label=_("If it is not done"), choices=Criticality.choices, initial=Criticality.B
    )
    active = forms.BooleanField(
        label=_("In the plan"), required=False, initial=True,
        help_text=_("Taken out, it never comes due; what was done stays on record."),
    )  # fmt: skip

    def __init__(
        self,
        *args: Any,
        tasks: list[tuple[str, str]],
        measurands: list[tuple[str, str]],
        loops: QuerySet[Loop],
        parts: QuerySet[Component],
        **more: Any,
    ) -> None:
        super().__init__(*args, **more)
        self.fields["code"].choices = tasks
        self.fields["measurand"].choices = [("", _("none")), *measurands]
        self.fields["loop"].queryset = loops
        self.fields["component"].queryset = parts

    def clean(self) -> dict[str, Any]:
        """Refuse half a season and half a condition."""
        data = super().clean() or {}
        if bool(data.get("season_from")) != bool(data.get("season_to")):
            name = "season_to" if data.get("season_from") else "season_from"
            if name not in self.errors:
                self.add_error(name, _now("A season needs both ends."))
        if data.get("mode") == Mode.CONDITION:
            self._condition(data)
        return data

    def _condition(self, data: dict[str, Any]) -> None:
        if not data.get("measurand"):
            self.add_error("measurand", _now("Name the reading that brings it round."))
        unsaid = data.get("below") is None and data.get("above") is None
        if unsaid and not {"below", "above"} & set(self.errors):
            self.add_error("below", _now("Below or above which figure?"))

    def apply(self, task: CareTask) -> CareTask:
        """Put a valid form's rule on a task."""
        data = self.cleaned_data
        for name in PLAIN:
            setattr(task, name, data[name])
        task.code, task.active = data["code"], data["active"]
        task.early_min_days = task.early_max_days = data["early_days"]
        task.late_min_days = task.late_max_days = data["late_days"]
        task.early_share = task.late_share = 0.0
        task.condition = (
            {
                key: data[key]
                for key in ("measurand", "below", "above")
                if data[key] not in (None, "")
            }
            if data["mode"] == Mode.CONDITION
            else {}
        )
        return task

    @staticmethod
    def initial_of(task: CareTask) -> dict[str, Any]:
        """Return the values for a task that is there."""
        values = {name: getattr(task, name) for name in (*PLAIN, "code", "active")}
        values |= {"loop": task.loop_id, "component": task.component_id}
        values |= {"early_days": task.early_max_days, "late_days": task.late_max_days}
        return values | {key: task.condition.get(key) for key in ("measurand", "below", "above")}
