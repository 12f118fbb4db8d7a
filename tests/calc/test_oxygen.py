"""Oxygen saturation against its sources, and the time without air."""

import math

import gsw
import pytest

from apps.calc import oxygen


def _gsw(temp_c: float, salinity: float) -> float:
    """Saturation [mg/L] of the Gibbs-SeaWater toolbox (Garcia & Gordon's fit, umol/kg)."""
    micromol = gsw.O2sol_SP_pt(salinity, temp_c)
    density = gsw.rho(gsw.SA_from_SP(salinity, 0, 0, 0), gsw.CT_from_t(salinity, temp_c, 0), 0)
    return float(micromol * 31.9988e-3 * density / 1000)


class TestSaturation:
    @pytest.mark.outside(source="EN 25814, table 1", kind="read", tolerance=0.05, absolute=True)
    @pytest.mark.parametrize(
        ("temp_c", "expected"),
        [(0, 14.6), (10, 11.3), (15, 10.1), (20, 9.09), (25, 8.26), (28, 7.83), (30, 7.56)],
    )
    def test_equals_the_standard_table(self, temp_c, expected, outside):
        outside(oxygen.saturation_mg_l(temp_c), expected)

    @pytest.mark.outside(
        source="gsw, Garcia & Gordon's fit of Benson & Krause",
        kind="computed",
        tolerance=0.005,
        absolute=True,
    )
    @pytest.mark.parametrize("temp_c", [0, 5, 10, 15, 20, 25, 28, 30])
    @pytest.mark.parametrize("salinity", [0, 5, 15])
    def test_agrees_with_the_seawater_toolbox(self, temp_c, salinity, outside):
        outside(oxygen.saturation_mg_l(temp_c, 0, salinity), _gsw(temp_c, salinity))

    @pytest.mark.outside(
        source="examples of a published function for Benson & Krause",
        kind="read",
        tolerance=0.001,
        absolute=True,
    )
    def test_equals_a_published_example_at_sea_level(self, outside):
        outside(oxygen.saturation_mg_l(15), 10.08428)

    @pytest.mark.outside(
        source="fluids, standard atmosphere of 1976", kind="computed", tolerance=1e-4
    )
    @pytest.mark.parametrize("altitude_m", [0, 500, 1000, 2000])
    def test_pressure_is_that_of_the_standard_atmosphere(self, altitude_m, outside):
        from fluids.atmosphere import ATMOSPHERE_1976

        outside(oxygen.pressure_atm(altitude_m), ATMOSPHERE_1976(altitude_m).P / 101325)

    def test_falls_with_altitude(self):
        values = [oxygen.saturation_mg_l(25, height) for height in (0, 500, 1000, 2000)]
        assert values == pytest.approx([8.263, 7.770, 7.300, 6.427], abs=0.001)

    def test_percent_is_a_share_of_saturation(self):
        assert oxygen.percent(oxygen.saturation_mg_l(22, 300), 22, 300) == pytest.approx(100)


class TestMinutesWithoutAir:
    @pytest.mark.outside(
        source="respiration 150/220/300/360 mg/kg/h at 18/24/28/32 °C",
        kind="common practice",
        tolerance=0.02,
    )
    @pytest.mark.parametrize(
        ("temp_c", "kg_m3", "minutes"),
        [(18, 10, 222), (24, 10, 127), (28, 10, 83), (32, 10, 62), (28, 20, 42), (32, 20, 31)],
    )
    def test_fish_alone_from_85_percent_to_2_5(self, temp_c, kg_m3, minutes, outside):
        start = 0.85 * oxygen.saturation_mg_l(temp_c)
        found = oxygen.minutes_without_air(start, temp_c, kg_m3, 1000, 2.5, others_share=0)
        outside(found, minutes)

    def test_bacteria_and_sludge_shorten_it(self):
        alone = oxygen.minutes_without_air(6, 26, 10, 1000, 3, others_share=0)
        assert oxygen.minutes_without_air(6, 26, 10, 1000, 3) == pytest.approx(alone / 1.5)

    def test_is_halved_after_feeding(self):
        unfed = oxygen.minutes_without_air(6, 26, 10, 1000, 3)
        assert oxygen.minutes_without_air(6, 26, 10, 1000, 3, fed=True) == pytest.approx(unfed / 2)

    def test_is_nothing_at_the_limit(self):
        assert oxygen.minutes_without_air(3, 26, 10, 1000, 3) == 0

    def test_has_no_end_without_fish(self):
        assert math.isinf(oxygen.minutes_without_air(6, 26, 0, 1000, 3))

    def test_gives_cold_fish_no_longer_than_at_18_degrees(self):
        assert oxygen.respiration_mg_kg_h(8) == oxygen.respiration_mg_kg_h(18)

    def test_refuses_a_system_without_water(self):
        with pytest.raises(ValueError, match="volume_l"):
            oxygen.minutes_without_air(6, 26, 10, 0, 3)
