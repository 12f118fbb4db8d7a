"""Words for readings: limits on the milder side, the stricter of two, trends, contexts."""

import pytest
from advice_builders import bands
from hypothesis import given
from hypothesis import strategies as st

from apps.calc.judgement import (
    WORDS,
    Band,
    LoopContext,
    judge,
    judge_ammonia,
    pick_context,
    side,
    trend,
    worst,
)

PH = Band(5.8, 6.2, 6.4, 7.0, 7.6, 8.4)


@pytest.mark.parametrize(("value", "word", "of"), [
    (5.79, "harmful", "low"), (5.8, "out_of_band", "low"), (6.19, "out_of_band", "low"),
    (6.2, "near_edge", "low"), (6.39, "near_edge", "low"), (6.4, "in_band", ""),
    (6.7, "in_band", ""), (7.0, "in_band", ""), (7.01, "near_edge", "high"),
    (7.6, "near_edge", "high"), (7.61, "out_of_band", "high"), (8.4, "out_of_band", "high"),
    (8.41, "harmful", "high"),
])  # fmt: skip
def test_a_limit_belongs_to_the_milder_side(value, word, of):
    assert judge(value, PH) == word
    assert side(value, PH) == of


def test_an_untrusted_reading_is_to_be_measured_again():
    assert judge(7.0, PH, trusted=False) == "measure_again"


def test_a_band_without_limits_on_one_side_never_leaves_it_there():
    assert judge(0.0, Band(t_lo=None, t_hi=0.5, amber_hi=1.0)) == "in_band"
    assert judge(99.0, Band(t_lo=4.0, t_hi=9.0)) == "near_edge"


@given(st.sampled_from(sorted(bands())), st.floats(0, 100), st.floats(0, 100))
def test_further_from_the_target_is_never_milder(key, first, second):
    band = bands()[key]
    near, far = sorted((first, second))
    if near >= band.t_hi:
        assert WORDS.index(judge(near, band)) <= WORDS.index(judge(far, band))


def test_the_stricter_of_total_and_toxic_ammonia_holds():
    tan, nh3 = bands()["tan", "warm_fish"], bands()["nh3", "warm_fish"]
    assert judge_ammonia(0.4, tan) == "in_band"
    assert judge_ammonia(0.4, tan, nh3, 8.6, 30) == "out_of_band"
    assert judge_ammonia(1.5, tan, nh3, 6.5, 25) == "out_of_band"


def test_the_worst_word_leaves_out_what_was_not_measured():
    assert worst(["in_band", "measure_again", "out_of_band"]) == "out_of_band"
    assert worst([]) == "measure_again"


@pytest.mark.parametrize(("values", "word"), [
    ([6.9, 6.8, 6.6], "falling"), ([6.6, 6.8, 6.9], "rising"), ([6.8, 6.82, 6.79], "steady"),
    ([6.8, 6.2], "unknown"), ([6.90, 6.85, 6.80, 6.75, 6.70, 6.65, 7.60], "falling"),
])  # fmt: skip
def test_trend(values, word):
    assert trend("ph", [(7.0 * i, v) for i, v in enumerate(values)]) == word


COUPLED = LoopContext("coupled", "whole", ("nile_tilapia",), ("leafy",))
FRUIT = LoopContext("coupled", "whole", ("nile_tilapia",), ("fruiting", "leafy"))
FISH = LoopContext("decoupled", "fish", ("rainbow_trout",), (), cold=True)
PLANTS = LoopContext("decoupled", "plant", (), ("leafy",))
ONLY_PLANTS = LoopContext("plants_only", "whole", (), ("fruiting",))
ONLY_FISH = LoopContext("fish_only", "whole", ("channel_catfish",))
CYCLING = LoopContext("coupled", "whole", (), (), cycling=True)


@pytest.mark.parametrize(("loop", "measurand", "context"), [
    (COUPLED, "ph", "coupled"), (COUPLED, "no3", "coupled_leafy"), (FRUIT, "no3", "coupled_fruit"),
    (COUPLED, "tan", "warm_fish"), (COUPLED, "temp", "tilapia"), (COUPLED, "do", "warm_fish"),
    (FISH, "ph", "fish_loop"), (FISH, "tan", "cold_fish"), (FISH, "no2", "nitrite_sensitive"),
    (FISH, "ec", ""), (FISH, "k", ""), (FISH, "alk", "fish_loop"), (FISH, "temp", "trout"),
    (PLANTS, "ph", "plant_loop"), (PLANTS, "alk", ""), (PLANTS, "tan", ""), (PLANTS, "nh3", ""),
    (PLANTS, "do", "root_zone"), (PLANTS, "ec", "plant_loop_leafy"), (PLANTS, "temp", "leafy_roots"),
    (ONLY_PLANTS, "ec", "plant_loop_fruit"), (ONLY_PLANTS, "k", "plant_loop_fruit"),
    (PLANTS, "k", "plant_loop_leafy"), (PLANTS, "ca", "plant_loop_leafy"), (FRUIT, "k", "fruit"),
    (ONLY_PLANTS, "po4", "plant_loop_fruit"), (COUPLED, "mg", "plants"),
    (ONLY_FISH, "no2", "nitrite_sensitive"), (ONLY_FISH, "ph", "fish_loop"),
    (CYCLING, "tan", "cycling"), (CYCLING, "ph", "filter"), (CYCLING, "temp", "nitrifier"),
    (CYCLING, "nh3", ""), (CYCLING, "do", "filter_outlet"), (COUPLED, "level", ""),
])  # fmt: skip
def test_context(loop, measurand, context):
    assert pick_context(measurand, loop) == context
    if context:
        assert (measurand, context) in bands()
