"""What no advice may do, whatever the rules say."""

from dataclasses import replace
from datetime import timedelta

import pytest
from advice_builders import TODAY, advice_of, assess, bands, fish, s
from rule_cases import CASES

from apps.calc import ammonia, carbonate, water
from apps.calc.advice import Event, Reading, Source
from apps.calc.advice.doses import brings
from apps.calc.advice.facts import Facts
from apps.calc.advice.guards import (
    ChangePlan,
    Refusal,
    base_plan,
    chloride_plan,
    feed_percent,
    water_change,
)

each_rule = pytest.mark.parametrize("code", sorted(CASES))
SOURCE = Source(7.2, 60, temp_c=26.0)
BASES = {"KHCO3", "NaHCO3"}


def facts(base):
    return Facts(base, base.loops[0], bands())


def advice_in(code):
    return [one for case in CASES[code] for one in assess(case).advice]


def plan_of(base, **how):
    return base_plan(facts(base), 60.0, **how)


# --- before any base
class TestBase:
    def test_readings_a_day_old_give_no_dose(self):
        for code in ("alk", "ph"):
            old = s({"alk": 30.0, code: Reading(30.0 if code == "alk" else 6.5, age_h=24.0)})
            assert plan_of(old) == Refusal("measure_first")
            assert advice_of(old, "alkalinity_low").dose is None
        young = s({"alk": Reading(30.0, age_h=23.9)})
        assert plan_of(young).steps

    def test_an_untrusted_reading_gives_no_dose(self):
        base = s({"alk": Reading(30.0, trusted=False, doubt="jump")})
        found = assess(base)
        assert all(one.dose is None for one in found.advice)
        assert [(n.measurand, n.why) for n in found.not_trusted] == [("alk", "jump")]

    @pytest.mark.parametrize(("within", "dosed"), [(10.0, True), (10.1, False), (25.0, False)])
    def test_the_volume_must_be_known_within_a_tenth(self, within, dosed):
        one = advice_of(s({"alk": 30.0}, volume_within_pct=within), "alkalinity_low")
        assert (one.dose is not None) == dosed
        if not dosed:
            assert one.params["no_dose"] == "volume_unknown"

    def test_unknown_ammonia_gives_no_base(self):
        assert plan_of(s({"alk": 30.0, "tan": None})) == Refusal("ammonia_unknown")

    @pytest.mark.parametrize(("tan", "refused"), [(1.0, False), (1.01, True)])
    def test_with_much_ammonia_only_the_steps_against_the_trap(self, tan, refused):
        base = s({"alk": 30.0, "tan": tan, "ph": 6.4})
        assert (plan_of(base) == Refusal("ammonia_high")) == refused
        assert plan_of(base, against_trap=True).steps

    @pytest.mark.parametrize("alk", [22.0, 30.0, 45.0])
    @pytest.mark.parametrize("ph", [5.9, 6.4, 6.9, 7.4])
    def test_a_step_lifts_the_ph_by_a_fifth_at_most_at_once_and_after_aeration(self, alk, ph):
        base = s({"alk": alk, "ph": ph, "tan": 0.1})
        plan = plan_of(base)
        dose = plan.steps[0].dose / 1200 * 1000
        for solve in (carbonate.ph_after_base_closed, carbonate.ph_after_base_held):
            assert solve(alk, ph, 27.0, plan.salt, dose) - ph <= 0.2001

    def test_there_is_one_step_a_day(self):
        plan = plan_of(s({"alk": 25.0}))
        assert [step.after_hours for step in plan.steps] == [
            24.0 * i for i in range(len(plan.steps))
        ]

    @pytest.mark.parametrize("alk", [0.0, 5.0, 12.0, 18.0, 19.9])
    def test_where_the_kit_cannot_tell_the_first_step_is_five_at_most(self, alk):
        plan = plan_of(s({"alk": alk, "ph": 6.3, "tan": 0.1}))
        if isinstance(plan, Refusal):
            assert plan.code == "would_harm"
            return
        assert len(plan.steps) == 1
        given = plan.steps[0].dose / 1200 * 1000 * carbonate.SALTS[plan.salt].strength
        assert given <= 5.0001

    def test_toxic_ammonia_stays_low_at_the_new_ph(self):
        base = s({"alk": 60.0, "ph": 7.1, "tan": 0.9, "temp": 29.0})
        plan = base_plan(facts(base), 90.0)
        highest = max(plan.ph_minutes, plan.ph_hours) if len(plan.steps) == 1 else plan.ph_minutes
        assert ammonia.nh3_n(0.9, highest + 0.2, 29.0) < 0.02

    def test_cold_water_fish_get_the_stricter_limit(self):
        values = {"temp": 15.0, "do": 8.5, "alk": 60.0, "ph": 7.6, "tan": 0.9}
        trout = s(values, fish=(fish("rainbow_trout"),))
        assert base_plan(facts(trout), 100.0) == Refusal("would_harm")
        assert base_plan(facts(s(values)), 100.0).steps

    def test_acute_ammonia_stops_every_base(self):
        base = s({"tan": 1.0, "ph": 8.9, "temp": 29.0, "alk": 18.0})
        found = assess(base)
        assert "acute_ammonia" in {one.rule for one in found.advice}
        assert not any(one.substance in BASES for one in found.advice)


