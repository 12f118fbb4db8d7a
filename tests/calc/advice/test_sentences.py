"""What advice says: every text is there, every gap in it is filled, every figure has a format."""

import string

import pytest
from advice_builders import advice_of, assess, s
from rule_cases import CASES

from apps.calc.advice import RULES
from apps.calc.advice.cautions import CAUTIONS
from apps.calc.advice.sentences import (
    CAUSE_WORDS,
    FORMATS,
    NO_CHANGE,
    NO_DOSE,
    caution_sentences,
    sentences,
)
from apps.calc.advice.substances import SUBSTANCE_WORDS
from apps.calc.advice.texts import EXTRAS, TEXTS

each_rule = pytest.mark.parametrize("code", sorted(CASES))
WORDS = {"substance", "crop", "product", "until", "touches", "measurands", "causes"}
OF_MEASURAND = {"value", "limit"}


def advice_in(code):
    return [one for case in CASES[code] for one in assess(case).advice]


def gaps(msgid):
    return {name for _, name, _, _ in string.Formatter().parse(msgid) if name}


def test_every_rule_has_a_text_and_no_text_is_left_over():
    assert set(TEXTS) == set(RULES)
    assert {code for code, _ in EXTRAS} <= set(RULES)


def test_every_caution_has_a_text_and_no_text_is_left_over():
    used = {caution for rule in RULES.values() for caution in rule.cautions}
    for code in CASES:
        used |= {c for one in advice_in(code) for c in one.cautions}
    assert used <= set(CAUTIONS)
    assert set(CAUTIONS) - used == set()


@each_rule
def test_every_gap_is_filled(code):
    for one in advice_in(code):
        for said in [*sentences(one), *caution_sentences(one)]:
            for gap in gaps(said.msgid):
                assert gap in said.params, (one.rule, said.msgid)
                value = said.params[gap]
                if gap in OF_MEASURAND:
                    assert said.measurand
                elif gap == "dose":
                    assert said.unit
                elif gap in WORDS:
                    assert isinstance(value, str)
                else:
                    assert gap in FORMATS, gap
                    assert not isinstance(value, str)


@each_rule
def test_reasons_for_no_dose_and_no_change_have_a_text(code):
    for one in advice_in(code):
        assert one.params.get("no_dose", "not_needed") in NO_DOSE
        assert one.params.get("no_change", "not_needed") in NO_CHANGE


@each_rule
def test_every_substance_and_cause_has_its_words(code):
    for one in advice_in(code):
        assert {step.substance for step in one.steps} <= set(SUBSTANCE_WORDS)
        assert one.dose is None or one.substance in SUBSTANCE_WORDS
        causes = str(one.params.get("causes", ""))
        assert all(cause in CAUSE_WORDS for cause in causes.split(", ") if cause)


def test_one_part_of_a_change_is_not_said_as_parts():
    said = [one.msgid for one in sentences(advice_of(s({"no3": 120.0}), "nitrate_high"))]
    assert "Change {litres} of the water ({percent} of it)." in said


def test_a_dose_in_steps_is_for_labelled_bags_of_the_client():
    said = [one.msgid for one in sentences(advice_of(s({"alk": 25.0}), "alkalinity_low"))]
    assert sum("of {substance}" in msgid for msgid in said) == 2
    assert any("bags" in msgid for msgid in said)


def test_feed_is_said_once_and_plainly():
    said = [one.msgid for one in sentences(advice_of(s({"do": 3.0}), "oxygen_low"))]
    assert "Do not feed for {feed_hours}." in said
