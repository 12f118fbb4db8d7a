"""What a mail provider reports of letters (see core/mail_provider.py)."""

import hashlib
from typing import Any

from anymail.signals import AnymailTrackingEvent, tracking

from apps.core import clock
from apps.core.mail_provider import event_returned
from apps.reports.services.returned import returned_take


def event_take(event: AnymailTrackingEvent, esp_name: str, **_more: Any) -> None:
    """Take an event once, however often it is reported."""
    notice = event_returned(event)
    if notice is not None:
        said = f"{esp_name}/{event.event_id or event.timestamp}/{notice}"
        mark = "event:" + hashlib.sha256(said.encode()).hexdigest()
        returned_take(mark=mark, notice=notice, at=clock.now())


def events_heard() -> None:
    """Begin to take events."""
    tracking.connect(event_take, dispatch_uid="apps.flows.provider_events")