# --- hydroxides, acids, ammonia
class TestStrongSubstances:
    @each_rule
    def test_no_rule_ever_doses_a_hydroxide(self, code):
        for one in advice_in(code):
            for step in one.steps:
                assert "OH" not in step.substance

    @each_rule
    def test_acid_and_ammonium_are_never_a_clients_action(self, code):
        for one in advice_in(code):
            if one.substance.startswith(("HCl", "H3PO4", "HNO3", "NH4")):
                assert one.who == "technician"

    def test_acid_goes_into_the_source_barrel_and_says_its_strength(self):
        hard = Source(8.1, 260, temp_c=26.0)
        one = advice_of(s({"ph": 8.3, "alk": 210.0}, source=hard), "source_hard_alkaline")
        # 10 mg/L CaCO3 and 1000 L: 16.7 mL of 12 mol/L acid (arithmetic)
        assert one.dose == pytest.approx(20 * 16.65, rel=0.01)
        assert "37 %" in one.substance
        assert {"acid_source_only", "acid_into_water", "trained_only"} <= set(one.cautions)

    def test_ammonium_is_dosed_only_without_fish(self):
        assert advice_of(s({"tan": 0.1}, filter_age_days=20), "cycling_dose") is None


# --- potassium, sodium
class TestWeeklyTotals:
    @each_rule
    def test_potassium_of_a_week_stays_under_twenty(self, code):
        for case in CASES[code]:
            loop = case.loops[0]
            total = loop.given_7d.get("K", 0.0) + sum(
                brings(step.substance, step.dose, loop.volume_l)["k"]
                for one in assess(case).advice
                for step in one.steps
                if step.after_hours < 168
            )
            assert total <= 20.01

    def test_potassium_already_given_counts(self):
        one = advice_of(s({"alk": 30.0}, given_7d={"K": 15.0}), "alkalinity_low")
        assert sum(brings(st.substance, st.dose, 1200)["k"] for st in one.steps) <= 5.001
        assert one.params["left_caco3_g"] > 0

    def test_two_doses_share_the_week(self):
        base = s({"alk": 30.0, "ph": 6.6, "k": 10.0}, signs="weak_fruit", given_7d={"K": 8.0})
        found = assess(base)
        assert any(held.because == "week_of_metals" for held in found.held)

    def test_sodium_bicarbonate_needs_to_know_the_sodium(self):
        full = {"given_7d": {"K": 20.0}}
        assert advice_of(s({"alk": 30.0}, **full), "alkalinity_low").dose is None
        one = advice_of(s({"alk": 30.0, "na": 20.0}, **full), "alkalinity_low")
        assert one.substance == "NaHCO3"
        assert 20 + sum(brings(st.substance, st.dose, 1200)["na"] for st in one.steps) <= 50.01


