"""Which forecast goes where: by horizon, blended between, leaning on what others taught."""

import itertools

import pytest

from apps.ahead.codec import fan_read, outlook_kept, record_kept, record_read
from apps.ahead.engine.placing import earned_places
from apps.calc.ahead import baselines, earned, summary
from apps.calc.ahead.outlook import METHODS, Outlook
from apps.calc.ahead.pooling import pooled, sums_of
from apps.calc.ahead.scores import Score
from tests.ahead.loops import facts, seen

FLAT = {"no3": {h: {"balance": 0.6, "trend": 1.2, "steady": 1.0} for h in earned.HORIZONS}}
MIXED = {
    "no3": {
        3: {"balance": 1.4, "trend": 1.6, "steady": 1.0},
        7: {"balance": 1.2, "trend": 1.6, "steady": 1.0},
        14: {"balance": 0.7, "trend": 1.6, "steady": 1.0},
        28: {"balance": 0.5, "trend": 1.6, "steady": 1.0},
    }
}
TURNED = ("steady", "steady", "balance", "balance")


def of(count: int, **errors: float) -> dict[str, Score]:
    return {name: Score(count, error * count, 0.75 * count) for name, error in errors.items()}


class TestChoice:
    def test_a_new_loop_leans_on_others(self):
        assert earned.best("no3", {}, FLAT) == ("balance",) * 4
        assert earned.best("no3", {}, MIXED) == TURNED

    def test_a_long_record_of_its_own_outweighs_them(self):
        own = {h: of(300, balance=2.0, trend=1.3, steady=1.0) for h in earned.HORIZONS}
        assert earned.best("no3", own, FLAT) == ("steady",) * 4

    def test_a_record_at_one_horizon_turns_that_one(self):
        own = {3: of(30, balance=9.0, trend=9.0, steady=4.0)}
        found = earned.best("no3", own, FLAT)
        assert found[0] == "steady"
        assert found[3] == "balance"

    def test_a_reading_tells_less_of_other_horizons(self):
        own = {3: of(20, balance=8.0, steady=4.0)}
        found = [earned.ratios("no3", h, own, FLAT)["balance"] for h in earned.HORIZONS]
        assert found == sorted(found, reverse=True)
        # twenty of its own against the twenty that others count for, at the same horizon
        assert found[0] == pytest.approx((0.6 + (8 + 0.2) / (4 + 0.2)) / 2, abs=0.01)

    def test_nothing_takes_over_for_a_trifle(self):
        close = {
            "no3": {h: {"balance": 1.0 - 0.01 * (h > 7), "steady": 1.0 - 0.01 * (h <= 7)}
                    for h in earned.HORIZONS}
        }  # fmt: skip
        assert len(set(earned.best("no3", {}, close, ("balance", "steady")))) == 1

    def test_nothing_known_at_all(self):
        assert earned.best("secchi", {}, FLAT) == ("steady",) * 4

    def test_one_lucky_reading_of_the_last_is_no_ratio_of_millions(self):
        own = {7: of(1, balance=50.0, steady=0.0)}
        assert earned.ratios("no3", 7, own, FLAT)["balance"] < 0.9

    def test_hit_rate_is_that_of_what_is_shown_at_each_horizon(self):
        own = {
            3: {"steady": Score(4, 1.0, 4.0), "balance": Score(4, 1.0, 0.0)},
            28: {"steady": Score(6, 1.0, 0.0), "balance": Score(6, 1.0, 3.0)},
        }
        assert earned.stated(own, TURNED) == (0.7, 10)
        assert earned.stated({3: own[3]}, TURNED) == (None, 4)
        assert earned.stated({}, TURNED) == (None, 0)

    @pytest.mark.parametrize(
        ("day", "horizon"), [(0.2, 3), (3.5, 3), (5, 7), (9, 7), (11, 14), (21, 28), (28, 28)]
    )
    def test_each_reading_tells_of_the_nearest(self, day, horizon):
        assert earned.horizon_of(day) == horizon


class TestBlend:
    def test_weights_add_up_and_never_jump(self):
        before = None
        for step in range(430):
            shares = earned.weights(("trend", "steady", "balance", "balance"), step / 10)
            assert sum(shares.values()) == pytest.approx(1.0)
            if before is not None:
                for method in METHODS:
                    assert abs(shares.get(method, 0) - before.get(method, 0)) < 0.03
            before = shares

    def test_at_the_horizons_it_is_what_was_chosen(self):
        bands = {"steady": [(1.0, 2.0, 3.0)] * 5, "balance": [(5.0, 7.0, 9.0)] * 5}
        found = earned.blended(TURNED, [0, 3, 7, 14, 42], bands)
        assert found == [(1.0, 2.0, 3.0)] * 3 + [(5.0, 7.0, 9.0)] * 2
        (half,) = earned.blended(TURNED, [10.5], bands)
        assert half == (3.0, 4.5, 6.0)

    def test_which_one_it_is_for_most_of_the_days(self):
        assert earned.main_of(TURNED) == "balance"
        assert earned.main_of(("steady", "steady", "steady", "balance")) == "steady"
        assert earned.turns_of(("trend",) * 4) == ((0.0, "trend"),)


