"""The carbonate system and doses of bases against a speciation program."""

import pytest

from apps.calc import carbonate


class TestCo2:
    def test_of_the_reference_water(self):
        assert carbonate.co2_mg_l(50, 7.0, 20) == pytest.approx(9.93, abs=0.006)

    @pytest.mark.outside(source="PHREEQC, phreeqc.dat", kind="computed", tolerance=0.02)
    @pytest.mark.parametrize("temp_c", [10, 20, 29])
    @pytest.mark.parametrize("alkalinity", [20, 50, 100, 150])
    @pytest.mark.parametrize("ph", [6.0, 6.5, 7.0, 7.5, 8.0, 8.5])
    def test_is_within_two_percent(self, alkalinity, ph, temp_c, outside, phreeqc):
        water = phreeqc.water(alkalinity, ph, temp_c)
        outside(carbonate.co2_mg_l(alkalinity, ph, temp_c), phreeqc.co2_mg_l(water))
        water.forget()

    def test_is_nothing_where_the_ph_needs_more_alkalinity(self):
        assert carbonate.co2_mg_l(0, 8.5, 20) == 0

    def test_refuses_degrees_of_hardness_beyond_reason(self):
        with pytest.raises(ValueError, match="alkalinity_mg_l_caco3 must be between 0 and 600"):
            carbonate.co2_mg_l(900, 7, 20)


class TestAirEquilibrium:
    @pytest.mark.outside(
        source="PHREEQC, air with 420 ppm", kind="computed", tolerance=0.02, absolute=True
    )
    @pytest.mark.parametrize(
        ("alkalinity", "temp_c", "expected"),
        [
            (20, 20, 7.740),
            (50, 20, 8.127),
            (100, 20, 8.411),
            (20, 29, 7.795),
            (50, 29, 8.180),
            (150, 29, 8.610),
        ],
    )
    def test_ph_of_aerated_water(self, alkalinity, temp_c, expected, outside):
        outside(carbonate.air_equilibrium_ph(alkalinity, temp_c), expected)


# alkalinity, pH, temperature, target, salt, closed mg/L, CO2 held mg/L: computed with PHREEQC
DOSES = [
    (20, 6.2, 25, 6.6, "KHCO3", 61.4, 61.2),
    (20, 6.2, 25, 6.6, "NaHCO3", 51.5, 51.4),
    (20, 6.2, 25, 6.6, "K2CO3", 21.7, 42.3),
    (20, 6.2, 25, 6.6, "Ca(OH)2", 7.85, 22.9),
    (30, 6.4, 25, 6.8, "KHCO3", 92.4, 92.0),
    (30, 6.4, 25, 6.8, "K2CO3", 25.3, 63.5),
    (30, 6.4, 25, 6.8, "Ca(OH)2", 8.49, 34.5),
    (50, 6.5, 29, 7.0, "KHCO3", 223, 221.5),
    (50, 6.5, 29, 7.0, "Ca(OH)2", 13.5, 84.2),
    (40, 6.8, 20, 7.2, "NaHCO3", 104.8, 103.4),
    (40, 6.8, 20, 7.2, "Ca(OH)2", 5.63, 46.4),
]


