"""Water changes, dechlorination, chloride and units."""

import pytest

from apps.calc import units, water


class TestChangeFraction:
    @pytest.mark.outside(
        source="C2 = C1 (1 - f) + C_in f, by arithmetic", kind="computed", tolerance=1e-3
    )
    @pytest.mark.parametrize(
        ("now", "target", "source", "share"),
        [(200, 100, 10, 0.5263), (4, 2.8, 0, 0.3), (2.0, 1.0, 0, 0.5), (200, 162, 10, 0.2)],
    )
    def test_of_known_changes(self, now, target, source, share, outside):
        outside(water.change_fraction(now, target, source), share)

    def test_is_nothing_below_the_target(self):
        assert water.change_fraction(0.2, 0.5, 1.0) == 0

    @pytest.mark.parametrize(("target", "source"), [(10, 10), (10, 12), (10, 300)])
    def test_refuses_water_that_cannot_do_it(self, target, source):
        with pytest.raises(ValueError, match="not below the target"):
            water.change_fraction(200, target, source)

    def test_five_small_changes_leave_more_than_one_large(self):
        assert water.after_changes(100, 0, 0.1, 5) == pytest.approx(59.049)


class TestDechlorinator:
    @pytest.mark.outside(source="stoichiometry, mg per mg Cl2", kind="computed", tolerance=0.003)
    @pytest.mark.parametrize(
        ("agent", "grams"),
        [("sodium_thiosulfate", 1.54), ("ascorbic_acid", 0.5465), ("sodium_ascorbate", 0.6147)],
    )
    def test_for_a_top_up(self, agent, grams, outside):
        outside(water.dechlorinator_g(200, 1.0, agent), grams)

    @pytest.mark.outside(source="molar masses of the agents", kind="computed", tolerance=0.002)
    def test_factors_follow_from_molar_masses(self, outside):
        from periodictable import formula

        chlorine = formula("Cl2").mass
        outside(
            water.DECHLORINATORS["sodium_thiosulfate"], 2 * formula("Na2S2O3(H2O)5").mass / chlorine
        )
        outside(water.DECHLORINATORS["ascorbic_acid"], formula("C6H8O6").mass / chlorine)
        outside(water.DECHLORINATORS["sodium_ascorbate"], formula("C6H7NaO6").mass / chlorine)

    def test_refuses_an_unknown_agent(self):
        with pytest.raises(ValueError, match="agent must be one of sodium_thiosulfate"):
            water.dechlorinator_g(200, 1, "salt")

    def test_chloramine_leaves_ammonia(self):
        assert water.chloramine_n_mg_l(1.0) == pytest.approx(0.1976, abs=0.0005)


class TestNitriteChloride:
    @pytest.mark.outside(
        source="chloride by weight of the nitrite ion (SRAC 462's ratio)",
        kind="computed",
        tolerance=0.002,
    )
    @pytest.mark.parametrize(
        ("no2_n", "chloride", "ratio", "mg_l"),
        [(1.0, 5, 10, 45.9), (1.0, 40, 10, 0), (0.5, 0, 10, 27.07)],
    )
    def test_salt_for_the_ion(self, no2_n, chloride, ratio, mg_l, outside):
        outside(water.nitrite_chloride_g(1000, no2_n, chloride, "NaCl", ratio), mg_l)

    @pytest.mark.outside(
        source="molar masses of the salts, g per g chloride", kind="computed", tolerance=0.001
    )
    @pytest.mark.parametrize(
        ("salt", "factor"), [("NaCl", 1.6485), ("KCl", 2.103), ("CaCl2.2H2O", 2.0735)]
    )
    def test_salt_for_a_gram_of_chloride(self, salt, factor, outside):
        outside(water.CHLORIDE_SALTS[salt][0], factor)

    def test_only_sodium_chloride_brings_sodium(self):
        assert water.sodium_added_mg_l(1000, 45.9, "NaCl") == pytest.approx(18.06, abs=0.01)
        assert water.sodium_added_mg_l(1000, 45.9, "KCl") == 0


class TestUnits:
    @pytest.mark.outside(
        source="IUPAC atomic weights, ion to nitrogen", kind="computed", tolerance=1e-3
    )
    @pytest.mark.parametrize(
        ("basis", "share"), [("no3", 0.2259), ("no2", 0.3045), ("nh4", 0.7765), ("nh3", 0.8224)]
    )
    def test_ion_to_nitrogen(self, basis, share, outside):
        outside(units.as_nitrogen(1.0, basis), share)

    def test_there_and_back(self):
        assert units.from_nitrogen(units.as_nitrogen(7.0, "no2"), "no2") == pytest.approx(7)
        assert units.fahrenheit(units.celsius(77)) == pytest.approx(77)
        assert units.tds_from_ec(units.ec_from_tds(500, 700), 700) == pytest.approx(500)

    def test_alkalinity_of_drops(self):
        assert units.alkalinity_from_dkh(4) == pytest.approx(71.4, abs=0.1)
        assert units.alkalinity_from_meq(1) == pytest.approx(50.04, abs=0.01)

    @pytest.mark.outside(
        source="KCl 0.01 mol/L, 1413 µS/cm at 25 °C", kind="memory", tolerance=0.004
    )
    @pytest.mark.parametrize(("temp_c", "ec"), [(15, 1147), (18, 1225), (20, 1278), (25, 1413)])
    def test_conductivity_at_25_degrees(self, temp_c, ec, outside):
        outside(units.ec_at_25(ec, temp_c), 1413)

    def test_for_readers_with_us_units(self):
        assert units.us_gallons(3.785411784) == pytest.approx(1)
        assert units.ounces(100) == pytest.approx(3.527, abs=0.001)
        assert units.pounds(1) == pytest.approx(2.2046, abs=1e-4)
        assert units.feet(1) == pytest.approx(3.2808, abs=1e-4)

    def test_refuses_an_unknown_scale(self):
        with pytest.raises(ValueError, match="scale must be one of"):
            units.ec_from_tds(700, 600)

    def test_refuses_an_unknown_basis(self):
        with pytest.raises(ValueError, match="basis must be one of"):
            units.as_nitrogen(1, "p")
