"""Each rule fires, stays silent, and turns over at its boundary; doses go with the volume."""

import pytest
from advice_builders import advice_of, at_volume, codes
from rule_cases import CASES

from apps.calc.advice import RULES

OWN = sorted(code for code, rule in RULES.items() if not code.endswith("_band"))


def test_every_rule_has_its_cases():
    assert set(CASES) == set(OWN)


def test_at_least_45_rules_are_built():
    assert len(OWN) >= 45
    assert len({rule.ref for rule in RULES.values()} - {""}) >= 60


@pytest.mark.parametrize("code", OWN)
def test_fires(code):
    assert code in codes(CASES[code][0])


@pytest.mark.parametrize("code", OWN)
def test_stays_silent(code):
    assert code not in codes(CASES[code][1])


@pytest.mark.parametrize("code", OWN)
def test_turns_over_at_its_boundary(code):
    assert code not in codes(CASES[code][2])
    assert code in codes(CASES[code][3])


DOSED = sorted(c for c in OWN if (a := advice_of(CASES[c][0], c)) and a.dose is not None)


def test_the_rules_that_dose_are_the_ones_that_should():
    assert set(DOSED) == {
        "acid_holds_ammonia", "alkalinity_gone", "alkalinity_low", "ammonia_rising_low_buffer",
        "blossom_end_rot", "chlorine_found", "cycling_base", "cycling_dose", "fruit_hungry",
        "iron_short", "leaf_salt_burn", "magnesium_short", "nitrite_harmful",
        "nitrite_young_filter", "phosphorus_short", "potassium_short", "rain_diluted",
        "water_acid",
    }  # fmt: skip


@pytest.mark.parametrize("code", DOSED)
@pytest.mark.parametrize("litres", [600.0, 3600.0])
def test_dose_goes_with_the_volume(code, litres):
    at_1200 = advice_of(at_volume(CASES[code][0], 1200.0), code)
    other = advice_of(at_volume(CASES[code][0], litres), code)
    assert other.dose == pytest.approx(at_1200.dose * litres / 1200, rel=1e-6)
    for step, reference in zip(other.steps, at_1200.steps, strict=True):
        assert step.dose == pytest.approx(reference.dose * litres / 1200, rel=1e-6)


@pytest.mark.parametrize("code", sorted(RULES))
def test_urgency_who_and_source_are_known(code):
    rule = RULES[code]
    assert rule.urgency in {"now", "today", "within_3_days", "next_visit", "good_to_know"}
    assert rule.who in {"client", "technician", "office", "electrician", "fish_health"}
    assert rule.look.__doc__