class TestBases:
    @pytest.mark.outside(source="PHREEQC, doses in closed water", kind="computed", tolerance=0.01)
    @pytest.mark.parametrize(("alk", "ph", "temp_c", "target", "salt", "closed", "held"), DOSES)
    def test_closed_dose(self, alk, ph, temp_c, target, salt, closed, held, outside):
        outside(carbonate.base_for_ph_closed(alk, ph, temp_c, target, salt), closed)

    @pytest.mark.outside(source="PHREEQC, doses with CO2 held", kind="computed", tolerance=0.01)
    @pytest.mark.parametrize(("alk", "ph", "temp_c", "target", "salt", "closed", "held"), DOSES)
    def test_held_dose(self, alk, ph, temp_c, target, salt, closed, held, outside):
        outside(carbonate.base_for_ph_held(alk, ph, temp_c, target, salt), held)

    @pytest.mark.outside(
        source="PHREEQC, phreeqc.dat run beside", kind="computed", tolerance=0.02, absolute=True
    )
    @pytest.mark.parametrize(
        ("salt", "dose"), [("KHCO3", 40), ("NaHCO3", 40), ("K2CO3", 15), ("Ca(OH)2", 6)]
    )
    @pytest.mark.parametrize(("alkalinity", "ph"), [(30, 6.4), (60, 6.9), (100, 7.1)])
    def test_ph_after_a_dose(self, salt, dose, alkalinity, ph, outside, phreeqc):
        molar = carbonate.SALTS[salt].molar_g
        for theirs, ours in (
            (phreeqc.ph_closed, carbonate.ph_after_base_closed),
            (phreeqc.ph_held, carbonate.ph_after_base_held),
        ):
            expected = theirs(phreeqc.water(alkalinity, ph, 25), salt, dose, molar)
            outside(ours(alkalinity, ph, 25, salt, dose), expected)

    @pytest.mark.outside(
        source="PHREEQC, response of closed water", kind="computed", tolerance=0.06, absolute=True
    )
    @pytest.mark.parametrize(
        ("alk", "ph", "temp_c", "salt", "dose", "expected"),
        [
            (30, 6.5, 25, "KHCO3", 20, 6.624),
            (30, 6.5, 25, "K2CO3", 20, 6.863),
            (30, 6.5, 25, "Ca(OH)2", 10, 7.141),
            (30, 6.5, 25, "Ca(OH)2", 20, 9.211),
            (50, 6.8, 29, "NaHCO3", 40, 6.966),
            (100, 7.6, 20, "K2CO3", 20, 8.454),
        ],
    )
    def test_closed_response(self, alk, ph, temp_c, salt, dose, expected, outside):
        outside(carbonate.ph_after_base_closed(alk, ph, temp_c, salt, dose), expected)

    @pytest.mark.outside(
        source="stoichiometry, g CaCO3 per g salt", kind="computed", tolerance=1e-3
    )
    @pytest.mark.parametrize(
        ("salt", "strength"),
        [
            ("KHCO3", 0.4999),
            ("NaHCO3", 0.5957),
            ("K2CO3", 0.7242),
            ("Ca(OH)2", 1.3509),
            ("KOH", 0.8920),
        ],
    )
    def test_strength(self, salt, strength, outside):
        outside(carbonate.SALTS[salt].strength, strength)

    def test_no_dose_changes_nothing(self):
        assert carbonate.ph_after_base_closed(60, 6.8, 25, "KHCO3", 0) == 6.8

    def test_refuses_to_lower_the_ph(self):
        with pytest.raises(ValueError, match="target_ph must not be below"):
            carbonate.base_for_ph_held(60, 7, 25, 6.5, "KHCO3")

    def test_refuses_an_unknown_salt(self):
        with pytest.raises(ValueError, match="salt must be one of"):
            carbonate.base_for_ph_held(60, 6.5, 25, 7, "MgO")

    def test_says_when_a_bicarbonate_cannot_reach_the_target(self):
        with pytest.raises(ValueError, match="cannot lift"):
            carbonate.base_for_ph_closed(60, 7, 25, 8.6, "NaHCO3")


class TestMix:
    @pytest.mark.outside(
        source="PHREEQC, two waters mixed", kind="computed", tolerance=0.02, absolute=True
    )
    @pytest.mark.parametrize("share", [0.1, 0.25, 0.5])
    def test_ph_at_once(self, share, outside, phreeqc):
        tank, source = phreeqc.water(40, 6.6, 25), phreeqc.water(150, 7.9, 25)
        both = phreeqc.engine.mix_solutions({tank: 1 - share, source: share})
        ours = carbonate.mix(
            carbonate.Chemistry(6.6, 40, 25), carbonate.Chemistry(7.9, 150, 25), share
        )
        outside(ours.ph_minutes, float(both.pH))
        for water in (tank, source, both):
            water.forget()

    def test_of_a_water_with_itself_changes_nothing(self):
        same = carbonate.Chemistry(7.2, 80, 24, 0.4)
        mixed = carbonate.mix(same, same, 0.4)
        assert (mixed.ph_minutes, mixed.ph_hours) == pytest.approx((7.2, 7.2))
        assert mixed.tan_mg_l == pytest.approx(0.4)

    def test_hours_later_the_ph_follows_the_alkalinity(self):
        tank = carbonate.Chemistry(6.5, 20, 25)
        mixed = carbonate.mix(tank, carbonate.Chemistry(6.5, 140, 25), 0.3)
        assert mixed.alkalinity_mg_l_caco3 == pytest.approx(56)
        assert mixed.ph_hours > mixed.ph_minutes
