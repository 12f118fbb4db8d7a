"""Appointments as calendar objects, read back by another library."""

import datetime as dt

import pytest
import vobject

from apps.reports.rendering.appointment import Appointment, calendar_text

ITEM = Appointment(
    uid="1@backyard", sequence=3, start=dt.datetime(2026, 6, 18, 7, tzinfo=dt.UTC),
    end=dt.datetime(2026, 6, 18, 9, 30, tzinfo=dt.UTC), stamp=dt.datetime(2026, 6, 11, tzinfo=dt.UTC),
    summary="Reed & Roach; Back garden, raft", location="Quarry Lane 31, Oldferry",
    description="Line one\nline two; with, marks " + "long " * 30, organizer_name="Reed & Roach",
    organizer="office@reedandroach.example", attendee_name='Robin "R" Okafor',
    attendee="robin@okafor.example",
)  # fmt: skip


@pytest.mark.outside(source="RFC 5545, read by vobject", kind="computed", tolerance=0)
@pytest.mark.parametrize(("method", "status"), [("REQUEST", "CONFIRMED"), ("CANCEL", "CANCELLED")])
def test_another_reader_finds_the_same(method: str, status: str) -> None:
    data = calendar_text(ITEM, method)
    calendar = vobject.readOne(data.decode())
    event = calendar.vevent
    assert calendar.method.value == method
    assert event.status.value == status
    assert event.uid.value == ITEM.uid
    assert event.sequence.value == "3"
    assert event.dtstart.value == ITEM.start
    assert event.dtend.value == ITEM.end
    assert event.summary.value == ITEM.summary
    assert event.location.value == ITEM.location
    assert event.description.value == ITEM.description
    assert event.organizer.value == f"mailto:{ITEM.organizer}"
    assert event.attendee.value == f"mailto:{ITEM.attendee}"


def test_lines_are_folded_and_end_as_the_standard_says() -> None:
    data = calendar_text(ITEM, "REQUEST")
    assert data.endswith(b"\r\n")
    assert all(len(line) <= 75 for line in data.split(b"\r\n"))


def test_other_methods_are_refused() -> None:
    with pytest.raises(ValueError, match="PUBLISH"):
        calendar_text(ITEM, "PUBLISH")
