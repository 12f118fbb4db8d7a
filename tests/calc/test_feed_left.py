"""How long feed lasts: worked by hand, held at its edges, and against a walk through single days."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from apps.calc.feed_left import LONGEST_DAYS, MOST_G, Fed, Lasts, feed_lasts, is_odd


def test_worked_by_hand() -> None:
    """1,200 g; three days written down with 50, 40, 0 g, two away at 20 g, then 60 g a day.

    1200 - 90 - 40 = 1070; 1070 / 60 = 17.8, so 5 + 17 days. A fifth more: 1200 - 90 - 48 = 1062,
    over 72 is 14.75: 5 + 14. A fifth less: 1200 - 90 - 32 = 1078, over 48 is 22.5: 5 + 22.
    """
    first = [Fed(50, noted=True), Fed(40, noted=True), Fed(0, noted=True), Fed(20), Fed(20)]
    assert feed_lasts(1200, first, 60) == Lasts(days=22, soonest=19, latest=27)


def test_it_ends_within_the_days_that_are_known() -> None:
    """100 g, 40 g a day: two days whole, and none for the third."""
    assert feed_lasts(100, [Fed(40, noted=True)] * 3, 0) == Lasts(2, 2, 2)
    assert feed_lasts(39.9, [Fed(40, noted=True)], 40) == Lasts(0, 0, 0)
    assert feed_lasts(0, [], 40) == Lasts(0, 0, 0)


def test_a_sum_that_comes_out_even_counts_its_last_day() -> None:
    assert feed_lasts(0.3, [], 0.1) == Lasts(3, 2, 3)


def test_without_an_end_there_is_no_day() -> None:
    assert feed_lasts(1000, [], 0) is None
    assert feed_lasts(1000, [Fed(10)] * 5, 0) is None
    assert feed_lasts(LONGEST_DAYS + 1, [], 1) is None
    assert feed_lasts(LONGEST_DAYS, [], 1) == Lasts(730, 608, 730), "later than any feed keeps"


@pytest.mark.parametrize("amount", [-1.0, math.nan, math.inf, MOST_G + 1])
def test_an_amount_that_cannot_be_is_refused(amount: float) -> None:
    for act in (lambda: feed_lasts(amount, [], 40), lambda: is_odd(amount, 40)):
        with pytest.raises(ValueError, match="amount_g"):
            act()
    with pytest.raises(ValueError, match="after_g_day"):
        feed_lasts(1, [], -1)
    with pytest.raises(ValueError, match="first"):
        feed_lasts(1, [Fed(math.nan)], 1)


@given(
    st.integers(0, 20_000), st.lists(st.tuples(st.integers(0, 200), st.booleans()), max_size=50),
    st.integers(1, 200),
)  # fmt: skip
def test_the_same_as_a_scoop_a_day(amount: int, days: list[tuple[int, bool]], after: int) -> None:
    """In whole grams, the jar emptied day by day."""
    first = [Fed(float(grams), noted) for grams, noted in days]
    left, number = amount, 0
    while (given_ := days[number][0] if number < len(days) else after) <= left:
        left, number = left - given_, number + 1
        if number > LONGEST_DAYS:
            break
    found = feed_lasts(float(amount), first, float(after))
    if number > LONGEST_DAYS:
        assert found is None
    else:
        assert found is not None
        assert found.days == number
        assert found.soonest <= found.days <= found.latest


@pytest.mark.parametrize(
    ("grams", "a_day", "odd"),
    [(0, 40, False), (19, 40, True), (20, 40, False), (14640, 40, False), (14641, 40, True),
     (50_000, None, False), (50_001, None, True), (50_001, 0, True)],
)  # fmt: skip
def test_what_is_looked_at_twice(grams: float, a_day: float | None, odd: bool) -> None:
    assert is_odd(grams, a_day) is odd
