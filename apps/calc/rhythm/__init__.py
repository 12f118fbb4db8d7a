"""When a care task is open, due and late: plain arithmetic on local dates.

A rule is replayable: its dates follow from the rule and the record alone, so a late or doubled
report from a phone gives the same answer in whatever order it arrives. Dates have no time of the
day and no zone, so neither a change of the clocks nor the machine's own zone moves them.
"""

from apps.calc.rhythm.ahead import Done, advanced, replay, upcoming
from apps.calc.rhythm.checks import faults, rule_check
from apps.calc.rhythm.days import add, in_season, interval_days, season_of, season_opening
from apps.calc.rhythm.forecast import settled
from apps.calc.rhythm.meter import Pace, pace, running_totals
from apps.calc.rhythm.model import DORMANT, Dates, Meter, Reading, Rhythm, RuleError, State
from apps.calc.rhythm.occurrences import occurrence_after, occurrence_before
from apps.calc.rhythm.recurrence import Recurrence, recurrence_of
from apps.calc.rhythm.windows import next_dates, satisfied, window

__all__ = [
    "DORMANT",
    "Dates",
    "Done",
    "Meter",
    "Pace",
    "Reading",
    "Recurrence",
    "Rhythm",
    "RuleError",
    "State",
    "add",
    "advanced",
    "faults",
    "in_season",
    "interval_days",
    "next_dates",
    "occurrence_after",
    "occurrence_before",
    "pace",
    "recurrence_of",
    "replay",
    "rule_check",
    "running_totals",
    "satisfied",
    "season_of",
    "season_opening",
    "settled",
    "upcoming",
    "window",
]
