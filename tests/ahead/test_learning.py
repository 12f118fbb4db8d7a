"""What readings teach: figures that are known are found again, slips do not turn a loop."""

from dataclasses import replace

import numpy as np
import pytest

from apps.ahead.engine.arrays import ARRAYS, params_side_by_side
from apps.ahead.engine.learning import learn
from apps.calc.ahead.members import params_of
from apps.calc.ahead.priors import BELIEFS
from tests.ahead.loops import facts, read_from, seen


def fitted(one, name):
    """Median of a parameter, spread of its logarithm, and the middle of the belief."""
    learnt = learn([one])
    params = params_of(ARRAYS, params_side_by_side(learnt.middles), learnt.deviations)
    values = np.log(getattr(params, name)[0])
    before = float(getattr(learnt.middles[0], name))
    return float(np.exp(np.median(values))), float(np.std(values)), before


class TestFindsKnownFigures:
    @pytest.mark.parametrize(
        ("name", "times"),
        [
            ("first", 0.5),
            ("first", 2.0),
            ("second", 0.5),
            ("second", 2.0),
            ("uptake", 2.5),
            ("aeration", 0.6),
            ("aeration", 1.8),
            ("stripping", 2.0),
        ],
    )
    def test_near_and_surer_than_before(self, name, times):
        one, true = read_from({name: times})
        middle, spread, before = fitted(one, name)
        off = abs(np.log(middle / getattr(true, name)))
        assert spread < BELIEFS[name].spread
        assert off < 0.9 * abs(np.log(before / getattr(true, name)))
        assert off < 2 * spread

    def test_the_unwritten_base(self):
        one, true = read_from({"base": 1.3}, keep=0.0)
        learnt = learn([one])
        params = params_of(ARRAYS, params_side_by_side(learnt.middles), learnt.deviations)
        before = float(learnt.middles[0].base)
        assert abs(np.median(params.base) - true.base) < 0.8 * abs(before - true.base)


class TestReadings:
    def test_the_water_follows_them(self):
        learnt = learn([facts(observed=tuple(seen(d, "no3", 90.0, 1.0) for d in range(-56, 1, 7)))])
        assert np.median(learnt.water.no3) == pytest.approx(90.0, rel=0.1)

    def test_one_slip_does_not_turn_a_loop(self):
        """Nitrate read as the ion, 4.43 times too high: less than half of the way is gone."""
        days = range(-56, 0, 7)
        fine = tuple(seen(d, "no3", 40.0, 1.0) for d in days)
        slip = learn([facts(observed=(*fine, seen(-0.1, "no3", 177.0, 1.0)))])
        assert np.median(slip.water.no3) < 100.0

    def test_what_lasts_is_followed(self):
        jumped = facts(
            observed=(
                *(seen(d, "no3", 30.0, 1.0) for d in range(-56, -14, 7)),
                *(seen(d, "no3", 120.0, 1.0) for d in (-14, -7, 0)),
            )
        )
        assert np.median(learn([jumped]).water.no3) == pytest.approx(120.0, rel=0.15)

    def test_the_end_of_a_scale_says_at_least(self):
        ends = facts(
            observed=tuple(
                replace(seen(d, "no3", 90.0), low=63.0, high=np.inf) for d in range(-56, 1, 7)
            )
        )
        high = learn([ends]).water.no3
        assert np.median(high) > 55.0

    def test_a_coarse_step_teaches_less(self):
        fine = learn([facts(observed=tuple(seen(d, "no3", 40.0, 1.0) for d in range(-21, 1, 7)))])
        coarse = learn(
            [facts(observed=tuple(seen(d, "no3", 40.0, 40.0) for d in range(-21, 1, 7)))]
        )
        assert np.std(np.log(coarse.water.no3)) > np.std(np.log(fine.water.no3))


def test_loops_side_by_side_learn_what_they_learn_alone():
    """Numbers drawn differ; what is learnt does not, but for that."""
    one, _ = read_from({"aeration": 0.6})
    two, _ = read_from({"aeration": 1.8})
    both = learn([one, two])
    alone = [learn([one]), learn([two])]
    for row in (0, 1):
        together = np.median(both.water.no3[row])
        assert together == pytest.approx(float(np.median(alone[row].water.no3)), rel=0.1)


def test_the_same_seed_says_the_same():
    one, _ = read_from({})
    np.testing.assert_array_equal(learn([one]).water.tan, learn([one]).water.tan)
