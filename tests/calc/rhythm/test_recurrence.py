"""What is refused in a calendar rule's text, and that it never runs away."""

import datetime as dt

import pytest

from apps.calc.rhythm import RuleError, expansion, recurrence_of
from apps.calc.rhythm.expansion import hit_after, hit_before, hits

START = dt.date(2026, 1, 1)

REFUSED = [
    ("", "", "is not a part"),
    ("every day", "every day".upper(), "is not a part"),
    ("INTERVAL=2", "INTERVAL=2", "begins with FREQ="),
    ("FREQ=SECONDLY", "SECONDLY", "FREQ must be one of DAILY, WEEKLY, MONTHLY, YEARLY"),
    ("FREQ=HOURLY", "HOURLY", "not HOURLY"),
    ("FREQ=", "", "FREQ must be one of"),
    ("FREQ=DAILY;", "", "is not a part"),
    ("FREQ=DAILY;BYHOUR=9", "BYHOUR=9", "BYHOUR does not belong"),
    ("FREQ=DAILY;BYMINUTE=0", "BYMINUTE=0", "leave it out"),
    ("FREQ=DAILY;BYSECOND=0", "BYSECOND=0", "leave it out"),
    ("FREQ=YEARLY;BYEASTER=0", "BYEASTER=0", "is not a part"),
    ("FREQ=DAILY;X-OWN=1", "X-OWN=1", "is not a part"),
    ("FREQ=DAILY;FREQ=WEEKLY", "FREQ=WEEKLY", "stands twice"),
    ("FREQ=DAILY;INTERVAL=0", "0", "INTERVAL must be a whole number from 1 to 1000, not 0"),
    ("FREQ=DAILY;INTERVAL=1001", "1001", "from 1 to 1000"),
    ("FREQ=DAILY;INTERVAL=-2", "-2", "from 1 to 1000"),
    ("FREQ=DAILY;INTERVAL=1.5", "1.5", "whole number"),
    ("FREQ=DAILY;INTERVAL=１", "１", "whole number"),
    ("FREQ=DAILY;COUNT=1001", "1001", "COUNT must be a whole number from 1 to 1000"),
    ("FREQ=DAILY;COUNT=1000000", "1000000", "from 1 to 1000"),
    ("FREQ=DAILY;UNTIL=20261224T000000Z", "20261224T000000Z", "a day such as 20271231"),
    ("FREQ=DAILY;UNTIL=20260230", "20260230", "a day such as"),
    ("FREQ=DAILY;UNTIL=2026-12-24", "2026-12-24", "a day such as"),
    ("FREQ=DAILY;COUNT=3;UNTIL=20261224", "20261224", "COUNT and UNTIL"),
    ("FREQ=YEARLY;BYMONTH=13", "13", "from 1 to 12"),
    ("FREQ=YEARLY;BYMONTH=-1", "-1", "from 1 to 12"),
    ("FREQ=YEARLY;BYMONTH=1,,2", "", "from 1 to 12"),
    ("FREQ=MONTHLY;BYMONTHDAY=0", "0", "from 1 to 31"),
    ("FREQ=MONTHLY;BYMONTHDAY=32", "32", "from 1 to 31"),
    ("FREQ=YEARLY;BYYEARDAY=367", "367", "from 1 to 366"),
    ("FREQ=YEARLY;BYWEEKNO=54;BYDAY=MO", "54", "from 1 to 53"),
    ("FREQ=YEARLY;BYWEEKNO=20", "20", "which day of that week"),
    ("FREQ=MONTHLY;BYWEEKNO=20;BYDAY=MO", "20", "BYWEEKNO does not go with FREQ=MONTHLY"),
    ("FREQ=MONTHLY;BYYEARDAY=20", "20", "BYYEARDAY does not go with"),
    ("FREQ=WEEKLY;BYMONTHDAY=20", "20", "BYMONTHDAY does not go with"),
    ("FREQ=WEEKLY;BYDAY=1MO", "1MO", "a number before a weekday"),
    ("FREQ=YEARLY;BYWEEKNO=20;BYDAY=1MO", "1MO", "a number before a weekday"),
    ("FREQ=WEEKLY;BYDAY=MONDAY", "MONDAY", "weekdays such as"),
    ("FREQ=MONTHLY;BYDAY=0MO", "0", "from 1 to 53"),
    ("FREQ=MONTHLY;BYDAY=54MO", "54", "from 1 to 53"),
    ("FREQ=MONTHLY;BYSETPOS=1", "1", "picks among days"),
    ("FREQ=WEEKLY;WKST=XX", "XX", "WKST must be one of"),
    ("FREQ=DAILY;" + "BYMONTH=" + "1," * 100 + "1", "FREQ=DAILY;BYMONTH=1,1,1,1,1,1,1,1,1,1,1",
     "at most 200 characters, not 220"),
]  # fmt: skip


