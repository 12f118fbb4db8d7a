"""Reads: what forecasts start from, what was kept of them, and how they fared."""

from apps.ahead.selectors.gathering import Gathered, gather
from apps.ahead.selectors.kept import Kept, forecasts_of, inside_of, records_read

__all__ = ["Gathered", "Kept", "forecasts_of", "gather", "inside_of", "records_read"]
