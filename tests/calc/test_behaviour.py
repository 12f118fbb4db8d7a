"""Trend by ranks against a reference library, and what is said of a series of readings."""

import random

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from apps.calc.behaviour import behaviour, score_behaviour
from apps.calc.control import control_limits
from apps.calc.statistics import kendall
from tests.effort import cases

WEEKS = [float(day) for day in range(0, 140, 7)]
NIST = [49.6, 47.6, 49.9, 51.3, 47.8, 51.2, 52.6, 52.4, 53.6, 52.1]


class TestKendall:
    @pytest.mark.outside(
        source="SciPy's kendalltau, exact, on seven readings of pH", kind="computed", tolerance=1e-9
    )
    def test_seven_readings_exactly(self, outside):
        values = [6.9, 6.85, 6.8, 7.9, 6.7, 6.66, 6.6]
        found, other = kendall(WEEKS[:7], values), stats.kendalltau(WEEKS[:7], values)
        outside(found.tau, other.statistic)
        outside(found.p, other.pvalue)

    @given(st.lists(st.integers(0, 1000), min_size=3, max_size=33, unique=True))
    @cases(60)
    def test_exact_without_ties(self, values):
        found = kendall(range(len(values)), values)
        other = stats.kendalltau(range(len(values)), values, method="exact")
        assert found.tau == pytest.approx(other.statistic)
        assert found.p == pytest.approx(other.pvalue)

    @given(st.lists(st.tuples(st.integers(0, 9), st.integers(0, 4)), min_size=3, max_size=60))
    @cases(60)
    def test_with_ties(self, rows):
        times, values = zip(*rows, strict=True)
        if len(set(times)) == 1 or len(set(values)) == 1:
            assert kendall(times, values).p == 1.0
            return
        if len(set(times)) == len(times) and len(set(values)) == len(values):
            return
        found = kendall(times, values)
        other = stats.kendalltau(times, values, method="asymptotic")
        assert found.tau == pytest.approx(other.statistic)
        assert found.p == pytest.approx(other.pvalue, abs=1e-12)

    def test_one_reading_has_no_trend_to_test(self):
        with pytest.raises(ValueError, match="at least two"):
            kendall([1.0], [7.0])

    @pytest.mark.parametrize("steps", [1, 4])
    def test_false_alarms_are_as_rare_as_said(self, steps):
        seed = random.Random(steps)
        false = sum(
            kendall(range(12), [round(seed.gauss(0, 1) * 4 / steps) for _ in range(12)]).p < 0.05
            for _ in range(600)
        )
        assert false / 600 < 0.075


class TestBehaviour:
    def test_a_fall_is_a_trend_and_has_no_limits(self):
        found = behaviour(WEEKS[:8], [60, 57, 55, 52, 49, 46, 43, 40], 1)
        assert found.slope == pytest.approx(-3 / 7)
        assert found.usual is None

    def test_a_fall_within_one_step_of_the_kit_is_none(self):
        assert behaviour(WEEKS[:6], [6.9, 6.9, 6.88, 6.87, 6.86, 6.85], 0.5).slope == 0.0

    def test_four_readings_say_nothing(self):
        found = behaviour(WEEKS[:4], [60, 50, 40, 30], 1)
        assert (found.slope, found.usual) == (0.0, None)

    def test_one_bad_reading_turns_nothing_and_is_named(self):
        values = [6.9, 6.85, 6.8, 6.75, 6.7, 7.9, 6.6, 6.55]
        found = behaviour(WEEKS[:8], values, 0.01)
        assert found.apart == (5,)
        assert found.slope * 7 == pytest.approx(-0.05)

    def test_what_is_usual_is_what_the_earlier_readings_allow(self):
        found = behaviour(WEEKS[:11], [*NIST, 50.0], 0.1)
        allowed = control_limits(NIST)
        assert found.usual is not None
        assert (found.usual.low, found.usual.high) == (allowed.low, allowed.high)
        assert found.last_outside == 0

    def test_the_last_reading_outside_what_is_usual(self):
        values = [50, 52, 49, 51, 50, 48, 51, 50, 52, 57.2]
        found = behaviour(WEEKS[:10], values, 0.1)
        assert (found.last_outside, found.apart) == (1, ())
        down = [100 - value for value in values]
        assert behaviour(WEEKS[:10], down, 0.1).last_outside == -1

    def test_kit_steps_alone_are_not_unusual(self):
        found = behaviour(WEEKS[:12], [0, 0, 0, 0.25, 0, 0, 0, 0, 0, 0, 0, 0.25], 0.25)
        assert (found.last_outside, found.drift) == (0, 0)

    def test_a_shift_of_the_last_five_is_a_drift(self):
        steady = [50, 51, 50.4, 49.6, 50.2, 49, 49.8, 50.9, 50.1, 49.5, 50.6, 49.9, 50.3, 49.4]
        found = behaviour(WEEKS[:19], [*steady, 51.4, 51.2, 51.6, 51.3, 51.5], 0.1)
        assert (found.slope, found.last_outside, found.drift) == (0.0, 0, 1)
        assert found.usual == control_limits(steady)
        assert behaviour(WEEKS[:14], steady, 0.1).drift == 0

    def test_a_long_fall_is_no_shift(self):
        found = behaviour(WEEKS[:20], [80 - 2 * week + week % 3 for week in range(20)], 1)
        assert (found.drift, found.slope < 0) == (0, True)

    def test_a_meter_that_shows_the_same_five_times_may_be_stuck(self):
        values = [6.9, 7.02, 6.97, 7.0, 7.0, 7.0, 7.0, 7.0]
        assert behaviour(WEEKS[:8], values, 0.01, meter=True).stuck
        assert not behaviour(WEEKS[:8], values, 0.01).stuck

    def test_two_readings_of_one_day_and_none_at_all(self):
        assert behaviour([], [], 1).count == 0
        assert behaviour([3.0, 3.0], [1, 2], 1).count == 2

    def test_fish_that_grow_stand_apart_nowhere(self):
        weights = [20, 26, 34, 44, 57, 74, 96, 125, 162, 205, 250, 302]
        assert behaviour(WEEKS[:12], weights, 1).apart == ()
        # one misread in the middle, and one at the end, are named all the same
        slip = [*weights[:6], 9.6, *weights[7:]]
        assert behaviour(WEEKS[:12], slip, 1).apart == (6,)
        assert behaviour(WEEKS[:12], [*weights[:11], 1302], 1).apart == (11,)
        assert behaviour(WEEKS[:12], [*weights[:11], 30.2], 1).apart == (11,)

    def test_salts_that_gather_and_level_off_stand_apart_nowhere(self):
        ec = [0.4, 0.85, 1.2, 1.42, 1.5, 1.53, 1.55, 1.56, 1.57, 1.57, 1.58, 1.58]
        assert behaviour(WEEKS[:12], ec, 0.01).apart == ()

    def test_two_slips_beside_each_other_do_not_hide_each_other(self):
        values = [100, 96, 91, 300, 310, 82, 78, 74, 70, 66]
        assert behaviour(WEEKS[:10], values, 1).apart == (3, 4)

    def test_a_score_has_an_order_and_no_pace(self):
        down = score_behaviour(WEEKS[:8], [3, 3, 3, 2, 2, 2, 1, 1])
        assert (down.leads, down.slope, down.usual, down.apart) == (-1, 0.0, None, ())
        assert score_behaviour(WEEKS[:8], [3, 2, 3, 3, 2, 3, 2, 3]).leads == 0
        assert score_behaviour(WEEKS[:4], [3, 2, 1, 0]).leads == 0
