"""The rule of a care task: what brings it round, how exactly, by whom."""

import datetime as dt
import re
from collections.abc import Container
from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.db.models import QuerySet
from django.utils.translation import gettext as _now
from django.utils.translation import gettext_lazy as _

from apps.care.choices import (
    BY_DAYS,
    BY_LIMIT,
    Counter,
    Criticality,
    Mode,
    MonthEnd,
    OffSeason,
    Unit,
    Who,
)
from apps.care.models import CareTask
from apps.core.dates import day_text
from apps.core.numbers import format_plain
from apps.office.forms.base import DayField, DoneDayField, NumberField
from apps.office.forms.doubts import DoubtedForm
from apps.systems.models import Component, Loop

_MONTH_DAY = re.compile(r"(\d{1,2})-(\d{1,2})")
# what each field of a rule belongs to; the other fields go with every mode
COUNTS = (Mode.AFTER_DONE, Mode.FIXED)
DATED = (*BY_DAYS, Mode.METER)
OF_MODES: dict[str, tuple[str, ...]] = {
    **dict.fromkeys(("every_n", "unit"), COUNTS),
    # what counts from the day it was done knows no day of the month
    "month_end": (Mode.FIXED,),
    "rrule": (Mode.CALENDAR,),
    **dict.fromkeys(("meter", "meter_limit"), DATED),
    "max_days": (Mode.METER,),
    **dict.fromkeys(("measurand", "below", "above"), (*BY_LIMIT, *DATED)),
    "anchor": (*DATED, Mode.ONCE),
    "last_done": DATED,
    **dict.fromkeys(("early_days", "late_days"), (*DATED, Mode.ONCE, Mode.CONDITION)),
    **dict.fromkeys(("season_from", "season_to", "off_season"), DATED),
}
# fields of the row that the form has under the same name
ALWAYS = ("code", "loop", "component", "mode", "minutes", "who", "criticality", "active")
RULE = (
    "every_n", "unit", "month_end", "anchor", "rrule", "meter", "meter_limit", "max_days",
    "season_from", "season_to", "off_season",
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


class TaskForm(DoubtedForm):
    """A task of a system with its rhythm."""

    # a field of another mode is not on show, and a browser would ask for it all the same
    use_required_attribute = False

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
    rrule = forms.CharField(
        label=_("The rule"), max_length=200,
        help_text=_(
            "Written as RFC 5545 has it: FREQ=MONTHLY;BYDAY=1MO is the first Monday of each month, "
            "FREQ=WEEKLY;INTERVAL=2;BYDAY=TU,FR every other Tuesday and Friday."
        ),
    )  # fmt: skip
    meter = forms.ChoiceField(
        label=_("The meter counts"), choices=[("", _("none")), *Counter.choices], required=False,
        help_text=_("Beside days of its own, whichever comes first counts."),
    )  # fmt: skip
    meter_limit = NumberField(
        label=_("Comes round after"), low=0, high=1e9, required=False,
        help_text=_("More of what the meter counts, from when the task was last done."),
    )  # fmt: skip
    max_days = NumberField(
        label=_("At the latest after"), low=1, high=3650, whole=True, unit=_("days"),
        help_text=_("Should the meter stand still, or nobody read it."),
    )  # fmt: skip
    anchor = DayField(
        label=_("First on"), required=False, help_text=_("The rule counts from this day."),
    )  # fmt: skip
    last_done = DoneDayField(
        label=_("Last done on"), required=False,
        help_text=_("Where it was done before: the rule goes on from this day."),
    )  # fmt: skip
    month_end = forms.ChoiceField(
        label=_("A month without that day"), choices=MonthEnd.choices,
        help_text=_("On fixed days in months alone, counted from the first day."),
    )  # fmt: skip
    all_the_same = forms.CharField(label=_("It is late: keep it so"), required=False)
    early_days = NumberField(
        label=_("May be done early by"), low=0, high=365, whole=True, unit=_("days"), initial=0
    )
    late_days = NumberField(
        label=_("Late after"), low=0, high=365, whole=True, unit=_("days"), initial=0
    )
    season_from = MonthDayField(label=_("Season from"), required=False)
    season_to = MonthDayField(label=_("Season to"), required=False)
    off_season = forms.ChoiceField(label=_("Outside the season"), choices=OffSeason.choices)
    measurand = forms.ChoiceField(
        label=_("After a reading of"), required=False,
        help_text=_("Beside days of its own or a meter, whichever comes first counts."),
    )  # fmt: skip
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
        held: Container[str] = (),
        recorded: bool = False,
        done: dt.date | None = None,
        **more: Any,
    ) -> None:
        """`held`: codes of tasks that are not offered; one that is sent all the same is looked at.

        `recorded`: a visit has done it, so that nobody has to say when. `done`: when it was last done.
        """
        super().__init__(*args, **more)
        self.recorded, self.done = recorded, done
        if recorded:
            del self.fields["last_done"]
        code: Any = self.fields["code"]
        code.choices = tasks
        sent = self["code"].value()
        code.widget.choices = [row for row in tasks if row[0] not in held or row[0] == sent]
        self.fields["measurand"].choices = [("", _("none")), *measurands]
        self.fields["loop"].queryset = loops
        self.fields["component"].queryset = parts

    @property
    def chosen(self) -> str:
        """Return the mode that was sent, or that the form begins with."""
        return str(self["mode"].value() or Mode.AFTER_DONE)

    def _clean_fields(self) -> None:
        """Look at those fields alone that the chosen mode has; the others may hold anything."""
        held = self.fields
        self.fields = {
            name: field
            for name, field in held.items()
            if self.chosen in OF_MODES.get(name, (self.chosen,))
        }
        try:
            super()._clean_fields()  # type: ignore[misc]
        finally:
            self.fields = held

    def clean(self) -> dict[str, Any]:
        """Refuse half a season and half a condition."""
        data = super().clean() or {}
        if bool(data.get("season_from")) != bool(data.get("season_to")):
            name = "season_to" if data.get("season_from") else "season_from"
            if name not in self.errors:
                self.add_error(name, _now("A season needs both ends."))
        if data.get("month_end", MonthEnd.CLAMP) != MonthEnd.CLAMP and data.get("unit") not in (
            Unit.MONTH, None,
        ):  # fmt: skip
            said = _now("Only months have a last day: choose months, or leave it at “%(first)s”.")
            self.add_error("month_end", said % {"first": MonthEnd.CLAMP.label})
        self._once_again(data)
        self._meter(data)
        self._condition(data)
        return data

    def _once_again(self, data: dict[str, Any]) -> None:
        """Refuse to let come once what was done: it would never come."""
        moved = {"mode", "anchor"} & set(self.changed_data)
        if data.get("mode") != Mode.ONCE or self.done is None or not moved:
            return
        said = _now(
            "It was done on %(day)s, and what comes once does not come again. Choose “%(calendar)s” "
            "with the rule FREQ=DAILY;COUNT=1: it comes on its first day alone."
        )
        words = {"day": day_text(self.done, "year"), "calendar": Mode.CALENDAR.label}
        self.add_error("mode", said % words)

    def _meter(self, data: dict[str, Any]) -> None:
        """Refuse half a counter: none where the task goes by it, one without its limit."""
        if "meter" not in data or "meter" in self.errors or "meter_limit" in self.errors:
            return
        named, limit = data["meter"], data.get("meter_limit")
        if not named and (data.get("mode") == Mode.METER or limit is not None):
            self.add_error("meter", _now("Name what is counted: hours run, feed or litres."))
        elif named and limit is None:
            self.add_error("meter_limit", _now("After how much of it?"))

    def _condition(self, data: dict[str, Any]) -> None:
        """Refuse half a limit: one of no reading, a reading with no figure."""
        unsaid = data.get("below") is None and data.get("above") is None
        if data.get("mode") not in BY_LIMIT and unsaid and not data.get("measurand"):
            return
        if not data.get("measurand"):
            self.add_error("measurand", _now("Name the reading that brings it round."))
        if unsaid and not {"below", "above"} & set(self.errors):
            self.add_error("below", _now("Below or above which figure?"))
        below, above = data.get("below"), data.get("above")
        if below is not None and above is not None and below > above:
            said = _now(
                "Every figure is below %(below)s or above %(above)s: it would always come round."
            )
            words = {"below": format_plain(below), "above": format_plain(above)}
            self.add_error("below", said % words)

    def apply(self, task: CareTask) -> CareTask:
        """Put a valid form's rule on a task; what its mode has no use for goes back to nothing."""
        data, blank = self.cleaned_data, CareTask()
        for name in ALWAYS:
            setattr(task, name, data[name])
        for name in RULE:
            setattr(task, name, data.get(name, getattr(blank, name)))
        task.early_min_days = task.early_max_days = data.get("early_days", 0)
        task.late_min_days = task.late_max_days = data.get("late_days", 0)
        task.early_share = task.late_share = 0.0
        task.condition = {
            key: data[key]
            for key in ("measurand", "below", "above")
            if data.get(key) not in (None, "")
        }
        return task

    @property
    def asks_done(self) -> bool:
        """Whether the form that was sent says, or leaves open, when the task was last done."""
        return "last_done" in self.cleaned_data

    @property
    def done_on(self) -> dt.date | None:
        """Return the day on which a valid form says that it was last done."""
        found: dt.date | None = self.cleaned_data.get("last_done")
        return found

    @staticmethod
    def initial_of(task: CareTask) -> dict[str, Any]:
        """Return the values for a task that is there."""
        values = {name: getattr(task, name) for name in (*ALWAYS, *RULE)}
        values |= {"loop": task.loop_id, "component": task.component_id}
        values |= {"early_days": task.early_max_days, "late_days": task.late_max_days}
        return values | {key: task.condition.get(key) for key in ("measurand", "below", "above")}


class MeterForm(forms.Form):
    """What a counter shows."""

    taken_on = DoneDayField(label=_("Read on"))
    value = NumberField(label=_("The counter shows"), low=0, high=1e12)
    is_reset = forms.BooleanField(
        label=_("The counter is new, or was set back"), required=False,
        help_text=_("It counts on from this figure; what ran through it before stays counted."),
    )  # fmt: skip

    def __init__(self, *args: Any, unit: str, **more: Any) -> None:
        super().__init__(*args, **more)
        field: Any = self.fields["value"]
        field.unit = unit


class AgreedForm(forms.Form):
    """How many visits the client pays for, and until when."""

    visits_a_year = NumberField(
        label=_("Visits a year"), low=1, high=366, whole=True, required=False,
        help_text=_(
            "Empty: as many as the tasks need. At a place with several systems the largest number "
            "counts, and only where each system has one."
        ),
    )  # fmt: skip
    agreed_until = DayField(
        label=_("The agreement ends on"), required=False,
        help_text=_("Empty: it goes on until somebody ends it. Before that day it stands on Due."),
    )  # fmt: skip
