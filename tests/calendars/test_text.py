"""What is written is iCalendar: by its grammar, by another reader, and by its writer read back."""

import datetime as dt
from dataclasses import replace
from zoneinfo import ZoneInfo

import pytest
import vobject
from hypothesis import example, given
from hypothesis import strategies as st
from icalendar import Calendar

from apps.reports.rendering.feed import Entry, Feed, feed_text
from tests.calendars.grammar import read
from tests.effort import cases

STAMP = dt.datetime(2026, 6, 11, 9, 0, 30, tzinfo=dt.UTC)
ENTRY = Entry(
    uid="1@backyard", sequence=3, status="TENTATIVE",
    start=dt.datetime(2026, 6, 18, 7, tzinfo=dt.UTC), end=dt.datetime(2026, 6, 18, 9, tzinfo=dt.UTC),
    summary="Reed & Roach; garden, raft", location="Quarry Lane 31, Oldferry",
    description="Raft\nwith; marks, and " + "long words " * 20 + "č" * 80,
    url="https://care.example.org/field/visits/1/", degrees=(50.8503, 4.3517),
)  # fmt: skip
FEED = Feed(
    uid="f@backyard", name="Visits of Ana; all, of them", organizer_name='The "Reed" & Roach',
    organizer="office@reedandroach.example", entries=(ENTRY, replace(ENTRY, uid="2@backyard")),
)  # fmt: skip
WORDS = st.text(max_size=120)


@pytest.mark.outside(
    source="RFC 5545 3.1, 3.6.1; RFC 5546 3.2.1; RFC 7986 5", kind="memory", tolerance=0
)
def test_keeps_the_grammar() -> None:
    calendar = read(feed_text(FEED, STAMP))
    assert calendar.one("METHOD") == "PUBLISH"
    assert calendar.text("NAME") == calendar.text("X-WR-CALNAME") == FEED.name
    assert calendar.one("UID") == "f@backyard"
    assert calendar.one("LAST-MODIFIED") == "20260611T090030Z"
    assert calendar.one("REFRESH-INTERVAL") == calendar.one("X-PUBLISHED-TTL") == "PT1H"
    assert calendar.one("COLOR") == "teal"
    event = calendar.parts[0]
    assert event.text("SUMMARY") == ENTRY.summary
    assert event.text("DESCRIPTION") == ENTRY.description
    assert (event.one("DTSTART"), event.one("DTEND")) == ("20260618T070000Z", "20260618T090000Z")
    assert (event.one("SEQUENCE"), event.one("STATUS")) == ("3", "TENTATIVE")
    assert event.one("GEO") == "50.8503;4.3517"
    assert (event.one("CLASS"), event.one("URL")) == ("PRIVATE", ENTRY.url)


@pytest.mark.outside(
    source="CSS Color 3, 4.3: colour names, as RFC 7986 5.9 wants", kind="memory", tolerance=0
)
def test_the_colour_is_a_name_of_css() -> None:
    assert read(feed_text(FEED, STAMP)).one("COLOR") in {"teal", "seagreen", "steelblue", "navy"}


@pytest.mark.outside(source="RFC 5545, read by vobject", kind="computed", tolerance=0)
def test_another_reader_finds_the_same() -> None:
    event = vobject.readOne(feed_text(FEED, STAMP).decode()).vevent
    assert (event.uid.value, event.dtstart.value, event.dtend.value) == (
        ENTRY.uid, ENTRY.start, ENTRY.end,
    )  # fmt: skip
    assert event.dtstamp.value == STAMP
    assert (event.summary.value, event.location.value) == (ENTRY.summary, ENTRY.location)
    assert event.description.value == ENTRY.description


@cases(80)
@example("", "", "\\", "TENTATIVE")
@example("", "", '"a\\"\nb', "TENTATIVE")
@given(WORDS, WORDS, WORDS, st.sampled_from(["TENTATIVE", "CONFIRMED", "CANCELLED"]))
def test_any_words_keep_the_grammar_and_come_back(
    summary: str, description: str, firm: str, status: str
) -> None:
    entry = replace(ENTRY, summary=summary, description=description, status=status)
    data = feed_text(replace(FEED, name=firm, organizer_name=firm, entries=(entry,)), STAMP)
    event = read(data).parts[0]
    kept = "".join(c for c in summary if c.isprintable() or c == "\n")
    assert event.text("SUMMARY") == kept
    assert Calendar.from_ical(data).to_ical() == data


@pytest.mark.parametrize("zone", ["Europe/Brussels", "America/New_York", "Australia/Lord_Howe"])
def test_local_wall_time_is_kept_over_both_changes_of_the_clocks(zone: str) -> None:
    home = ZoneInfo(zone)
    days = [dt.date(2026, month, day) for month in (3, 4, 10, 11) for day in (1, 7, 28, 30)]
    starts = [dt.datetime.combine(day, dt.time(9, 30), home) for day in days]
    entries = tuple(
        replace(ENTRY, uid=f"{n}@backyard", start=start, end=start + dt.timedelta(hours=1))
        for n, start in enumerate(starts)
    )
    calendar = read(feed_text(replace(FEED, entries=entries), STAMP))
    found = [
        dt.datetime.strptime(event.one("DTSTART"), "%Y%m%dT%H%M%SZ").replace(tzinfo=dt.UTC)
        for event in calendar.parts
    ]
    local = [moment.astimezone(home) for moment in found]
    assert [(m.date(), m.time()) for m in local] == [(day, dt.time(9, 30)) for day in days]
    # two offsets were met, else this says nothing
    assert len({moment.utcoffset() for moment in local}) == 2


def test_same_feed_same_bytes_and_another_another() -> None:
    assert feed_text(FEED, STAMP) == feed_text(replace(FEED), STAMP)
    for other in (replace(ENTRY, sequence=4), replace(ENTRY, status="CONFIRMED")):
        changed = replace(FEED, entries=(other, *FEED.entries[1:]))
        assert changed.content != FEED.content
        assert feed_text(changed, STAMP) != feed_text(FEED, STAMP)
