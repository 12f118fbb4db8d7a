"""Days off move a visit, never the day that a rule has named."""

import datetime as dt

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from apps.calc.rhythm import Rhythm, upcoming
from apps.calc.workdays import free_weekdays, is_open, open_days, shift
from tests.effort import cases

CHRISTMAS = dt.date(2026, 12, 25)
WEEKEND = free_weekdays(5, 6)
HOLIDAYS = frozenset({CHRISTMAS, dt.date(2026, 12, 26), dt.date(2027, 1, 1)})
days_ = st.dates(dt.date(2026, 1, 1), dt.date(2027, 12, 31))


def test_sets_and_predicates_go_together():
    assert not is_open(CHRISTMAS, HOLIDAYS, WEEKEND)
    assert not is_open(dt.date(2026, 12, 27), HOLIDAYS, WEEKEND)
    assert is_open(dt.date(2026, 12, 28), HOLIDAYS, WEEKEND)
    assert is_open(CHRISTMAS)


def test_keep_leaves_the_day():
    assert shift(CHRISTMAS, HOLIDAYS, "keep") == CHRISTMAS


@pytest.mark.parametrize(
    ("way", "earliest", "latest", "expected"),
    [
        ("next", None, None, dt.date(2026, 12, 28)),
        ("previous", None, None, dt.date(2026, 12, 24)),
        ("next", None, dt.date(2026, 12, 27), dt.date(2026, 12, 24)),
        ("previous", CHRISTMAS, None, dt.date(2026, 12, 28)),
        ("next", CHRISTMAS, dt.date(2026, 12, 27), None),
    ],
)
def test_goes_the_other_way_where_the_window_ends(way, earliest, latest, expected):
    found = shift(CHRISTMAS, (HOLIDAYS, WEEKEND), way, earliest=earliest, latest=latest)
    assert found == expected


def test_closed_for_good_gives_no_day():
    assert shift(CHRISTMAS, lambda _day: True, "next") is None
    assert shift(CHRISTMAS, lambda _day: True, "previous", latest=CHRISTMAS) is None


def test_other_words_and_weekdays_are_refused():
    with pytest.raises(ValueError, match="'later' must be one of keep, next, previous"):
        shift(CHRISTMAS, HOLIDAYS, "later")
    with pytest.raises(ValueError, match="weekday 7"):
        free_weekdays(7)


@pytest.mark.outside(
    source="NumPy, busday_offset with its rolls", kind="computed", tolerance=0, absolute=True
)
@settings(cases(150), suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(day=days_, holidays=st.sets(days_, max_size=40))
def test_the_next_and_the_last_working_day(day, holidays, outside):
    for way, roll in (("next", "forward"), ("previous", "backward")):
        theirs = np.busday_offset(day, 0, roll=roll, holidays=sorted(holidays)).astype(dt.date)
        found = shift(day, (frozenset(holidays), WEEKEND), way)
        outside(found.toordinal(), theirs.toordinal())


@pytest.mark.outside(
    source="NumPy, busday_count", kind="computed", tolerance=0, absolute=True
)  # fmt: skip
@settings(cases(60), suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(first=days_, span=st.integers(0, 200), holidays=st.sets(days_, max_size=40))
def test_open_days(first, span, holidays, outside):
    last = first + dt.timedelta(days=span)
    end = last + dt.timedelta(days=1)
    theirs = np.busday_count(first, end, holidays=sorted(holidays))
    outside(len(open_days(first, last, frozenset(holidays), WEEKEND)), int(theirs))


def test_the_rule_keeps_its_phase_over_holidays():
    """Visits shift; the days that the rule names do not move with them."""
    rule = Rhythm("fixed", 1, "month", anchor=dt.date(2026, 11, 25))
    named = [found.due for found in upcoming(rule, count=3)]
    visits = [shift(day, (HOLIDAYS, WEEKEND), "next") for day in named]
    assert visits == [dt.date(2026, 11, 25), dt.date(2026, 12, 28), dt.date(2027, 1, 25)]
    assert named == [dt.date(2026, 11, 25), CHRISTMAS, dt.date(2027, 1, 25)]
