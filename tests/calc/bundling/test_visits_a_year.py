"""Visits a year by how tasks are bundled: the table of the benchmark, on few starts."""

import pytest

from benchmarks.visits_a_year import EVERY, SELDOM, visits_a_year


@pytest.mark.parametrize(("every", "share"), [(EVERY, 0.2), (SELDOM, 0.1), (SELDOM, 0.2)])
def test_a_look_ahead_lies_between_the_bound_and_waiting(every, share):
    row = visits_a_year(every, share, starts=3)
    assert row.bound <= row.look_ahead <= row.as_late_as_may_be <= row.on_due_days


def test_a_fifth_of_tolerance_saves_four_visits_in_five():
    """Without the tasks that clients do: about 60 visits on due days, about 11 with a look ahead."""
    row = visits_a_year(SELDOM, 0.2, starts=6)
    assert row.on_due_days == pytest.approx(60, abs=4)
    assert row.look_ahead == pytest.approx(11, abs=1)
    assert row.look_ahead < row.bound * 1.1


def test_without_tolerance_nothing_is_saved():
    row = visits_a_year(SELDOM, 0.0, starts=2)
    assert row.look_ahead <= row.on_due_days <= row.look_ahead + 3