# --- water changes
class TestWaterChange:
    def test_without_a_record_of_the_source_there_is_none(self):
        one = advice_of(s({"tan": 2.0, "ph": 8.5, "temp": 28.0}, source=None), "acute_ammonia")
        assert one.change_fraction is None
        assert one.params["no_change"] == "source_unknown"

    @pytest.mark.parametrize("source_ph", [6.0, 6.6, 7.2, 7.8, 8.4])
    @pytest.mark.parametrize("source_temp", [12.0, 20.0, 27.0, 33.0])
    def test_a_days_change_moves_ph_and_temperature_within_limits(self, source_ph, source_temp):
        source = Source(source_ph, 90, temp_c=source_temp)
        base = s({"no3": 120.0}, source=source)
        plan = water_change(facts(base), 0.4, emergency=True)
        if isinstance(plan, Refusal):
            assert plan.code in {"ph_would_jump", "temperature_would_jump", "ammonia_would_rise"}
            return
        tank = carbonate.Chemistry(6.7, 80, 27.0, 0.2)
        mixed = carbonate.mix(tank, carbonate.Chemistry(source_ph, 90, source_temp), plan.fraction)
        assert abs(mixed.ph_minutes - 6.7) <= 0.3001
        assert abs(mixed.ph_hours - 6.7) <= 0.3001
        assert abs(mixed.temp_c - 27.0) <= 2.001

    @pytest.mark.parametrize(("wanted", "emergency", "most", "parts"), [
        (0.2, False, 0.2, 1), (0.8, False, 0.25, 1), (0.4, True, 0.4, 2), (0.9, True, 0.5, 2),
    ])  # fmt: skip
    def test_parts_are_a_quarter_at_most_and_half_a_day_in_an_emergency(
        self, wanted, emergency, most, parts
    ):
        same = Source(6.7, 80, temp_c=27.0)
        plan = water_change(facts(s(source=same)), wanted, emergency=emergency)
        assert isinstance(plan, ChangePlan)
        assert plan.fraction == pytest.approx(most)
        assert plan.steps == parts
        assert plan.fraction / plan.steps <= 0.2501

    def test_toxic_ammonia_is_not_met_with_alkaline_source_water(self):
        base = s({"tan": 1.0, "ph": 7.9, "temp": 29.0}, source=Source(8.3, 120, temp_c=28.0))
        assert water_change(facts(base), 0.25) == Refusal("source_ph_high")

    def test_chlorine_is_treated_by_the_total_for_the_water_added(self):
        source = Source(6.9, 70, total_chlorine=1.0, temp_c=27.0)
        plan = water_change(facts(s(source=source)), 0.25)
        # 300 L at 1 mg/L, 7.0 g of thiosulfate a gram of chlorine, a tenth more
        assert plan.dechlorinator_g == pytest.approx(300 / 1000 * 7.0 * 1.1)

    def test_chloramine_brings_ammonia_that_counts(self):
        with_it = Source(6.9, 70, total_chlorine=2.0, chloramine=True, temp_c=27.0)
        without = replace(with_it, chloramine=False)
        first, second = (water_change(facts(s(source=w)), 0.25) for w in (with_it, without))
        assert first.nh3_after > second.nh3_after

    def test_only_one_change_a_day(self):
        base = s(
            {"no3": 130.0, "no2": 1.2, "cl": 50.0, "na": 20.0}, source=Source(6.8, 80, temp_c=27)
        )
        found = assess(base)
        changes = [one for one in found.advice if one.change_fraction]
        assert [one.rule for one in changes] == ["nitrite_harmful"]
        assert any((h.rule, h.what) == ("nitrate_high", "change") for h in found.held)

    def test_base_and_change_do_not_move_the_ph_on_one_day(self):
        base = s({"alk": 30.0, "no3": 130.0}, source=Source(6.9, 70, temp_c=27.0))
        found = assess(base)
        assert advice_of(base, "alkalinity_low").dose
        assert advice_of(base, "nitrate_high").change_fraction is None
        assert any(held.because == "alkalinity_low" for held in found.held)


