"""What follows from a rule: its state from the record, and the windows to come."""

import datetime as dt
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace

from apps.calc.rhythm.meter import pace, running_totals
from apps.calc.rhythm.model import Dates, Meter, Reading, Rhythm, State
from apps.calc.rhythm.windows import satisfied, window


@dataclass(frozen=True)
class Done:
    """A task done on a day: for which occurrence, and what the counters showed, where known."""

    on: dt.date
    occurrence: dt.date | None = None
    meters: Mapping[str, float] = field(default_factory=dict)


def replay(rhythm: Rhythm, completions: Iterable[Done], state: State | None = None) -> State:
    """Return the state that a record leads to: the same in whatever order, however often told.

    `state` holds what else is known (readings, a raised condition, a forecast). A completion of a
    fixed or calendar rule without its occurrence satisfies the last one that had opened.
    """
    known = state or State()
    done = list(completions)
    if not done:
        return replace(known, last_done=None, last_occurrence=None)
    last = max(item.on for item in done)
    answered = [item.occurrence or satisfied(rhythm, item.on) for item in done]
    meters = {
        name: replace(meter, at_done=_shown(name, last, done))
        for name, meter in known.meters.items()
    }
    return replace(
        known, last_done=last, meters=meters,
        last_occurrence=max((day for day in answered if day is not None), default=None),
    )  # fmt: skip


def _shown(name: str, last: dt.date, done: Iterable[Done]) -> float | None:
    return max((item.meters[name] for item in done if item.on == last and name in item.meters),
               default=None)  # fmt: skip


def advanced(rhythm: Rhythm, state: State, on: dt.date) -> State:
    """Return the state once the task is done on a day, its counters running on as before."""
    meters = dict(state.meters)
    for rule in (rhythm, *rhythm.also):
        if rule.meter in meters:
            meters[rule.meter] = _run_on(meters[rule.meter], on)
    return replace(state, last_done=on, meters=meters)


def _run_on(meter: Meter, on: dt.date) -> Meter:
    """Return a counter with the reading that its pace leads to, taken when the task was done."""
    totals = running_totals(meter.readings)
    found = pace(totals, meter.planned_rate)
    if found is None or found.rate <= 0 or on <= totals[-1][0]:
        return replace(meter, at_done=None)
    last = sorted(meter.readings, key=lambda reading: reading.on)[-1]
    shown = last.value + found.rate * (on - last.on).days
    return replace(meter, readings=(*meter.readings, Reading(on, shown)), at_done=shown)


def upcoming(rhythm: Rhythm, state: State | None = None, count: int = 10) -> list[Dates]:
    """Return the next windows if each is done on its due day: fewer where the rule ends.

    Raises as window().

    >>> [day.due.day for day in upcoming(Rhythm("fixed", 1, "week", anchor=dt.date(2026, 6, 1)),
    ...                                  count=3)]
    [1, 8, 15]
    """
    found: list[Dates] = []
    now = state or State()
    while len(found) < count:
        dates = window(rhythm, now)
        if dates.due is None:
            break
        found.append(dates)
        now = advanced(rhythm, now, dates.due)
    return found
