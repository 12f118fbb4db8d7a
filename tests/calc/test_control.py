"""Limits, drift, outliers and arrivals against published examples."""

import random

import pytest
from scipy import stats

from apps.calc import control
from apps.calc.statistics import hampel_outliers, theil_sen

NIST = [49.6, 47.6, 49.9, 51.3, 47.8, 51.2, 52.6, 52.4, 53.6, 52.1]
DIAMETERS = [
    24.05, 23.99, 23.95, 23.93, 23.97, 24.02, 24.06, 24.10, 23.98, 24.03, 23.91, 24.06, 24.06,
    23.96, 23.98, 24.06, 24.01, 24.00, 23.93, 23.92, 24.09, 24.11, 24.05, 23.98, 23.98, 24.06,
    24.02, 24.06, 23.97, 23.96,
]  # fmt: skip
URANIUM = [199.31, 199.53, 200.19, 200.82, 201.92, 201.95, 202.18, 245.57]
WEEKS = [0, 7, 14, 21, 28, 35, 42]


class TestLimits:
    @pytest.mark.outside(
        source="NIST/SEMATECH e-Handbook, 6.3.2.2, individuals", kind="memory", tolerance=2e-5
    )
    def test_flow_rates(self, outside):
        found = control.control_limits(NIST)
        outside(found.centre, 50.81)
        outside(found.moving_range, 1.8778)
        outside(found.high, 55.8041)
        outside(found.low, 45.8159)

    @pytest.mark.outside(
        source="30 diameters of a quality-control manual's example", kind="read", tolerance=5e-5
    )
    def test_diameters(self, outside):
        found = control.control_limits(DIAMETERS)
        outside(found.centre, 24.0083)
        outside(found.moving_range, 0.056897)
        outside(found.low, 23.8571)
        outside(found.high, 24.1596)
        outside(found.range_high, 0.18585)

    def test_one_reading_has_none(self):
        with pytest.raises(ValueError, match="at least 2 readings are needed, not 1"):
            control.control_limits([7.0])


class TestDrift:
    @pytest.mark.outside(source="NIST/SEMATECH e-Handbook, 6.3.2.4", kind="memory", tolerance=1e-5)
    def test_limits(self, outside):
        low, high = control.ewma_limits(50, 2.0539)
        outside(low, 47.4115)
        outside(high, 52.5884)

    @pytest.mark.outside(
        source="NIST/SEMATECH e-Handbook, 6.3.2.4: means of the first readings", kind="memory",
        tolerance=2e-4,
    )  # fmt: skip
    def test_means(self, outside):
        values = [52.0, 47.0, 53.0, 49.3, 50.1, 47.0]
        for got, expected in zip(
            control.ewma(values, 50.0), [50.60, 49.52, 50.56, 50.18, 50.16, 49.21], strict=True
        ):
            outside(got, expected)

    def test_a_weight_of_nothing_is_refused(self):
        with pytest.raises(ValueError, match="weight must be between"):
            control.ewma([1.0], 1.0, weight=0.0)


class TestBadSingleReadings:
    @pytest.mark.outside(
        source="NIST/SEMATECH e-Handbook, 1.3.5.17.1, Grubbs", kind="memory", tolerance=2e-4
    )
    def test_grubbs(self, outside):
        found = control.grubbs_highest(URANIUM)
        outside(found.distance, 2.4687)
        outside(found.critical, 2.032)
        assert found.outlies
        assert found.place == 7

    def test_hampel_flags_the_same(self):
        assert hampel_outliers(URANIUM) == (7,)

    def test_readings_all_alike(self):
        with pytest.raises(ValueError, match="must differ"):
            control.grubbs_highest([7.0, 7.0, 7.0])

    @pytest.mark.parametrize(
        ("values", "expected"),
        [
            ([7.0] * 5, True),
            ([6.9] + [7.0] * 5, True),
            ([7.0] * 4, False),
            ([7.0, 7.0, 7.1, 7.0, 7.0], False),
        ],
    )
    def test_a_stuck_probe(self, values, expected):
        assert control.stuck(values) is expected

    def test_trend_in_spite_of_a_bad_last_reading(self):
        values = [6.90, 6.85, 6.80, 6.75, 6.70, 6.65, 7.60]
        assert theil_sen(WEEKS, values)[0] == pytest.approx(-0.05 / 7)
        assert stats.linregress(WEEKS, values).slope > 0  # least squares has the wrong sign


class TestTimeToLevel:
    VALUES = [60, 55, 52, 46, 41, 37, 33]

    @pytest.mark.outside(
        source="SciPy: ends of the confidence band of linregress, by root finding",
        kind="computed", tolerance=1e-6,
    )  # fmt: skip
    def test_against_the_band(self, outside):
        from scipy.optimize import brentq

        line = stats.linregress(WEEKS, self.VALUES)
        count, centre = 7, 21.0
        spread = sum((t - centre) ** 2 for t in WEEKS)
        rest = sum(
            (v - line.intercept - line.slope * t) ** 2
            for t, v in zip(WEEKS, self.VALUES, strict=True)
        )
        t90 = stats.t.ppf(0.9, count - 2)

        def edge(at, side):
            half = t90 * (rest / 5 * (1 / count + (at - centre) ** 2 / spread)) ** 0.5
            return line.intercept + line.slope * at + side * half - 20

        found = control.time_to_level(WEEKS, self.VALUES, 20)
        outside(found.middle, (20 - line.intercept) / line.slope - 42)
        outside(found.soonest, brentq(edge, 42, 80, args=(-1,)) - 42)
        outside(found.latest, brentq(edge, 42, 80, args=(1,)) - 42)

    def test_a_line_that_moves_away_never_arrives(self):
        assert control.time_to_level(WEEKS, self.VALUES, 90) == control.Arrival(None, None, None)

    def test_a_flat_line_may_never_arrive(self):
        found = control.time_to_level(WEEKS, [7.0, 7.1, 6.9, 7.0, 7.1, 6.9, 7.0], 6.0)
        assert found.latest is None

    @pytest.mark.outside(
        source="nominal coverage of an 80 % interval, 400 lines of ten readings", kind="computed",
        tolerance=0.05, absolute=True,
    )  # fmt: skip
    def test_covers_four_in_five(self, outside):
        rng = random.Random(5)
        times, held = [7.0 * n for n in range(10)], 0
        for _ in range(400):
            values = [60 - 0.5 * t + rng.gauss(0, 3) for t in times]
            found = control.time_to_level(times, values, 20)
            exact = 80 - 63
            held += (found.soonest or 0) <= exact <= (found.latest or 1e9)
        outside(held / 400, 0.8)
