"""The appointment as a calendar object (RFC 5545, RFC 5546)."""

import datetime as dt
from dataclasses import dataclass

from icalendar import Calendar, Event, vCalAddress, vText


@dataclass(frozen=True)
class Appointment:
    """What a calendar needs to know of a visit. Times are aware.

    `accepted`: who gets it has picked this time, and is not asked once more.
    """

    uid: str
    sequence: int
    start: dt.datetime
    end: dt.datetime
    stamp: dt.datetime
    summary: str
    location: str
    description: str
    organizer_name: str
    organizer: str
    attendee_name: str
    attendee: str
    accepted: bool = False


def calendar_person(email: str, name: str) -> vCalAddress:
    """Return an address with the name of whoever it is.

    A parameter takes no control characters (RFC 5545 3.1), and readers differ on what a backslash
    means in one: both are left out.
    """
    person = vCalAddress(f"mailto:{email}")
    person.params["cn"] = vText("".join(c for c in name if c.isprintable() and c != "\\"))
    return person


def calendar_text(item: Appointment, method: str) -> bytes:
    """Return the calendar object; `method` is REQUEST or CANCEL. Raises ValueError for another."""
    if method not in ("REQUEST", "CANCEL"):
        raise ValueError(f"method {method!r} is not REQUEST or CANCEL")
    calendar = Calendar()
    calendar.add("prodid", "-//Backyard//Appointments//EN")
    calendar.add("version", "2.0")
    calendar.add("method", method)
    event = Event()
    event.add("uid", item.uid)
    event.add("sequence", item.sequence)
    event.add("dtstamp", item.stamp.astimezone(dt.UTC).replace(microsecond=0))
    event.add("dtstart", item.start.astimezone(dt.UTC))
    event.add("dtend", item.end.astimezone(dt.UTC))
    event.add("summary", item.summary)
    event.add("location", item.location)
    event.add("description", item.description)
    event.add("status", "CANCELLED" if method == "CANCEL" else "CONFIRMED")
    event["organizer"] = calendar_person(item.organizer, item.organizer_name)
    attendee = calendar_person(item.attendee, item.attendee_name)
    attendee.params["role"] = vText("REQ-PARTICIPANT")
    attendee.params["partstat"] = vText("ACCEPTED" if item.accepted else "NEEDS-ACTION")
    attendee.params["rsvp"] = vText("FALSE" if item.accepted else "TRUE")
    event.add("attendee", attendee, encode=False)
    calendar.add_component(event)
    return bytes(calendar.to_ical())
