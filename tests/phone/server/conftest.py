"""The small world of the API's tests, at nine o'clock."""

from tests.api.conftest import at_nine, sheet_of, visit, world

__all__ = ["at_nine", "sheet_of", "visit", "world"]
