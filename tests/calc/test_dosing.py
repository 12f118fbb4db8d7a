"""Doses of a base under the caps that keep fish safe."""

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

    def test_refuses_to_turn_the_water_into_brine(self):
        with pytest.raises(ValueError, match="more than 50 g/L"):
            dosing.base_plan(300, 5.5, 25, 8, "Ca(OH)2")

    def test_refuses_a_target_above_8(self):
        with pytest.raises(ValueError, match="target_ph must be between"):
            dosing.base_plan(60, 7, 25, 8.2, "KHCO3")
