"""A person's visits as a calendar that their own calendar reads (RFC 5545, RFC 5546, RFC 7986)."""

import datetime as dt
import hashlib
from dataclasses import dataclass

from icalendar import Calendar, Event, vText

from apps.reports.rendering.appointment import calendar_person

# how often a calendar should look again; what is urgent is told by letter
LOOK_AGAIN = "PT1H"
COLOUR = "teal"
# raised whenever the same entries are written otherwise
EDITION = 1


@dataclass(frozen=True)
class Entry:
    """One visit. Times are aware; `status`: TENTATIVE, CONFIRMED or CANCELLED."""

    uid: str
    sequence: int
    status: str
    start: dt.datetime
    end: dt.datetime
    summary: str
    location: str = ""
    description: str = ""
    url: str = ""
    degrees: tuple[float, float] | None = None


@dataclass(frozen=True)
class Feed:
    """A whole calendar: entries in the order in which they are written."""

    uid: str
    name: str
    organizer_name: str
    organizer: str
    entries: tuple[Entry, ...]

    @property
    def content(self) -> str:
        """The hash of all that it says, SHA-256 in hexadecimal."""
        return hashlib.sha256(repr((EDITION, self)).encode()).hexdigest()


def feed_text(feed: Feed, stamp: dt.datetime) -> bytes:
    """Return the calendar object; `stamp`: since when it has said this, aware.

    The same feed and stamp give the same bytes.
    """
    stamp = stamp.astimezone(dt.UTC).replace(microsecond=0)
    calendar = Calendar()
    calendar.add("prodid", "-//Backyard//Visits//EN")
    calendar.add("version", "2.0")
    calendar.add("method", "PUBLISH")
    calendar.add("uid", feed.uid)
    # as TEXT, whose marks are escaped: the library knows no type of these; the second is what was
    # in use before RFC 7986, and many still read
    for name in ("name", "x-wr-calname"):
        calendar.add(name, vText(_plain(feed.name)), encode=False)
    calendar.add("last-modified", stamp)
    calendar.add("refresh-interval", vText(LOOK_AGAIN), parameters={"VALUE": "DURATION"})
    calendar.add("x-published-ttl", LOOK_AGAIN)
    calendar.add("color", COLOUR)
    for entry in feed.entries:
        calendar.add_component(_event(entry, feed, stamp))
    return bytes(calendar.to_ical())


def _event(entry: Entry, feed: Feed, stamp: dt.datetime) -> Event:
    event = Event()
    event.add("uid", entry.uid)
    event.add("sequence", entry.sequence)
    event.add("dtstamp", stamp)
    event.add("dtstart", entry.start.astimezone(dt.UTC))
    event.add("dtend", entry.end.astimezone(dt.UTC))
    event.add("summary", _plain(entry.summary))
    for name in ("location", "description"):
        if getattr(entry, name):
            event.add(name, _plain(getattr(entry, name)))
    if entry.degrees:
        event.add("geo", entry.degrees)
    if entry.url:
        event.add("url", entry.url)
    event.add("status", entry.status)
    event.add("transp", "TRANSPARENT" if entry.status == "CANCELLED" else "OPAQUE")
    event.add("class", "PRIVATE")
    # RFC 5546 3.2.1: what is published has an organizer and no attendees
    event["organizer"] = calendar_person(feed.organizer, feed.organizer_name)
    return event


def _plain(text: str) -> str:
    """Take out what RFC 5545 3.1 does not allow within a text: control characters."""
    return "".join(c for c in text if c.isprintable() or c == "\n")
