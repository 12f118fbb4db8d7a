"""When quiet hours end, against a walk minute by minute over the nights on which clocks change."""

import datetime as dt
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st

from apps.core.quiet_hours import QuietHours, zone_names
from tests.effort import cases

NIGHT = QuietHours(dt.time(20), dt.time(7, 30))
# the nights of both changes in 2026, in zones that change at other hours and by other steps
NIGHTS = [
    ("Europe/Brussels", dt.date(2026, 3, 28)), ("Europe/Brussels", dt.date(2026, 10, 24)),
    ("America/New_York", dt.date(2026, 3, 7)), ("America/New_York", dt.date(2026, 10, 31)),
    ("America/Santiago", dt.date(2026, 4, 4)), ("America/Santiago", dt.date(2026, 9, 5)),
    ("Australia/Lord_Howe", dt.date(2026, 4, 4)), ("Australia/Lord_Howe", dt.date(2026, 10, 3)),
    ("Asia/Kathmandu", dt.date(2026, 3, 28)), ("UTC", dt.date(2026, 3, 28)),
]  # fmt: skip
CLOCKS = st.builds(dt.time, st.integers(0, 23), st.sampled_from([0, 15, 30, 59]))


def walked(hours: QuietHours, at: dt.datetime, zone: ZoneInfo) -> dt.datetime:
    """The first moment on or after `at`, at whole minutes after it, whose wall clock is not quiet."""
    for minutes in range(2 * 24 * 60 + 120):
        moment = at + dt.timedelta(minutes=minutes)
        wall = moment.astimezone(zone).time()
        late = hours.starts <= wall < hours.ends
        over = wall >= hours.starts or wall < hours.ends
        if not (late if hours.starts <= hours.ends else over):
            return moment
    raise AssertionError("quiet for two days")


@pytest.mark.parametrize(("name", "evening"), NIGHTS)
@pytest.mark.parametrize("ends", ["07:30", "02:30", "02:00", "03:00", "00:10", "01:45"])
def test_each_half_hour_of_a_night(name: str, evening: dt.date, ends: str) -> None:
    zone = ZoneInfo(name)
    hours = QuietHours(dt.time(20), dt.time.fromisoformat(ends))
    first = dt.datetime.combine(evening, dt.time(18), zone).astimezone(dt.UTC)
    for step in range(32):
        at = first + step * dt.timedelta(minutes=30)
        assert hours.over_at(at, zone) == walked(hours, at, zone), at.astimezone(zone)


@cases(150)
@given(CLOCKS, CLOCKS, st.sampled_from(NIGHTS), st.integers(0, 30 * 60))
def test_any_hours_at_any_minute(
    starts: dt.time, ends: dt.time, night: tuple[str, dt.date], minutes: int
) -> None:
    zone, hours = ZoneInfo(night[0]), QuietHours(starts, ends)
    at = dt.datetime.combine(night[1], dt.time(12), zone).astimezone(dt.UTC)
    at += dt.timedelta(minutes=minutes)
    assert hours.over_at(at, zone) == walked(hours, at, zone)


@pytest.mark.outside(
    source="IANA time zone database by zoneinfo: offsets of Europe/Brussels", kind="computed",
    tolerance=0,
)  # fmt: skip
@pytest.mark.parametrize(
    ("at", "ends", "expected"),
    [
        # a winter's night, the night on which an hour is left out, and the one with an hour twice
        ("2026-01-10T21:00+01:00", "07:30", "2026-01-11T07:30+01:00"),
        ("2026-03-28T21:00+01:00", "07:30", "2026-03-29T07:30+02:00"),
        ("2026-10-24T21:00+02:00", "07:30", "2026-10-25T07:30+01:00"),
        # 02:30 is left out: the clocks jump past it at 02:00
        ("2026-03-28T21:00+01:00", "02:30", "2026-03-29T03:00+02:00"),
        # 02:30 comes twice: the first, and from the second hour on the second
        ("2026-10-24T21:00+02:00", "02:30", "2026-10-25T02:30+02:00"),
        ("2026-10-25T02:10+01:00", "02:30", "2026-10-25T02:30+01:00"),
        # not quiet: at once
        ("2026-03-28T19:59+01:00", "07:30", "2026-03-28T19:59+01:00"),
    ],
)
def test_named_nights(at: str, ends: str, expected: str) -> None:
    hours = QuietHours(dt.time(20), dt.time.fromisoformat(ends))
    found = hours.over_at(dt.datetime.fromisoformat(at), ZoneInfo("Europe/Brussels"))
    assert found == dt.datetime.fromisoformat(expected)


def test_seconds_are_no_part_of_the_end() -> None:
    at = dt.datetime(2026, 1, 10, 21, 0, 31, 5, tzinfo=dt.UTC)
    assert NIGHT.over_at(at, ZoneInfo("UTC")) == dt.datetime(2026, 1, 11, 7, 30, tzinfo=dt.UTC)


def test_both_the_same_is_never() -> None:
    at = dt.datetime(2026, 1, 10, 3, tzinfo=dt.UTC)
    assert QuietHours(dt.time(3), dt.time(3)).over_at(at, ZoneInfo("UTC")) == at


def test_zones_are_known_by_name() -> None:
    assert {"Europe/Brussels", "UTC"} <= zone_names()
    assert "Middle/Nowhere" not in zone_names()
