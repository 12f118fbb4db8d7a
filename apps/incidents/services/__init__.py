"""Changes of this app."""

from apps.incidents.services.asking import incident_ask
from apps.incidents.services.calls import (
    MOST_LOST,
    incident_answer,
    incident_close,
    incident_followed,
    incident_note,
    incident_open,
    incident_step,
)
from apps.incidents.services.weather import ask_answer, watch_make

__all__ = [
    "MOST_LOST", "ask_answer", "incident_answer", "incident_ask", "incident_close", "incident_followed",
    "incident_note", "incident_open", "incident_step", "watch_make",
]  # fmt: skip
