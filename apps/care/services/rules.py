"""The rule of a care task: how the science reads it, whether it can be worked out, its dates."""

import datetime as dt
from collections.abc import Iterator, Mapping
from dataclasses import replace
from typing import Any

from django.utils.translation import gettext as _

from apps.calc.rhythm import (
    Dates,
    Meter,
    Rhythm,
    RuleError,
    State,
    faults,
    satisfied,
    upcoming,
    window,
)
from apps.calc.wording import Text
from apps.care.choices import BY_LIMIT, Basis, Mode
from apps.care.models import CareTask
from apps.care.selectors import counters_of
from apps.core.exceptions import Invalid
from apps.core.numbers import format_plain

FORECAST = Rhythm(Mode.FORECAST)
DATES = ("next_open", "next_due", "next_late", "basis", "computed_at")


def _month_day(text: str) -> tuple[int, int] | None:
    if not text:
        return None
    month, _mark, day = text.partition("-")
    return int(month), int(day)


def rhythm_of(task: CareTask) -> Rhythm:
    """Return a task's rule as the science knows it, whichever of its triggers comes first."""
    main = _main(task)
    return replace(main, also=tuple(_beside(task, main)))


def _beside(task: CareTask, main: Rhythm) -> Iterator[Rhythm]:
    """Yield what may bring a task round sooner: its counter, its limit, the forecast of that."""
    if task.meter and task.mode != Mode.METER:
        # its days may begin later on; the counter runs from its first reading
        yield replace(main, mode=Mode.METER, anchor=None)
    if task.condition and task.mode not in BY_LIMIT:
        yield replace(main, mode=Mode.CONDITION)
    if task.condition and task.mode != Mode.FORECAST:
        yield FORECAST


def _main(task: CareTask) -> Rhythm:
    return Rhythm(
        mode=task.mode,
        every_n=task.every_n,
        unit=task.unit,
        anchor=task.anchor,
        early_share=task.early_share,
        early_min_days=task.early_min_days,
        early_max_days=task.early_max_days,
        late_share=task.late_share,
        late_min_days=task.late_min_days,
        late_max_days=task.late_max_days,
        month_end=task.month_end,
        season_from=_month_day(task.season_from),
        season_to=_month_day(task.season_to),
        off_season=task.off_season,
        rrule=task.rrule,
        meter=task.meter,
        meter_limit=task.meter_limit,
        max_days=task.max_days,
    )


def state_of(task: CareTask, meters: Mapping[str, Meter]) -> State:
    """Return what is known of a task as the science knows it; `meters`: its counters by name."""
    return State(task.last_done, task.last_occurrence, task.raised_on, meters, forecast_of(task))


def forecast_of(task: CareTask) -> Dates:
    """Return the window that a forecast has given a task."""
    return Dates(task.forecast_open, task.forecast_due, task.forecast_late)


def dates_set(task: CareTask, at: dt.datetime, meters: Mapping[str, Meter] | None = None) -> None:
    """Work out a task's next dates from its rule and its record; it is not stored.

    `meters`: its counters by their names, where they are known already; else they are read.
    """
    known = counters_of([task]).get(task.pk, {}) if meters is None else meters
    dates = window(rhythm_of(task), state_of(task, known))
    task.next_open, task.next_due, task.next_late = dates.open, dates.due, dates.late
    task.basis = _basis(task, dates)
    task.computed_at = at


def _basis(task: CareTask, dates: Dates) -> Basis:
    if not task.condition:
        return Basis.CALENDAR
    if dates.due is not None and dates.due == task.forecast_due:
        return Basis.FORECAST
    if task.mode in BY_LIMIT:
        return Basis.CONDITION if task.mode == Mode.CONDITION else Basis.FORECAST
    return (
        Basis.CONDITION if dates.due is not None and dates.due == task.raised_on else Basis.CALENDAR
    )


def dates_ahead(task: CareTask, count: int = 10, done_on: dt.date | None = None) -> list[Dates]:
    """Return the next windows of a task, each done on its due day; nothing is stored.

    `done_on`: when it was last done, where the record says nothing later. Raises Invalid for a rule that cannot be worked out.
    """
    rule_check(task)
    rhythm, state = rhythm_of(task), state_of(task, counters_of([task]).get(task.pk, {}))
    if done_on is not None and (state.last_done is None or state.last_done < done_on):
        state = replace(state, last_done=done_on, last_occurrence=satisfied(rhythm, done_on))
    return upcoming(rhythm, state, count)


def rule_check(task: CareTask) -> None:
    """Raise Invalid for a rule that cannot be worked out, naming each field that is wrong."""
    found = faults(rhythm_of(task))
    if found:
        raise Invalid([_row(fault.field, fault.value, _said(fault)) for fault in found])
    if task.mode in BY_LIMIT and not task.condition:
        raise _invalid("condition", None, _("name the measurand, below or above, and the limit"))


def _invalid(field: str, value: object, message: str) -> Invalid:
    return Invalid([_row(field, value, message)])


def _row(field: str, value: object, message: str) -> dict[str, Any]:
    """Return an error as it is told; what JSON cannot hold stands as text."""
    shown = value if isinstance(value, (str, int)) or value is None else str(value)
    field = field.removeprefix("also.")
    return {"pointer": f"/{field}", "value": shown, "message": f"{field}: {message}"}


def _said(fault: RuleError) -> str:
    """Return a fault of the science in the active language."""
    text = fault.message
    if not isinstance(text, Text) or not text.params:
        return _(text)
    shown = {
        name: format_plain(value) if isinstance(value, float) else value
        for name, value in text.params.items()
    }
    return _(text.msgid).format(**shown)