# --- chlorine
def test_any_colour_is_treated_and_a_calm_pond_is_tested_once_more():
    calm = advice_of(s({"chlorine": 0.01}), "chlorine_found")
    assert (calm.urgency, calm.params["repeat_test"]) == ("today", 1.0)
    gasping = advice_of(s({"chlorine": 0.01}, signs="fish_gasping"), "chlorine_found")
    assert gasping.urgency == "now"
    # 1200 L at 0.5 mg/L
    much = advice_of(s({"chlorine": 0.5}), "chlorine_found")
    assert much.dose == pytest.approx(water.dechlorinator_g(1200, 0.5, "sodium_thiosulfate"))
    assert much.urgency == "now"


# --- ammonia at the day's highest pH
def test_ammonia_is_judged_at_the_highest_ph_of_the_day():
    base = facts(s({"tan": 0.5, "ph": 7.4, "temp": 27.0}))
    assert base.nh3_highest / base.nh3 == pytest.approx(1.56, abs=0.03)


# --- feed
class TestFeed:
    @pytest.mark.parametrize(("do", "percent"), [(5.0, None), (4.9, 0.0)])
    def test_none_below_five_for_warm_fish(self, do, percent):
        assert feed_percent(facts(s({"do": do}))) == percent

    @pytest.mark.parametrize(("do", "percent"), [(6.5, None), (6.4, 0.0)])
    def test_none_below_six_and_a_half_for_cold_fish(self, do, percent):
        base = s({"do": do, "temp": 14.0}, fish=(fish("rainbow_trout"),))
        assert feed_percent(facts(base)) == percent

    @pytest.mark.parametrize(("values", "percent"), [
        ({"tan": 1.01}, 0.0), ({"no2": 0.51}, 25.0), ({"temp": 16.9}, 0.0), ({"temp": 33.1}, 0.0),
    ])  # fmt: skip
    def test_less_where_the_water_forbids_it(self, values, percent):
        assert feed_percent(facts(s(values))) == percent

    @each_rule
    def test_one_word_on_feed_in_a_loop(self, code):
        for case in CASES[code]:
            advice = assess(case).advice
            said = {one.feed_percent for one in advice if one.feed_percent is not None}
            assert len(said) <= 1
            limit = feed_percent(facts(case))
            if limit is not None:
                assert said
                assert max(said) <= limit

    def test_no_more_feed_for_the_plants_when_the_fish_must_fast(self):
        hungry = {"no3": 3.0}
        assert "feed_g" in advice_of(s(hungry, signs="old_leaves_pale"), "nitrogen_short").params
        held = s({**hungry, "do": 3.5}, signs="old_leaves_pale")
        assert "feed_g" not in advice_of(held, "nitrogen_short").params


# --- oxygen and power
class TestMinutesWithoutAir:
    def test_from_the_measured_oxygen_to_the_species_limit(self):
        assert facts(s({"do": 3.0})).minutes_without_air == 0
        trout = s({"do": 5.9, "temp": 14.0}, fish=(fish("rainbow_trout"),))
        assert facts(trout).minutes_without_air == 0

    def test_halved_after_feeding(self):
        rested, fed = facts(s()), facts(s(fed_hours_ago=1.0))
        assert fed.minutes_without_air == pytest.approx(rested.minutes_without_air / 2)

    def test_bacteria_and_sludge_breathe_too(self):
        # 220 to 300 mg/kg/h at 24 to 28 °C (common practice): 27 °C 280; 12 kg in 1200 L
        fish_alone = (6.4 - 3.0) / (280 * 12 / 1200) * 60
        assert facts(s()).minutes_without_air < fish_alone


