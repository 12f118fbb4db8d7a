"""Reads: what forecasts start from, what was kept of them, and how they fared."""

from apps.ahead.selectors.feed_left import feed_left, feeding_of
from apps.ahead.selectors.gathering import Gathered, gather
from apps.ahead.selectors.kept import Kept, forecasts_of, inside_of, records_read

__all__ = [
    "Gathered",
    "Kept",
    "feed_left",
    "feeding_of",
    "forecasts_of",
    "gather",
    "inside_of",
    "records_read",
]
