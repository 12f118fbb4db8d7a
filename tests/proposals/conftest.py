"""The office's desk for what happens before there is a system."""

from tests.office.conftest import Desk, desk, empty, no_broker, standing_clock

__all__ = ["Desk", "desk", "empty", "no_broker", "standing_clock"]
