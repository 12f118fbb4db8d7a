"""The last reading and the trend: ranges that hold, and a choice that follows the record."""

import math
import random

import pytest

from apps.calc.ahead import baselines
from apps.calc.ahead.facts import Observed
from apps.calc.ahead.scores import score, share_inside
from tests.ahead.loops import seen


def series(values, step=0.01, measurand="no3", every=7):
    last = every * (len(values) - 1)
    return [seen(float(every * n - last), measurand, v, step) for n, v in enumerate(values)]


class TestSteady:
    def test_carries_the_last_reading_on(self):
        bands = baselines.steady("no3", series([40, 44, 41]), [0, 7, 28])
        assert [middle for _, middle, _ in bands] == [41, 41, 41]
        widths = [high - low for low, _, high in bands]
        assert widths == sorted(widths)
        assert widths[0] > 0

    def test_never_below_zero(self):
        low, _, _ = baselines.steady("tan", [seen(0, "tan", 0.0, 0.25)], [42])[0]
        assert low == 0

    def test_a_restless_loop_gets_a_wider_range(self):
        calm = baselines.steady("no3", series([40, 40, 40, 40, 40]), [14])[0]
        restless = baselines.steady("no3", series([40, 60, 30, 65, 40]), [14])[0]
        assert restless[2] - restless[0] > calm[2] - calm[0]

    def test_covers_about_four_in_five_of_a_random_walk(self):
        rng, held = random.Random(3), 0
        for _ in range(400):
            path = [50.0]
            for _ in range(12):
                path.append(path[-1] + rng.gauss(0, 7.5))
            readings = series([p + rng.gauss(0, 4.0) for p in path[:9]])
            low, _, high = baselines.steady("no3", readings, [28])[0]
            held += low <= path[12] + rng.gauss(0, 4.0) <= high
        assert 0.72 <= held / 400 <= 0.9


class TestTrend:
    def test_follows_the_line_and_ignores_one_slip(self):
        values = [20, 24, 28, 32, 36, 120, 44, 48]
        middle = baselines.trend("no3", series(values), [7])[0][1]
        assert middle == pytest.approx(52, abs=1)

    def test_needs_four_readings(self):
        assert baselines.trend("no3", series([20, 24, 28]), [7]) is None

    def test_is_held_beyond_twice_the_record(self):
        values = [20, 24, 28, 32]
        bands = baselines.trend("no3", series(values), [21, 42, 100])
        assert bands[0][1] == bands[1][1] == bands[2][1] == pytest.approx(44)


class TestCrossing:
    def test_of_a_trend_has_dates_in_order(self):
        found = baselines.crossing("trend", "above", 60, series([20, 25, 29, 36, 40, 44, 51]), 42)
        assert found.soonest <= found.middle <= found.latest
        assert found.middle == pytest.approx(14, abs=4)

    def test_of_what_lasts_is_not_in_sight(self):
        found = baselines.crossing("steady", "above", 200, series([40, 41, 40, 41]), 42)
        assert (found.soonest, found.middle, found.latest) == (None, None, None)

    def test_of_what_lies_past_is_today(self):
        found = baselines.crossing("steady", "below", 40, series([20, 20, 20]), 42)
        assert found.middle == 0


class TestScores:
    @pytest.mark.parametrize(
        ("low", "high", "share"), [(0, 10, 1.0), (3, 10, 0.5), (5, 10, 0.0), (0, 3, 0.5)]
    )
    def test_share_of_an_interval(self, low, high, share):
        assert share_inside(low, high, Observed(1, "tan", 3, 2, 4)) == share

    def test_the_end_of_a_scale(self):
        over = Observed(1, "no3", 90, 63, math.inf)
        assert share_inside(10, 62, over) == 0
        assert share_inside(10, 64, over) == 1
        assert score(10, 200, 300, over).error == 0

    def test_error_is_how_far_off_the_interval(self):
        assert score(0, 5, 9, Observed(1, "tan", 3, 2, 4)).error == 1
        assert score(0, 3.5, 9, Observed(1, "tan", 3, 2, 4)).error == 0
