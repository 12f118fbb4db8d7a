"""Doses under the caps that keep fish safe, at two volumes each."""

import pytest

from apps.calc import dosing
from apps.calc.carbonate import SALTS


def _rises(plan, ph):
    for step in plan.steps:
        yield step.ph_minutes - ph, step.ph_hours - ph
        ph = step.ph_hours


class TestBasePlan:
    @pytest.mark.parametrize("salt", SALTS)
    @pytest.mark.parametrize(
        ("alkalinity", "ph", "target"), [(30, 6.4, 6.8), (60, 6.2, 7.0), (8, 5.9, 6.5)]
    )
    def test_steps_are_small_and_add_up(self, salt, alkalinity, ph, target):
        plan = dosing.base_plan(alkalinity, ph, 25, target, salt)
        assert sum(step.dose_mg_l for step in plan.steps) == pytest.approx(plan.dose_mg_l)
        for at_once, hours_later in _rises(plan, ph):
            assert at_once <= 0.2 + 1e-9
            assert hours_later <= 0.2 + 1e-9
        assert [step.after_hours for step in plan.steps] == [24 * i for i in range(len(plan.steps))]
        assert plan.steps[-1].ph_hours == pytest.approx(target, abs=1e-6)

    def test_hydroxide_needs_more_days_than_bicarbonate(self):
        lime = dosing.base_plan(30, 6.4, 25, 6.8, "Ca(OH)2")
        soft = dosing.base_plan(30, 6.4, 25, 6.8, "KHCO3")
        assert len(lime.steps) > len(soft.steps) == 2

    def test_first_step_is_small_where_the_kit_is_blind(self):
        plan = dosing.base_plan(8, 5.9, 25, 6.5, "KHCO3")
        added = plan.steps[0].dose_mg_l * SALTS["KHCO3"].strength
        assert added <= 3.0 + 1e-9

    def test_has_no_closed_dose_where_bicarbonate_cannot_do_it(self):
        assert dosing.base_plan(100, 7, 25, 8, "KHCO3").closed_mg_l is None

    def test_refuses_a_target_above_8(self):
        with pytest.raises(ValueError, match="target_ph must be between"):
            dosing.base_plan(60, 7, 25, 8.2, "KHCO3")


class TestSafeBaseStep:
    @pytest.mark.parametrize("volume_l", [1000, 2400])
    def test_gives_what_is_wanted_where_that_is_little(self, volume_l):
        step = dosing.safe_base_step(volume_l, 60, 6.8, 25, "KHCO3", 5)
        assert step.dose_g == pytest.approx(5 / 0.4999 * volume_l / 1000, rel=1e-3)
        assert step.limited_by == ()

    @pytest.mark.parametrize("volume_l", [1000, 2400])
    def test_is_held_to_two_tenths(self, volume_l):
        step = dosing.safe_base_step(volume_l, 40, 6.6, 25, "KHCO3", 100)
        assert max(step.ph_minutes, step.ph_hours) == pytest.approx(6.8, abs=1e-3)
        assert step.dose_g / volume_l * 1000 * 0.4999 == pytest.approx(40 * (10**0.2 - 1), rel=0.02)

    def test_hydroxide_is_held_by_closed_water(self):
        step = dosing.safe_base_step(1000, 40, 6.6, 25, "Ca(OH)2", 100)
        assert step.limited_by == ("closed_ph",)
        assert step.ph_minutes == pytest.approx(6.8, abs=1e-6)

    def test_ammonia_holds_it_back(self):
        free = dosing.safe_base_step(1000, 60, 7.0, 26, "KHCO3", 60, tan_mg_l=0)
        held = dosing.safe_base_step(1000, 60, 7.0, 26, "KHCO3", 60, tan_mg_l=1.8)
        assert held.dose_g < free.dose_g
        assert held.limited_by == ("nh3",)
        assert held.nh3_n_mg_l < dosing.NH3_LIMIT

    def test_ammonia_may_forbid_it(self):
        step = dosing.safe_base_step(1000, 60, 7.6, 28, "KHCO3", 60, tan_mg_l=2)
        assert (step.dose_g, step.limited_by) == (0, ("nh3",))
        assert step.ph_hours == 7.6

    def test_low_alkalinity_caps_the_first_step(self):
        step = dosing.safe_base_step(1000, 15, 6.4, 25, "NaHCO3", 45)
        assert step.limited_by == ("low_alkalinity",)
        assert step.alkalinity_mg_l_caco3 == pytest.approx(20)


class TestNutrients:
    @pytest.mark.outside(
        source="molar masses (periodictable), g per 1000 L", kind="computed", tolerance=0.004
    )
    @pytest.mark.parametrize(
        ("rise", "element", "salt", "grams"),
        [
            (10, "k", "KHCO3", 25.6),
            (10, "k", "K2SO4", 22.3),
            (10, "k", "KCl", 19.1),
            (10, "k", "KH2PO4", 34.8),
            (10, "ca", "CaCl2.2H2O", 36.7),
            (10, "ca", "CaSO4.2H2O", 43.0),
            (5, "mg", "MgSO4.7H2O", 50.7),
            (1, "p", "KH2PO4", 4.39),
            (2, "fe", "Fe-DTPA 11 %", 18.2),
            (10, "cl", "NaCl", 16.5),
        ],
    )
    def test_grams(self, rise, element, salt, grams, outside):
        outside(dosing.nutrient_g(1000, rise, element, salt), grams)
        outside(dosing.nutrient_g(250, rise, element, salt), grams / 4)

    def test_refuses_a_salt_without_the_element(self):
        with pytest.raises(ValueError, match="does not bring fe"):
            dosing.nutrient_g(1000, 1, "fe", "KCl")


class TestSourceAcid:
    @pytest.mark.outside(
        source="molarity of strong acids, mL per 1000 L for 10 mg/L", kind="memory", tolerance=0.005
    )
    @pytest.mark.parametrize(
        ("acid", "millilitres"),
        [("H3PO4 85 %", 13.7), ("HNO3 68 %", 13.1), ("HCl 37 %", 16.5), ("HCl 31.5 %", 19.98)],
    )
    def test_for_ten_milligrams(self, acid, millilitres, outside):
        outside(dosing.source_acid_ml(1000, 10, acid), millilitres)

    def test_refuses_an_unknown_acid(self):
        with pytest.raises(ValueError, match="acid must be one of"):
            dosing.source_acid_ml(1000, 10, "vinegar")
