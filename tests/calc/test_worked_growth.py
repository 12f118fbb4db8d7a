"""Worked examples of what lives in loops: growth, samples, light, yield and their trends."""

import itertools
import math

import pytest

from apps.calc import (
    growth,
    light,
    statistics,
)
from apps.calc.design.sizing import UPTAKE_N

FEED_G, PROTEIN = 315.0, 0.32  # of 9 kg of fish at 3.5 %, the loop of the examples


class TestGrowthRates:
    @pytest.mark.outside(
        source="tilapia of a raft farm, 79 to 814 g in 24 weeks: SGR 1.39 %/day", kind="computed",
        tolerance=0.003,
    )  # fmt: skip
    def test_specific_growth_rate(self, outside):
        outside(growth.sgr_percent_day(79, 813.8, 168), 1.39)

    @pytest.mark.outside(
        source="a forecast's feed of 26.1 kg for 17.4 kg of gain: 1.5", kind="computed",
        tolerance=1e-6,
    )  # fmt: skip
    def test_feed_conversion(self, outside):
        outside(growth.feed_conversion(26.1, 17.4), 1.5)

    @pytest.mark.outside(
        source="60 to 176 g in 56 days at 29 °C: TGC 1.04", kind="computed", tolerance=0.005
    )
    def test_thermal_growth(self, outside):
        outside(growth.tgc(60, 176, 29, 56), 1.04)

    @pytest.mark.parametrize("days", [0, -1])
    def test_rates_need_days(self, days):
        with pytest.raises(ValueError, match="days must be"):
            growth.sgr_percent_day(60, 70, days)

    def test_conversion_needs_a_gain(self):
        with pytest.raises(ValueError, match="gain_kg must be between"):
            growth.feed_conversion(10, 0)


class TestSample:
    @pytest.mark.outside(
        source="Student's t with finite correction, fish to weigh of 150", kind="computed",
        tolerance=0,
    )  # fmt: skip
    @pytest.mark.parametrize(
        ("cv", "within", "fish"),
        [(15, 10, 11), (20, 10, 17), (30, 10, 31), (15, 5, 31), (20, 5, 46), (30, 5, 74)],
    )
    def test_fish_to_weigh(self, cv, within, fish, outside):
        outside(growth.sample_size(150, cv, within), fish)

    @pytest.mark.outside(source="SciPy, stats.t.ppf", kind="computed", tolerance=1e-9)
    @pytest.mark.parametrize(("count", "cv"), [(40, 25), (150, 20), (5000, 35)])
    def test_one_fewer_is_too_few(self, count, cv, outside):
        from scipy import stats

        def half(n: int) -> float:
            return float(stats.t.ppf(0.975, n - 1) * cv / math.sqrt(n) * math.sqrt(1 - n / count))

        fewest = next(n for n in itertools.count(2) if half(n) <= 10)
        outside(growth.sample_size(count, cv, 10), fewest)

    @pytest.mark.parametrize(("count", "fish"), [(2, 2), (3, 3)])
    def test_all_fish_where_fewer_do_not_do(self, count, fish):
        assert growth.sample_size(count, 200, 0.5) == fish

    @pytest.mark.outside(
        source="Student's interval, 15 of 150 fish: half width 3.202 g", kind="computed",
        tolerance=2e-4,
    )  # fmt: skip
    def test_half_width(self, outside):
        weights = (52, 61, 58, 66, 49, 71, 55, 63, 60, 57, 68, 54, 62, 59, 65)
        found = growth.biomass(weights, 150)
        outside((found.kg_high - found.kg_low) / 2 / 0.150, 3.202)
        wide = growth.biomass(weights, 999_999)  # so many that the correction is nothing
        outside(1000 * wide.kg_low / 999_999, 56.625)
        outside(1000 * wide.kg_high / 999_999, 63.375)


class TestLight:
    @pytest.mark.outside(
        source="200 µmol/m2/s for 16 h: 11.52 mol", kind="computed", tolerance=1e-9
    )
    def test_sum_of_a_day(self, outside):
        outside(light.day_sum_mol_m2(200, 16), 11.52)

    @pytest.mark.outside(
        source="daily light, leafy 12-17, fruiting 20-30", kind="memory", tolerance=0
    )
    def test_bounds(self, outside):
        for group, bounds in (("leafy", (12, 17)), ("fruiting", (20, 30))):
            for ours, theirs in zip(light.WANTED[group], bounds, strict=True):
                outside(ours, theirs)

    @pytest.mark.parametrize(
        ("mol", "group", "verdict"),
        [(11.9, "leafy", "low"), (12, "leafy", "in range"), (17.1, "leafy", "high"),
         (19.9, "fruiting", "low"), (30, "fruiting", "in range"), (30.1, "fruiting", "high")],
    )  # fmt: skip
    def test_verdict_at_its_edges(self, mol, group, verdict):
        assert light.light_verdict(mol, group) == verdict

    def test_refuses_an_unknown_group(self):
        with pytest.raises(ValueError, match="crop_group must be one of leafy"):
            light.light_verdict(15, "roots")


class TestYield:
    @pytest.mark.outside(
        source="Rakocy and others: okra 13.37 kg/m2 a year; 10 % dry matter of 3 % nitrogen, a fifth "
        "of the plant's nitrogen in the pods (memory)",
        kind="read", tolerance=0.15,
    )  # fmt: skip
    def test_nitrogen_of_a_years_okra(self, outside):
        """What a fruiting bed takes by the sizing rule; stems and leaves hold the most of it."""
        outside(UPTAKE_N["fruiting"], 1000 * 13.37 * 0.10 * 0.03 / 365 / 0.2)


class TestMannKendall:
    @pytest.mark.outside(
        source="Mann-Kendall by the normal law with continuity, seven readings of pH: p 0.0355",
        kind="computed", tolerance=0.006, absolute=True,
    )  # fmt: skip
    def test_by_the_normal_law(self, outside):
        """The exact p of so few readings lies close to it."""
        values = [6.9, 6.85, 6.8, 7.9, 6.7, 6.66, 6.6]
        found = statistics.kendall(range(0, 49, 7), values)
        score = round(found.tau * 21)
        by_hand = math.erfc((abs(score) - 1) / math.sqrt(7 * 6 * 19 / 18) / math.sqrt(2))
        assert by_hand == pytest.approx(0.0355, abs=5e-5)
        outside(found.p, by_hand)

    @pytest.mark.outside(
        source="Mann-Kendall by the normal law with continuity, 40 readings", kind="computed",
        tolerance=0.02, absolute=True,
    )  # fmt: skip
    @pytest.mark.parametrize("every", [3, 7, 9, 11])
    def test_of_many_readings(self, every, outside):
        values = [(place * every) % 41 + place / 8 for place in range(40)]
        found = statistics.kendall(range(40), values)
        score = abs(round(found.tau * 780))
        by_hand = math.erfc((score - 1) / math.sqrt(40 * 39 * 85 / 18) / math.sqrt(2))
        outside(found.p, by_hand)