class TestPlaced:
    """A balance that rises by 2 mg/L a day beside a last reading of 40 mg/L."""

    DAYS = tuple(float(day) for day in range(43))
    WATER = [(38.0 + 2 * day, 40.0 + 2 * day, 42.0 + 2 * day) for day in DAYS]

    def placed(self, ratios, limit=80.0):
        observed = tuple(seen(float(day), "no3", 40.0, 1.0) for day in (-15, -8, -1))
        fan = summary.fan("no3", self.DAYS, tuple(zip(*self.WATER, strict=True)))
        dates = [21.0, 20.0, 19.0]
        made = Outlook((fan,), (summary.crossing("no3", "above", limit, dates),), (), ())
        return earned_places(facts(observed=observed), made, {}, ratios, {"no3": self.WATER})

    def test_the_fan_goes_from_one_to_the_other_without_a_jump(self):
        (fan,) = self.placed(MIXED).fans
        assert fan.method == "balance"
        assert fan.turns == ((0.0, "steady"), (7.0, "balance"))
        assert fan.middle[:8] == (40.0,) * 8
        assert fan.middle[14:] == tuple(40.0 + 2 * day for day in range(14, 43))
        for part in (fan.low, fan.middle, fan.high):
            steps = [abs(b - a) for a, b in itertools.pairwise(part)]
            assert max(steps) < 7
        for low, middle, high in zip(fan.low, fan.middle, fan.high, strict=True):
            assert low <= middle <= high

    def test_one_alone_has_no_turns(self):
        (fan,) = self.placed(FLAT).fans
        assert (fan.method, fan.turns) == ("balance", ())

    def test_a_limit_is_passed_where_the_blended_line_passes_it(self):
        (one,) = self.placed(MIXED).crossings
        assert one.middle == pytest.approx(20.0)
        assert one.soonest == pytest.approx(19.0)
        (early,) = self.placed(MIXED, limit=54.0).crossings
        # the balance alone would pass 54 on day 7, where the last reading still stands
        assert 7 < early.middle < 14

    def test_a_crossing_is_that_of_the_water_not_of_the_kit(self):
        (one,) = self.placed(MIXED, limit=46.0).crossings
        readings = [seen(float(day), "no3", 40.0, 1.0) for day in (-15, -8, -1)]
        bands = {
            "steady": baselines.steady("no3", readings, self.DAYS, of_water=True),
            "balance": self.WATER,
        }
        water = earned.blended(TURNED, self.DAYS, bands)
        assert one == baselines.passing("no3", "above", 46.0, water)
        kit = baselines.steady("no3", readings, self.DAYS)
        assert kit[3][2] > bands["steady"][3][2]

    def test_it_survives_its_json(self):
        made = self.placed(MIXED)
        kept = outlook_kept(made)["fans"][0]
        assert fan_read(kept).turns == made.fans[0].turns
        old = {name: value for name, value in kept.items() if name != "turns"}
        assert fan_read(old).turns == ()


class TestPooled:
    LOOP = {"no3": {7: of(50, balance=1.0, trend=4.0, steady=2.0)}}

    def test_the_firm_and_the_invented_loops_by_their_readings(self):
        found = pooled(sums_of([self.LOOP, self.LOOP]), {}, FLAT)
        ratio = (1 + 0.2) / (2 + 0.2)
        assert found["no3"][7]["balance"] == pytest.approx((100 * ratio + 1000 * 0.6) / 1100)
        assert found["no3"][7]["steady"] == 1.0
        # what the firm has not seen stays as it was
        assert found["no3"][28]["balance"] == pytest.approx(0.6)

    def test_a_loop_is_not_counted_twice(self):
        other = {"no3": {7: of(30, balance=6.0, trend=4.0, steady=2.0)}}
        found = pooled(sums_of([self.LOOP, other]), sums_of([self.LOOP]), FLAT)
        alone = pooled(sums_of([other]), {}, FLAT)
        for method in METHODS:
            assert found["no3"][7][method] == pytest.approx(alone["no3"][7][method])

    def test_however_much_it_has_read_a_firm_counts_for_a_third(self):
        many = {"no3": {7: of(50_000, balance=1.0, trend=4.0, steady=2.0)}}
        found = pooled(sums_of([many]), {}, FLAT)["no3"][7]["balance"]
        assert found == pytest.approx((1.2 / 2.2 + 2 * 0.6) / 3)

    def test_many_loops_turn_what_the_invented_ones_say(self):
        firm = [{"no3": {h: of(60, balance=3.0, trend=3.0, steady=1.0) for h in earned.HORIZONS}}]
        assert earned.best("no3", {}, pooled(sums_of(firm * 8), {}, FLAT)) == ("steady",) * 4

    def test_a_record_survives_its_json(self):
        assert record_read(record_kept(self.LOOP)) == self.LOOP
        assert record_read({}) == {}
