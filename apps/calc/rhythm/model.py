"""A rule, what is known of its task, and the window that follows."""

import datetime as dt
from collections.abc import Mapping
from dataclasses import dataclass, field


class RuleError(ValueError):
    """A rule or its record is refused; carries the field, its value and what would be right."""

    def __init__(self, field: str, value: object, message: str) -> None:
        """Keep all three; the error's text is the field and the message."""
        super().__init__(f"{field}: {message}")
        self.field, self.value, self.message = field, value, message


@dataclass(frozen=True)
class Rhythm:
    """How often a task comes round.

    mode: after_done | fixed | calendar | meter | forecast | condition | once | every_visit.
    every_n counts `unit`s (day, week, month) for after_done and fixed; `rrule` is the text of a
    calendar rule (RFC 5545, on dates) that starts at the anchor. A meter rule comes round after
    `meter_limit` more of what `meter` counts (hours, grams, litres), and after `max_days` at the
    latest. Tolerances are days: early or late by a share of the interval, held between a floor
    and a cap. A season runs from `season_from` to `season_to` as (month, day), and may wrap the
    year; outside it a task waits for the opening (hold) or lets the occurrence go (skip).
    `also` holds further rules: whichever comes first counts.
    """

    mode: str
    every_n: int = 1
    unit: str = "day"
    anchor: dt.date | None = None
    early_share: float = 0.0
    early_min_days: int = 0
    early_max_days: int = 0
    late_share: float = 0.0
    late_min_days: int = 0
    late_max_days: int = 0
    month_end: str = "clamp"
    season_from: tuple[int, int] | None = None
    season_to: tuple[int, int] | None = None
    off_season: str = "hold"
    rrule: str = ""
    meter: str = ""
    meter_limit: float | None = None
    max_days: int | None = None
    also: tuple["Rhythm", ...] = ()


@dataclass(frozen=True)
class Dates:
    """The next window of a task; due is None where the task is dormant."""

    open: dt.date | None
    due: dt.date | None
    late: dt.date | None


DORMANT = Dates(None, None, None)


@dataclass(frozen=True)
class Reading:
    """What a counter showed on a day; `replaced`: it is the first of a new or reset counter."""

    on: dt.date
    value: float
    replaced: bool = False


@dataclass(frozen=True)
class Meter:
    """A counter's readings, what it showed when the task was last done, and its planned pace a day."""

    readings: tuple[Reading, ...] = ()
    at_done: float | None = None
    planned_rate: float | None = None


@dataclass(frozen=True)
class State:
    """What is known of a task: when it was done, for which occurrence, and what was measured.

    `meters` by the name that rules use; `forecast` is the window that a forecast has given.
    """

    last_done: dt.date | None = None
    last_occurrence: dt.date | None = None
    raised_on: dt.date | None = None
    meters: Mapping[str, Meter] = field(default_factory=dict)
    forecast: Dates | None = None
