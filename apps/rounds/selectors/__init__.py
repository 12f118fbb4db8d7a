"""Reads of this app."""

from apps.rounds.selectors.axis import axis_of, moment_of
from apps.rounds.selectors.facts import settings_current
from apps.rounds.selectors.gathering import Gathered, basis_now, gather, stuck
from apps.rounds.selectors.kept import Note
from apps.rounds.selectors.people import area_weekdays
from apps.rounds.selectors.stops import Work

__all__ = [
    "Gathered", "Note", "Work", "area_weekdays", "axis_of", "basis_now", "gather", "moment_of",
    "settings_current", "stuck",
]  # fmt: skip
