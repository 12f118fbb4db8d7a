"""The next window of a task from its rule and its record."""

import datetime as dt
from collections.abc import Callable, Iterable, Mapping

from apps.calc.rhythm.days import (
    UNIT_DAYS,
    add,
    in_season,
    interval_days,
    season_cut,
    season_opening,
    slack,
)
from apps.calc.rhythm.meter import meter_due
from apps.calc.rhythm.model import DORMANT, Dates, Meter, Rhythm, State
from apps.calc.rhythm.occurrences import SERIES, occurrence_after, occurrence_before

ONE_DAY = dt.timedelta(days=1)


def _around(rhythm: Rhythm, due: dt.date, length: int, floor: dt.date | None = None) -> Dates:
    """Return the window about a due day; it opens after `floor`, the day it was last done."""
    early, late = slack(rhythm, length)
    opens = due - dt.timedelta(days=early)
    if floor is not None:
        opens = min(due, max(opens, floor + ONE_DAY))
    return Dates(opens, due, due + dt.timedelta(days=late))


def _after_done(rhythm: Rhythm, state: State) -> Dates:
    if rhythm.unit not in UNIT_DAYS:
        raise ValueError(f"unit {rhythm.unit!r} is not day, week or month")
    due = rhythm.anchor
    if state.last_done is not None:
        due = add(state.last_done, rhythm.every_n, rhythm.unit)
    return _seasonal(rhythm, due, interval_days(rhythm), state.last_done)


def _seasonal(
    rhythm: Rhythm, due: dt.date | None, length: int, floor: dt.date | None = None
) -> Dates:
    if due is None:
        return DORMANT
    if not in_season(due, rhythm):
        due = season_opening(due, rhythm)
    return season_cut(_around(rhythm, due, length, floor), rhythm)


def _slack_between(rhythm: Rhythm, first: dt.date, second: dt.date) -> tuple[int, int]:
    """Return how late the first may be and how early the second: their windows never meet.

    A share is of the interval, for a calendar rule of the days between the two. Together the
    two are at most one day less than what lies between; both give way in proportion.
    """
    gap = (second - first).days
    early, late = slack(rhythm, gap if rhythm.mode == "calendar" else interval_days(rhythm))
    room = gap - 1
    if early + late > room:
        late = (2 * room * late + early + late) // (2 * (early + late))
        early = room - late
    return late, early


def series_window(rhythm: Rhythm, due: dt.date) -> Dates:
    """Return the window of one day of a fixed or calendar rule, cut to its neighbours and season."""
    before, after = occurrence_before(rhythm, due), occurrence_after(rhythm, due)
    alone = slack(rhythm, interval_days(rhythm) if rhythm.mode == "fixed" else 1)
    late = _slack_between(rhythm, due, after)[0] if after else alone[1]
    early = _slack_between(rhythm, before, due)[1] if before else alone[0]
    window = Dates(due - dt.timedelta(days=early), due, due + dt.timedelta(days=late))
    return season_cut(window, rhythm)


def _series(rhythm: Rhythm, state: State) -> Dates:
    """Return the window after the day that was satisfied; a window that was open when the task
    was last done counts as done, and what was missed is left out."""
    known = [day for day in (state.last_done, state.last_occurrence) if day is not None]
    due = occurrence_after(rhythm, max(known, default=None))
    while due is not None:
        found = series_window(rhythm, due)
        if state.last_done is None or found.open is None or found.open > state.last_done:
            return found
        due = occurrence_after(rhythm, due)
    return DORMANT


def satisfied(rhythm: Rhythm, day: dt.date) -> dt.date | None:
    """Return which day of a fixed or calendar rule was satisfied by work on a day.

    It is the last one whose window had opened by then; None before the first, and for a rule
    that counts from the day it was done.

    >>> weekly = Rhythm("fixed", 1, "week", anchor=dt.date(2026, 6, 1), early_min_days=2,
    ...                 early_max_days=2)
    >>> satisfied(weekly, dt.date(2026, 6, 6))
    datetime.date(2026, 6, 8)
    """
    if rhythm.mode not in SERIES:
        return None
    ahead = occurrence_after(rhythm, day)
    if ahead is not None:
        opens = series_window(rhythm, ahead).open
        if opens is not None and opens <= day:
            return ahead
    return occurrence_before(rhythm, day + ONE_DAY)


