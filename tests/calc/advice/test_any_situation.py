"""Whatever is read, assessment answers, and never passes its guards."""

from advice_builders import TODAY, assess, bands, past, rows, s
from hypothesis import given
from hypothesis import strategies as st

from apps.calc import carbonate
from apps.calc.advice import Crop, Event, Fish, Reading, Source
from apps.calc.advice.doses import brings
from apps.calc.advice.facts import Facts
from apps.calc.advice.guards import feed_percent
from apps.calc.advice.sentences import caution_sentences, sentences
from apps.calc.judgement import IN_BAND, MEASURE_AGAIN
from apps.calc.species import species_table
from tests.effort import cases

MEASURED = {
    row["code"]: (row["hard_low"], row["hard_high"])
    for row in rows("measurands")
    if not row.get("derived") and row["code"] not in ("mort", "meter_check")
}
SIGNS = [row["code"] for row in rows("signs")]
BASES = {"KHCO3", "NaHCO3"}


@st.composite
def reading(draw, code):
    low, high = MEASURED[code]
    usual = next(b for b in bands() if b[0] == code) if code in {m for m, _ in bands()} else None
    top = (bands()[usual].red_hi or high) * 1.3 if usual and draw(st.booleans()) else high
    value = draw(st.floats(low, min(max(top, low + 0.1), high)))
    return Reading(
        value, draw(st.sampled_from([0.0, 5.0, 30.0, 200.0])), draw(st.booleans()) or True
    )


@st.composite
def any_situation(draw):
    codes = draw(st.lists(st.sampled_from(sorted(MEASURED)), unique=True, max_size=14))
    codes += [c for c in ("temp", "ph", "alk", "tan") if draw(st.booleans())]
    values = {code: draw(reading(code)) for code in codes}
    system = draw(st.sampled_from(["coupled", "decoupled", "fish_only", "plants_only"]))
    kind = draw(st.sampled_from(["fish", "plant"])) if system == "decoupled" else "whole"
    no_fish = system == "plants_only" or kind == "plant"
    species = draw(st.lists(st.sampled_from(sorted(species_table())), max_size=2, unique=True))
    fish = () if no_fish else tuple(
        Fish(code, draw(st.integers(1, 400)), draw(st.floats(1, 900))) for code in species
    )  # fmt: skip
    crops = () if system == "fish_only" else (
        Crop("x", draw(st.sampled_from(["leafy", "fruiting"])), draw(st.floats(0.5, 40))),
    )  # fmt: skip
    return s(
        {**dict.fromkeys(("temp", "ph", "alk", "tan", "no2", "no3", "do", "ec")), **values},
        system=system,
        kind=kind,
        fish=fish,
        crops=crops,
        volume_l=draw(st.floats(100, 8000)),
        volume_within_pct=draw(st.sampled_from([5.0, 10.0, 20.0])),
        given_7d={"K": draw(st.floats(0, 25))},
        history={"alk": past(80, 60), "tan": past(0.1, 0.2), "ec": past(1.2, 1.1)},
        signs=" ".join(draw(st.lists(st.sampled_from(SIGNS), max_size=5))),
        filter_age_days=draw(st.sampled_from([None, 5, 40, 400])),
        events=tuple(
            Event(code, TODAY)
            for code in draw(st.lists(st.sampled_from(["medicated", "bed_cleaned", "power_cut"])))
        ),
        source=draw(
            st.one_of(
                st.none(),
                st.builds(
                    Source, st.floats(5, 9.5), st.floats(0, 400), st.floats(0, 1),
                    st.floats(0, 4), st.booleans(), st.one_of(st.none(), st.floats(2, 35)),
                ),
            )
        ),
    )  # fmt: skip


LOTS = cases(150)


@LOTS
@given(any_situation())
def test_assessment_answers_and_keeps_to_its_guards(base):
    found = assess(base)
    loop = base.loops[0]
    facts = Facts(base, loop, bands())
    answers = {answer for one in found.advice for answer in one.answers}
    fault = any(one.because == "fault_current" for one in found.held)
    for one in found.judgements:
        if one.word not in (IN_BAND, MEASURE_AGAIN) and not fault:
            assert f"{one.measurand}.{one.side}" in answers, one
    assert len([a for a in found.advice if a.substance in BASES]) <= 1
    assert len([a for a in found.advice if a.change_fraction]) <= 1
    week = sum(
        brings(step.substance, step.dose, loop.volume_l)["k"]
        for one in found.advice
        for step in one.steps
        if step.after_hours < 168
    )
    assert week <= max(0.0, 20 - loop.given_7d["K"]) + 0.02
    for one in found.advice:
        assert "OH" not in one.substance
        for said in (*sentences(one), *caution_sentences(one)):
            assert said.msgid
        if one.substance in BASES and one.rule != "potassium_short":
            _small_step(facts, one)
        if one.feed_percent is not None and feed_percent(facts) is not None:
            assert one.feed_percent <= feed_percent(facts)


def _small_step(facts, one):
    alk, ph, temp = facts.v("alk"), facts.v("ph"), facts.v("temp")
    dose = one.dose / facts.loop.volume_l * 1000
    assert facts.loop.volume_within_pct <= 10
    for solve in (carbonate.ph_after_base_closed, carbonate.ph_after_base_held):
        assert solve(alk, ph, temp, one.substance, dose) - ph <= 0.201
    if alk < 20:
        assert dose * carbonate.SALTS[one.substance].strength <= 5.001
