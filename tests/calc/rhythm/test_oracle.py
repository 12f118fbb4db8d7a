"""Calendar rules and intervals against python-dateutil, for any rule."""

import datetime as dt

import pytest
from dateutil.relativedelta import relativedelta
from dateutil.rrule import rrulestr
from hypothesis import HealthCheck, assume, given, settings
from hypothesis import strategies as st

from apps.calc.rhythm import Rhythm, add, next_dates, occurrence_after, recurrence_of
from apps.calc.rhythm.expansion import hit_after, hit_before, hits
from apps.calc.rhythm.recurrence import WEEKDAYS
from tests.effort import cases

DATEUTIL = "python-dateutil 2.9: rrule, relativedelta"
EXACT = pytest.mark.outside(source=DATEUTIL, kind="computed", tolerance=0, absolute=True)
ONE_DAY = dt.timedelta(days=1)
days = st.dates(dt.date(1995, 1, 1), dt.date(2040, 12, 31))


def wholes(high: int, low: int = 1) -> st.SearchStrategy[str]:
    numbers = st.integers(-high, high).filter(lambda n: abs(n) >= low)
    return st.lists(numbers, min_size=1, max_size=4, unique=True).map(
        lambda items: ",".join(map(str, items))
    )


def weekdays(high: int) -> st.SearchStrategy[str]:
    """All plain or all numbered: of a mixed list the other reader takes what is in both."""
    names = st.lists(st.sampled_from(WEEKDAYS), min_size=1, max_size=3, unique=True)
    plain = names.map(",".join)
    if not high:
        return plain
    which = st.lists(
        st.integers(-high, high).filter(bool).map(str), min_size=3, max_size=3, unique=True
    )
    numbered = st.tuples(which, names).map(
        lambda pair: ",".join(n + name for n, name in zip(*pair, strict=False))
    )
    return plain | numbered


@st.composite
def rules(draw: st.DrawFn) -> str:
    """The text of any rule that is taken, with parts that often have something in common."""
    freq = draw(st.sampled_from(["DAILY", "WEEKLY", "MONTHLY", "YEARLY"]))
    parts = [f"FREQ={freq}"]
    if draw(st.booleans()):
        parts.append(f"INTERVAL={draw(st.integers(1, 4))}")
    some = {"BYMONTH": st.lists(st.integers(1, 12), min_size=1, max_size=6, unique=True).map(
        lambda items: ",".join(map(str, items)))}  # fmt: skip
    some["BYDAY"] = weekdays({"MONTHLY": 5, "YEARLY": 5}.get(freq, 0))
    if freq != "WEEKLY":
        some["BYMONTHDAY"] = wholes(31)
    if freq == "YEARLY":
        some["BYYEARDAY"] = wholes(366)
        # the other reader does not count the next year's first week from that year's end
        some["BYWEEKNO"] = wholes(53).filter(lambda text: "-52" not in text and "-53" not in text)
    names = draw(st.lists(st.sampled_from(sorted(some)), max_size=2, unique=True))
    if "BYWEEKNO" in names:
        some["BYDAY"] = weekdays(0)
        names = sorted({*names, "BYDAY"})
    parts += [f"{name}={draw(some[name])}" for name in names]
    # of the first week the other reader takes only what is left, of a week of its own (WKST) that
    # belongs to the year before it takes the wrong number
    if freq != "WEEKLY" and set(names) - {"BYWEEKNO"} and draw(st.integers(0, 3)) == 0:
        parts.append(f"BYSETPOS={draw(wholes(4))}")
    if "BYWEEKNO" not in names and draw(st.booleans()):
        parts.append(f"WKST={draw(st.sampled_from(WEEKDAYS))}")
    return ";".join(parts)


def theirs(text: str, start: dt.date, end: dt.date) -> list[dt.date]:
    """The other reader's days; UNTIL keeps it from seeking to the end of the calendar."""
    begin = dt.datetime.combine(start, dt.time())
    rule = rrulestr(text, dtstart=begin)
    found = []
    for moment in rule:
        if moment.date() > end:
            break
        found.append(moment.date())
    return found