@pytest.mark.parametrize(("text", "value", "says"), REFUSED, ids=[r[0][:40] for r in REFUSED])
def test_is_refused_with_its_part(text, value, says):
    with pytest.raises(RuleError) as caught:
        recurrence_of(text)
    assert caught.value.field == "rrule"
    assert caught.value.value == value
    assert says in caught.value.message
    assert isinstance(caught.value, ValueError)


def test_is_read_in_small_letters_too():
    assert recurrence_of("freq=monthly;byday=-1fr") == recurrence_of("FREQ=MONTHLY;BYDAY=-1FR")


@pytest.mark.parametrize(
    "text",
    [
        "FREQ=DAILY;BYMONTH=2;BYMONTHDAY=30",
        "FREQ=MONTHLY;BYMONTH=2;BYMONTHDAY=31",
        "FREQ=YEARLY;BYMONTH=4;BYMONTHDAY=31",
        "FREQ=YEARLY;BYDAY=MO;BYSETPOS=60",
        "FREQ=YEARLY;BYMONTH=6;BYYEARDAY=1",
        "FREQ=DAILY;UNTIL=20251231",
    ],
)
def test_a_rule_that_never_comes_up_ends_soon(text, monkeypatch):
    looked = []
    real = expansion._period_first
    monkeypatch.setattr(
        expansion, "_period_first", lambda *args: looked.append(args) or real(*args)
    )
    rule = recurrence_of(text)
    assert hits(rule, START) == []
    assert hit_after(rule, START, dt.date(2026, 6, 1)) is None
    assert hit_before(rule, START, dt.date(2036, 6, 1)) is None
    assert len(looked) < 12_000


def test_a_million_days_are_not_expanded():
    rule = recurrence_of("FREQ=DAILY")
    start = dt.date(1, 1, 1)
    assert len(hits(rule, start)) == 200
    assert hit_after(rule, start, dt.date(2800, 1, 1)) == dt.date(2800, 1, 2)
    assert hit_before(rule, start, dt.date(2800, 1, 1)) == dt.date(2799, 12, 31)


def test_five_years_are_looked_at():
    yearly = recurrence_of("FREQ=YEARLY")
    assert hits(yearly, START) == [dt.date(year, 1, 1) for year in range(2026, 2032)]


def test_ends_with_the_calendar():
    start = dt.date(9999, 12, 30)
    assert hits(recurrence_of("FREQ=DAILY"), start) == [start, dt.date(9999, 12, 31)]
    assert hit_after(recurrence_of("FREQ=DAILY"), start, dt.date.max) is None
    assert hit_after(recurrence_of("FREQ=YEARLY;INTERVAL=1000"), start, start) is None


def test_far_steps_are_still_found():
    rule = recurrence_of("FREQ=YEARLY;INTERVAL=10")
    assert hit_after(rule, START, START) == dt.date(2036, 1, 1)
    leap = recurrence_of("FREQ=YEARLY;BYMONTH=2;BYMONTHDAY=29")
    assert hit_after(leap, dt.date(2096, 2, 29), dt.date(2096, 2, 29)) == dt.date(2104, 2, 29)


def test_places_are_counted_in_the_whole_week():
    """The Tuesday of the first week lies before the start: that week has no first of the two."""
    rule = recurrence_of("FREQ=WEEKLY;BYDAY=SU,TU;BYSETPOS=1")
    assert hits(rule, dt.date(2037, 9, 11), most=2) == [dt.date(2037, 9, 15), dt.date(2037, 9, 22)]


def test_of_a_mixed_list_each_weekday_counts():
    rule = recurrence_of("FREQ=MONTHLY;BYDAY=WE,1FR")
    found = [day.day for day in hits(rule, dt.date(2026, 6, 1), most=5)]
    assert found == [3, 5, 10, 17, 24]


@pytest.mark.outside(
    source="ISO 8601 weeks by the standard library's date.isocalendar", kind="computed",
    tolerance=0, absolute=True,
)  # fmt: skip
def test_week_numbers(outside):
    day = dt.date(1999, 12, 20)
    while day.year < 2012:
        front, back = expansion._week_numbers(day, 0)
        year, week, _weekday = day.isocalendar()
        outside(front, week)
        outside(back, week - dt.date(year, 12, 28).isocalendar().week - 1)
        day += dt.timedelta(days=3)
