"""No reading leaves its band without a word: every measurand, context, side and zone."""

from dataclasses import replace

import pytest
from advice_builders import GOOD, assess, bands, fish, s

from apps.calc import ammonia
from apps.calc.advice import Crop
from apps.calc.advice.facts import Facts
from apps.calc.judgement import DAILY_PH_RISE, HARMFUL, IN_BAND, NEAR_EDGE, OUT_OF_BAND

LEAFY, FRUIT = (Crop("lettuce_head", "leafy", 4.0),), (Crop("tomato", "fruiting", 4.0),)
FISH_BY_TEMP = {
    "tilapia": "nile_tilapia", "carp": "koi", "catfish": "channel_catfish", "trout":
    "rainbow_trout", "perch": "largemouth_bass", "air_breathing_catfish": "air_breathing_catfish",
    "barramundi": "barramundi", "jade_perch": "jade_perch", "silver_perch": "silver_perch",
    "murray_cod": "murray_cod", "yellow_perch": "yellow_perch",
}  # fmt: skip
COLD = {"temp": 14.0, "do": 8.5}


def plant_loop(values, crops):
    return s(values, system="decoupled", kind="plant", fish=(), crops=crops, media=())


def in_context(measurand, context, values):
    """A system in which the measurand is judged in that context."""
    if measurand == "temp" and context in FISH_BY_TEMP:
        return s(values, fish=(fish(FISH_BY_TEMP[context]),))
    makers = {
        "cold_fish": lambda: s({**COLD, **values}, fish=(fish("rainbow_trout"),)),
        "nitrite_sensitive": lambda: s(values, fish=(fish("channel_catfish"),)),
        "fish_loop": lambda: s(values, system="decoupled", kind="fish", crops=()),
        "cycling": lambda: s(values, fish=(), crops=(), filter_age_days=15),
        "filter": lambda: s(values, fish=(), crops=(), filter_age_days=15),
        "nitrifier": lambda: s(values, fish=(), crops=(), filter_age_days=15),
        "filter_outlet": lambda: s(values, fish=(), crops=(), filter_age_days=15),
        "plant_loop": lambda: plant_loop(values, LEAFY),
        "root_zone": lambda: plant_loop(values, LEAFY),
        "plant_loop_leafy": lambda: plant_loop(values, LEAFY),
        "plant_loop_fruit": lambda: plant_loop(values, FRUIT),
        "leafy_roots": lambda: plant_loop(values, LEAFY),
        "fruit_roots": lambda: plant_loop(values, FRUIT),
        "coupled_fruit": lambda: s(values, crops=FRUIT),
        "fruit": lambda: s(values, crops=FRUIT),
    }
    return makers.get(context, lambda: s(values))()


def zones(band):
    """Yield (side, word, value) well inside each zone outside the target, and on its mild limit."""
    low = [band.t_lo, band.amber_lo, band.red_lo]
    high = [band.t_hi, band.amber_hi, band.red_hi]
    words = (NEAR_EDGE, OUT_OF_BAND, HARMFUL)
    for side, limits in (("low", low), ("high", high)):
        for i, (start, word) in enumerate(zip(limits, words, strict=True)):
            if start is None:
                continue
            end = limits[i + 1] if i < 2 else None
            if end == start or (side == "low" and start == 0):
                continue
            beyond = start * (0.9 if side == "low" else 1.1) if end is None else (start + end) / 2
            yield side, word, beyond
            if end is not None:
                yield side, word, end


def put(measurand, context, value):
    """A system whose measurand has that value, worked-out ones by what they come from."""
    if measurand == "density":
        return in_context(measurand, context, {}), {"tank_l": 12.0 / value * 1000}
    if measurand == "feed_area":
        return in_context(measurand, context, {}), {"feed_g_day": 4.0 * value}
    if measurand == "nh3":
        temp = 14.0 if context == "cold_fish" else GOOD["temp"]
        tan = value / ammonia.unionised_fraction(7.8 + DAILY_PH_RISE, temp)
        return in_context(measurand, context, {"tan": tan, "ph": 7.8}), {}
    return in_context(measurand, context, {measurand: value}), {}


def system_with(measurand, context, value):
    base, fields = put(measurand, context, value)
    return replace(base, loops=(replace(base.loops[0], **fields),)) if fields else base


CASES = [
    (measurand, context, side, word, value)
    for (measurand, context), band in bands().items()
    for side, word, value in zones(band)
]


def test_there_are_many_cases():
    assert len(CASES) > 300


@pytest.mark.parametrize(("measurand", "context", "side", "word", "value"), CASES)
def test_every_zone_outside_the_target_is_answered(measurand, context, side, word, value):
    system = system_with(measurand, context, value)
    facts = Facts(system, system.loops[0], bands())
    assert facts.band(measurand).context == context
    found = assess(system)
    judged = next(j for j in found.judgements if j.measurand == measurand)
    if measurand != "tan":  # total ammonia may be judged stricter by its toxic share
        assert (judged.word, judged.side) == (word, side)
    answers = {answer for one in found.advice for answer in one.answers}
    assert f"{measurand}.{side}" in answers


@pytest.mark.parametrize(("measurand", "context"), sorted(bands()))
def test_the_edges_of_the_target_are_in_band(measurand, context):
    band = bands()[measurand, context]
    for value in (band.t_lo, band.t_hi):
        if value and measurand != "nh3":
            system = system_with(measurand, context, value)
            facts = Facts(system, system.loops[0], bands())
            if measurand != "tan":
                assert facts.word(measurand) == IN_BAND
            fallback = {f"{measurand}_below_band", f"{measurand}_above_band"}
            assert not fallback & {one.rule for one in assess(system).advice}


VITAL = [
    case
    for case in CASES
    if case[3] == HARMFUL
    and (case[0], case[2]) in {("do", "low"), ("tan", "high"), ("nh3", "high"), ("no2", "high"),
                               ("chlorine", "high")}
    and case[1] not in ("cycling", "root_zone", "filter_outlet")
]  # fmt: skip


@pytest.mark.parametrize(("measurand", "context", "side", "word", "value"), VITAL)
def test_what_kills_fish_is_for_now_or_today(measurand, context, side, word, value):
    found = assess(system_with(measurand, context, value)).advice
    answers = [one for one in found if f"{measurand}.{side}" in one.answers]
    assert answers[0].urgency in {"now", "today"}