def comes_up(text: str, start: dt.date) -> bool:
    """Whether the other reader finds an end: it seeks a rule that never comes up to year 9999."""
    return len(hits(recurrence_of(text), start, years=20, most=12)) == 12


@EXACT
@settings(
    cases(120),
    suppress_health_check=[HealthCheck.function_scoped_fixture, HealthCheck.filter_too_much,
                           HealthCheck.too_slow],
)  # fmt: skip
@given(text=rules(), start=days)
def test_a_calendar_rule(text, start, outside):
    assume(comes_up(text, start))
    expected = theirs(text, start, start + dt.timedelta(days=3 * 366))
    found = hits(recurrence_of(text), start, years=3, most=5000)
    last = start + dt.timedelta(days=(3 * 1461 + 3) // 4)
    expected = [day for day in expected if day <= last]
    outside(len(found), len(expected))
    for our_day, their_day in zip(found, expected, strict=True):
        outside(our_day.toordinal(), their_day.toordinal())


@EXACT
@settings(
    cases(100),
    suppress_health_check=[HealthCheck.function_scoped_fixture, HealthCheck.filter_too_much,
                           HealthCheck.too_slow],
)  # fmt: skip
@given(
    text=rules(), start=days, on=st.integers(-40, 900),
    end=st.sampled_from(["", "COUNT=3", "COUNT=40", "UNTIL"]),
)  # fmt: skip
def test_the_next_and_the_last_day(text, start, on, end, outside):
    assume(comes_up(text, start))
    if end:
        until = (start + dt.timedelta(days=500)).strftime("%Y%m%d")
        text += f";UNTIL={until}" if end == "UNTIL" else f";{end}"
    day = start + dt.timedelta(days=on)
    rule = recurrence_of(text)
    expected = theirs(text, start, start + dt.timedelta(days=5 * 366))
    after = next((there for there in expected if there > day), None)
    before = max((there for there in expected if there < day), default=None)
    found_after, found_before = hit_after(rule, start, day), hit_before(rule, start, day)
    if after is not None:
        outside(found_after.toordinal(), after.toordinal())
    elif end:
        assert found_after is None
    outside(found_before.toordinal() if found_before else 0, before.toordinal() if before else 0)


@EXACT
@settings(
    cases(200),
    suppress_health_check=[HealthCheck.function_scoped_fixture],
)  # fmt: skip
@given(anchor=days, every=st.integers(1, 24), number=st.integers(0, 30))
def test_months_from_the_anchor(anchor, every, number, outside):
    ours = add(anchor, every * number, "month")
    outside(ours.toordinal(), (anchor + relativedelta(months=every * number)).toordinal())


@EXACT
@settings(
    cases(100),
    suppress_health_check=[HealthCheck.function_scoped_fixture],
)  # fmt: skip
@given(year=st.integers(2000, 2040), day=st.integers(28, 31), done=st.integers(0, 700))
def test_month_ends_are_the_last_of_28_to_31(year, day, done, outside):
    """A clamped day is the rule `the last of 28 to that day` of the standard."""
    anchor = dt.date(year, 1, day)
    text = f"FREQ=MONTHLY;BYMONTHDAY={','.join(str(n) for n in range(28, day + 1))};BYSETPOS=-1"
    expected = theirs(text, anchor, anchor + dt.timedelta(days=800))
    satisfied = max(there for there in expected if there <= anchor + dt.timedelta(days=done))
    rhythm = Rhythm("fixed", 1, "month", anchor=anchor)
    found = next_dates(rhythm, last_done=satisfied, last_occurrence=satisfied).due
    following = min(there for there in expected if there > satisfied)
    outside(found.toordinal(), following.toordinal())
    outside(occurrence_after(rhythm, satisfied).toordinal(), following.toordinal())


@EXACT
def test_months_without_that_day_are_skipped(outside):
    anchor = dt.date(2026, 1, 31)
    rhythm = Rhythm("fixed", 1, "month", anchor=anchor, month_end="skip")
    day = anchor - ONE_DAY
    for there in theirs("FREQ=MONTHLY", anchor, dt.date(2032, 1, 1)):
        day = occurrence_after(rhythm, day)
        outside(day.toordinal(), there.toordinal())
