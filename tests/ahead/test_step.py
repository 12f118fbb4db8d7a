"""The mass balance against an integrator of others, and against what no balance may break."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import solve_ivp

from apps.ahead.engine.arrays import ARRAYS
from apps.calc.ahead.members import STEPS
from apps.calc.ahead.ops import FLOATS
from apps.calc.ahead.step import COMING, Water, advance, gases, renew
from tests.ahead import example
from tests.effort import cases

WEEKS = (7, 14, 21, 28, 42, 56)


def days(day, until, params=example.PARAMS, gear=example.GEAR, steps=STEPS):
    water, found = example.BEGIN, {0: example.BEGIN}
    for on in range(1, until + 1):
        for _ in range(steps):
            water = advance(FLOATS, gear, params, day, water, 1 / steps)
        found[on] = water
    return found


def exact(day, held, at):
    begin = [example.as_states(example.BEGIN)[name] for name in example.STATES]
    answer = solve_ivp(
        example.slopes(day, held), (0, max(at)), begin, method="LSODA", rtol=1e-8, atol=1e-8,
        t_eval=at,
    )  # fmt: skip
    assert answer.success
    return {t: dict(zip(example.STATES, answer.y[:, n], strict=True)) for n, t in enumerate(at)}


class TestAgainstLsoda:
    @pytest.mark.outside(
        source="SciPy, LSODA (rtol 1e-8) of the same balance", kind="computed", tolerance=0.01
    )
    def test_eight_weeks_with_alkalinity_kept(self, outside):
        ours, theirs = days(example.DAY, 56), exact(example.DAY, 200.0, WEEKS)
        for week in WEEKS:
            for name, value in example.as_states(ours[week]).items():
                outside(value, theirs[week][name])

    @pytest.mark.outside(
        source="SciPy, LSODA: days until alkalinity runs out with no base", kind="computed",
        tolerance=0.25, absolute=True,
    )  # fmt: skip
    @pytest.mark.parametrize("level", [40.0, 20.0])
    def test_day_on_which_alkalinity_passes_a_level(self, level, outside):
        at = [n / 20 for n in range(1, 61)]
        theirs = exact(example.UNKEPT, 0.0, at)
        expected = next(t for t in at if theirs[t]["alk"] < level)
        water, steps = example.BEGIN, 0
        while water.alk >= level:
            water = advance(FLOATS, example.GEAR, example.PARAMS, example.UNKEPT, water, 1 / STEPS)
            steps += 1
        before = (steps - 1) / STEPS
        outside(before + 0.5 / STEPS, expected)

    @pytest.mark.outside(
        source="field formula of pH from alkalinity and carbon dioxide, by hand", kind="computed",
        tolerance=1e-9,
    )  # fmt: skip
    def test_ph(self, outside):
        water = days(example.DAY, 28)[28]
        feed = example.FISH * 0.14 * water.weights[0] ** 0.66
        water = water._replace(eaten=feed)
        air = gases(FLOATS, example.GEAR, example.PARAMS, example.DAY, water)
        breath = (0.45 * feed + 0.15 * water.ss * 2.2) / 2.2
        outside(air.ph, example.ph(water.alk, breath))

    @pytest.mark.outside(
        source="sixty grams to 176 in 56 days at 29 °C: TGC 1.04 against 1.07 of a tilapia trial",
        kind="memory", tolerance=0.04,
    )  # fmt: skip
    def test_growth(self, outside):
        from apps.calc.growth import tgc

        outside(tgc(60.0, days(example.DAY, 56)[56].weights[0], 29.0, 56.0), 1.07)


def nitrogen_g(water: Water) -> float:
    return (water.tan + water.no2 + water.no3) * example.VOLUME / 1000


@pytest.mark.parametrize("dt", [0.02, 0.25, 1.0, 7.0])
def test_nitrogen_is_conserved(dt):
    """What is stored more = what came with feed and water - what left, was taken up or lost."""
    params = example.PARAMS._replace(loss=0.01)
    water, came, went = example.BEGIN, 0.0, 0.0
    litres = example.VOLUME / 1000
    for _ in range(math.ceil(56 / dt)):
        after = advance(FLOATS, example.GEAR, params, example.DAY, water, dt)
        inflow = example.DAY.coming[COMING.index("no3")]
        came += dt * (after.eaten * 0.32 * 0.092 + inflow * litres)
        out = example.OUT * (after.tan + after.no2 + after.no3) + 0.01 * after.no3
        # uptake from its own rate, not from the balance that the step closes with
        taken = 6 * 0.6 * after.no3 / (10 + after.no3)
        went += dt * (out * litres + taken)
        water = after
    stored = nitrogen_g(water) - nitrogen_g(example.BEGIN)
    assert stored == pytest.approx(came - went, rel=1e-9, abs=1e-9)


def test_water_that_leaves_one_loop_arrives_in_the_next():
    first = example.DAY._replace(steer=(0.0,) * 7)
    share = first.leaving
    second_gear = example.GEAR._replace(counts=(0.0,))
    upper, lower, sent, got = example.BEGIN, example.BEGIN, 0.0, 0.0
    for _ in range(100):
        upper = advance(FLOATS, example.GEAR, example.PARAMS, first, upper, 0.25)
        out = {name: share * getattr(upper, name) for name in COMING}
        sent += 0.25 * (out["tan"] + out["no2"] + out["no3"])
        comes = first._replace(coming=tuple(out.values()), leaving=0.0)
        before = lower
        lower = advance(FLOATS, second_gear, example.PARAMS, comes, lower, 0.25)
        taken = 6 * 0.6 * lower.no3 / (10 + lower.no3) * 1000 / example.VOLUME
        got += nitrogen_g(lower) - nitrogen_g(before) + 0.25 * taken * example.VOLUME / 1000
    assert got == pytest.approx(sent * example.VOLUME / 1000, rel=1e-9)


level = st.floats(0.0, 500.0)
rate = st.floats(0.0, 100.0)


class TestWhateverComes:
    @given(
        tan=level, no2=level, no3=level, alk=level, tds=level, ss=level,
        first=rate, second=rate, uptake=st.floats(0, 5), base=st.floats(-60, 60),
        given_g=st.floats(-1, 3000), leaving=st.floats(0, 0.5), dt=st.floats(0.01, 7.0),
        aeration=st.floats(5, 300),
    )  # fmt: skip
    @cases(300)
    def test_nothing_falls_below_zero(
        self, tan, no2, no3, alk, tds, ss, first, second, uptake, base, given_g, leaving, dt,
        aeration,
    ):  # fmt: skip
        params = example.PARAMS._replace(
            first=first, second=second, uptake=uptake, base=base, aeration=aeration
        )
        day = example.UNKEPT._replace(given=given_g, leaving=leaving)
        water = example.BEGIN._replace(tan=tan, no2=no2, no3=no3, alk=alk, tds=tds, ss=ss)
        for _ in range(3):
            water = advance(FLOATS, example.GEAR, params, day, water, dt)
            for name, value in example.as_states(water).items():
                assert math.isfinite(value), name
                assert value >= 0, name

    @given(
        tan=st.floats(0.01, 20), no3=st.floats(0.1, 300), alk=st.floats(0.1, 300),
        first=st.floats(0.1, 90), base=st.floats(-20, 20), given_g=st.floats(-1, 900),
    )  # fmt: skip
    @cases(100)
    def test_arrays_say_what_floats_say(self, tan, no3, alk, first, base, given_g):
        params = example.PARAMS._replace(first=first, base=base)
        day = example.DAY._replace(given=given_g)
        water = example.BEGIN._replace(tan=tan, no3=no3, alk=alk)
        wide = Water(
            *(
                tuple(np.full((2, 3), one) for one in part)
                if isinstance(part, tuple)
                else np.full((2, 3), part)
                for part in water
            )
        )
        for _ in range(20):
            water = advance(FLOATS, example.GEAR, params, day, water, 0.25)
            wide = advance(ARRAYS, example.GEAR, params, day, wide, 0.25)
        for name in ("tan", "no2", "no3", "alk", "tds", "k", "ca", "ss", "eaten"):
            np.testing.assert_allclose(
                getattr(wide, name), getattr(water, name), rtol=1e-12, atol=1e-12
            )
        np.testing.assert_allclose(wide.weights[0], water.weights[0], rtol=1e-12)


class TestFeedingStops:
    @pytest.mark.parametrize(
        "bad",
        [{"alk": 0.3}, {"tan": 30.0}, {"first": 400.0}],
        ids=["sour", "ammonia", "no oxygen"],
    )
    def test_in_bad_water(self, bad):
        settled = days(example.DAY, 7)[7]
        fine = advance(FLOATS, example.GEAR, example.PARAMS, example.DAY, settled, 0.25)
        water = settled._replace(**bad)
        after = advance(FLOATS, example.GEAR, example.PARAMS, example.DAY, water, 0.25)
        assert fine.eaten > 300
        assert after.eaten == 0

    def test_and_a_plan_to_feed_does_not_change_that(self):
        day = example.DAY._replace(given=400.0)
        water = days(day, 7)[7]
        assert water.eaten == pytest.approx(400.0)
        sour = water._replace(alk=0.3)
        assert advance(FLOATS, example.GEAR, example.PARAMS, day, sour, 0.25).eaten == 0


def test_a_change_of_water_mixes():
    day = example.DAY._replace(renewed=0.2, fresh=(0.0, 0.0, 10.0, 80.0, 200.0, 2.0, 30.0))
    water = renew(day, example.BEGIN._replace(no3=200.0))
    assert water.no3 == pytest.approx(162.0)  # 200 x 0.8 + 10 x 0.2
    assert water.ss == pytest.approx(4.0)