# --- nitrite
class TestNitrite:
    def test_by_the_ion(self):
        base = s({"no2": 1.0, "cl": 5.0, "na": 10.0}, volume_l=1000.0)
        plan = chloride_plan(facts(base))
        # 10 x 3.2845 x 1.0 - 5 = 27.8 mg/L Cl = 45.9 g NaCl in 1000 L
        assert [round(step.dose, 1) for step in plan.steps] == [45.9]

    @pytest.mark.parametrize("na", [0.0, 20.0, 45.0, 50.0, 80.0, None])
    def test_sodium_stays_at_fifty_or_below(self, na):
        plan = chloride_plan(facts(s({"no2": 2.0, "cl": 5.0, "na": na})))
        added = sum(brings(step.substance, step.dose, 1200)["na"] for step in plan.steps)
        assert added <= max(0.0, 50 - (na if na is not None else 50)) + 0.01
        assert sum(step.dose for step in plan.steps) > 0

    def test_bass_get_no_chloride(self):
        one = advice_of(s({"no2": 1.2}, fish=(fish("largemouth_bass"),)), "nitrite_harmful")
        assert one.dose is None
        assert one.params["no_dose"] == "chloride_does_not_help"

    def test_salt_is_not_washed_out_while_nitrite_is_up(self):
        one = advice_of(s({"na": 150.0, "no2": 0.4}), "salt_built_up")
        assert (one.change_fraction, one.params["no_change"]) == (None, "nitrite_up")


# --- medicine, electricity, cleaning
MEDICINES = ("copper", "formalin", "antibiotic", "malachite", "praziquantel", "bath", "methylene")


@each_rule
def test_no_medicine_is_ever_dosed(code):
    for one in advice_in(code):
        for step in one.steps:
            assert not any(word in step.substance.lower() for word in MEDICINES)
        if one.who == "fish_health":
            assert one.dose is None
            assert "no_random_medicine" in one.cautions


def test_a_fault_current_holds_back_all_hands_in_the_water():
    base = s({"do": 1.0, "tan": 2.5, "alk": 12.0}, signs="electric_tingle fish_gasping")
    found = assess(base)
    assert found.advice[0].rule == "fault_current"
    assert all(one.dose is None and one.change_fraction is None for one in found.advice)
    assert {h.rule for h in found.held if h.because == "fault_current"} >= {"oxygen_emergency"}


def test_no_cleaning_on_the_day_of_a_dose():
    base = s({"alk": 30.0, "bed_sludge": 40.0})
    assert advice_of(base, "bed_full_of_sludge").not_before_hours == 24
    assert advice_of(s({"bed_sludge": 40.0}), "bed_full_of_sludge").not_before_hours == 0


def test_no_red_iron_while_fish_are_treated():
    signs, values = "new_leaves_yellow_between_veins", {"fe": 0.2, "ph": 7.4}
    treated = (Event("medicated", TODAY - timedelta(days=1)),)
    assert advice_of(s(values, signs=signs), "iron_short").substance == "Fe-EDDHA 6 %"
    assert advice_of(s(values, signs=signs, events=treated), "iron_short").dose is None


# --- temperature and load
def test_the_winter_of_koi_is_no_alarm():
    one = advice_of(s({"temp": 7.0, "do": 10.0}, fish=(fish("koi"),)), "too_cold_to_feed")
    assert (one.urgency, one.feed_percent) == ("good_to_know", 0)
    tilapia = advice_of(s({"temp": 16.0}), "too_cold_to_feed")
    assert tilapia.urgency == "within_3_days"


def test_a_cold_filter_takes_a_quarter():
    cold = s({"temp": 10.0, "do": 9.0}, fish=(fish("koi"),))
    values = {d.code: d.value for d in assess(cold).derived}
    assert values["filter_capacity"] == pytest.approx(0.25 * 72.0)


# Timmons & Ebeling: 0.092 g of ammonia nitrogen for each gram of protein fed (memory)
@pytest.mark.outside(source="Timmons & Ebeling, 0.092", kind="memory", tolerance="exact")
def test_ammonia_made_goes_by_the_protein():
    values = {d.code: d.value for d in assess(s(feed_g_day=180.0, protein=0.40)).derived}
    assert values["tan_load"] == pytest.approx(180 * 0.40 * 0.092)