def _once(rhythm: Rhythm, state: State) -> Dates:
    if rhythm.anchor is None or state.last_done is not None:
        return DORMANT
    return _around(rhythm, rhythm.anchor, interval_days(rhythm))


def _condition(rhythm: Rhythm, state: State) -> Dates:
    raised = state.raised_on
    if raised is None or (state.last_done is not None and raised <= state.last_done):
        return DORMANT
    return _around(rhythm, raised, interval_days(rhythm))


def _backstop(rhythm: Rhythm, state: State) -> Dates:
    """Return the latest window that a rule without a day of its own is held to."""
    base = state.last_done or rhythm.anchor
    if base is None or rhythm.max_days is None:
        return DORMANT
    due = base + dt.timedelta(days=rhythm.max_days)
    found = _around(rhythm, due, rhythm.max_days, state.last_done)
    return Dates(found.open, due, due)


def _meter(rhythm: Rhythm, state: State) -> Dates:
    meter, backstop = state.meters.get(rhythm.meter), _backstop(rhythm, state)
    base = state.last_done or rhythm.anchor
    found = meter_due(rhythm, meter, base) if meter is not None else None
    if found is None:
        return _held(rhythm, backstop)
    due, slow = found
    if state.last_done is not None:
        due = max(due, state.last_done + ONE_DAY)
    around = _around(rhythm, due, (due - base).days if base else 0, state.last_done)
    late = max(around.late or due, slow or due)
    return _held(rhythm, first_of((Dates(around.open, due, late), backstop)))


def _forecast(rhythm: Rhythm, state: State) -> Dates:
    given = state.forecast or DORMANT
    if given.due is None or (state.last_done is not None and given.due <= state.last_done):
        given = DORMANT
    return first_of((given, _backstop(rhythm, state)))


def _held(rhythm: Rhythm, dates: Dates) -> Dates:
    """Return a window moved to the season's opening where its day lies outside."""
    if dates.open is None or dates.due is None or dates.late is None:
        return dates
    if not in_season(dates.due, rhythm):
        move = season_opening(dates.due, rhythm) - dates.due
        dates = Dates(dates.open + move, dates.due + move, dates.late + move)
    return season_cut(dates, rhythm)


def first_of(windows: Iterable[Dates]) -> Dates:
    """Return whichever comes first of several windows: the earliest of each of the three days."""
    awake = [w for w in windows if w.due is not None]
    if not awake:
        return DORMANT
    return Dates(
        min(w.open for w in awake if w.open is not None),
        min(w.due for w in awake if w.due is not None),
        min(w.late for w in awake if w.late is not None),
    )


_WINDOWS: Mapping[str, Callable[[Rhythm, State], Dates]] = {
    "after_done": _after_done,
    "fixed": _series,
    "calendar": _series,
    "meter": _meter,
    "forecast": _forecast,
    "condition": _condition,
    "once": _once,
    "every_visit": lambda _rhythm, _state: DORMANT,
}
MODES = tuple(_WINDOWS)


def window(rhythm: Rhythm, state: State) -> Dates:
    """Return when a task opens, is due and is late, whichever of its rules comes first.

    Raises ValueError for a mode, a unit or a rule's text that is not known, RuleError for a
    counter that runs backwards.
    """
    rules = (rhythm, *rhythm.also)
    for rule in rules:
        if rule.mode not in _WINDOWS:
            raise ValueError(f"mode {rule.mode!r} is not known")
    return first_of([_WINDOWS[rule.mode](rule, state) for rule in rules])


def next_dates(
    rhythm: Rhythm,
    *,
    last_done: dt.date | None = None,
    last_occurrence: dt.date | None = None,
    raised_on: dt.date | None = None,
    meters: Mapping[str, Meter] | None = None,
    forecast: Dates | None = None,
) -> Dates:
    """Return when the task opens, is due and is late, as window() of a state put together.

    A fixed or calendar rule goes by the occurrence that was satisfied, every other by the day it
    was done. Raises as window().

    Examples
    --------
    >>> next_dates(Rhythm("after_done", 14, late_min_days=4, late_max_days=4),
    ...            last_done=dt.date(2026, 6, 1)).late
    datetime.date(2026, 6, 19)
    """
    return window(rhythm, State(last_done, last_occurrence, raised_on, meters or {}, forecast))
