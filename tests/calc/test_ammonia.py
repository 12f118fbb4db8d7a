"""Un-ionised ammonia against its published tables and a speciation program."""

import pytest

from apps.calc import ammonia


class TestUnionisedFraction:
    @pytest.mark.outside(
        source="Univ. Florida FA16, table 1", kind="read", tolerance=0.0001, absolute=True
    )
    @pytest.mark.parametrize(
        ("temp_c", "ph", "expected"),
        [
            (24, 8.0, 0.0502),
            (28, 7.0, 0.0069),
            (20, 7.0, 0.0039),
            (30, 7.0, 0.0080),
            (16, 7.0, 0.0029),
            (6, 7.0, 0.0013),
        ],
    )
    def test_equals_the_published_table(self, temp_c, ph, expected, outside):
        outside(ammonia.unionised_fraction(ph, temp_c), expected)

    @pytest.mark.outside(
        source="Trussell 1972, table of a test maker's manual", kind="read", tolerance=0.03
    )
    @pytest.mark.parametrize(
        ("temp_c", "ph", "percent"),
        [(25, 8.0, 5.28), (20, 8.0, 3.83), (25, 7.0, 0.55), (10, 8.5, 5.55), (15, 8.5, 7.98)],
    )
    def test_agrees_with_an_older_table(self, temp_c, ph, percent, outside):
        outside(100 * ammonia.unionised_fraction(ph, temp_c), percent)

    @pytest.mark.outside(source="PHREEQC, phreeqc.dat", kind="computed", tolerance=0.01)
    @pytest.mark.parametrize("temp_c", [10, 20, 25, 28, 30])
    @pytest.mark.parametrize("ph", [6.5, 7.0, 7.5, 8.0, 8.5])
    def test_agrees_with_speciation(self, temp_c, ph, outside, phreeqc):
        water = phreeqc.engine.add_solution(
            {"temp": temp_c, "pH": ph, "units": "mmol/kgw", "N(-3)": 0.1, "Cl": "0.1 charge"}
        )
        species = water.species_molalities
        whole = species["NH3"] + species["NH4+"]
        outside(ammonia.unionised_fraction(ph, temp_c), species["NH3"] / whole)
        water.forget()

    def test_refuses_a_slip_of_the_decimal_point(self):
        with pytest.raises(ValueError, match="ph must be between 3 and 11, not 71"):
            ammonia.unionised_fraction(71, 20)

    def test_rises_by_half_for_two_tenths_of_ph(self):
        rise = ammonia.nh3_n(0.5, 7.2, 26) / ammonia.nh3_n(0.5, 7.0, 26)
        assert rise == pytest.approx(1.58, abs=0.03)


class TestTanForNh3:
    def test_is_the_reverse(self):
        assert ammonia.nh3_n(ammonia.tan_for_nh3(0.05, 7.8, 27), 7.8, 27) == pytest.approx(0.05)
