"""Worked examples of handbooks, papers and published tables, each with the error that is allowed."""

import math

import pytest

from apps.calc import (
    ammonia,
    carbonate,
    feed,
    filtration,
    growth,
    hydraulics,
    oxygen,
    statistics,
    units,
    water,
)
from apps.calc.ahead.priors import CONVERSION
from apps.calc.ahead.step import OXYGEN_FIRST, OXYGEN_SECOND
from apps.calc.control import time_to_level
from apps.calc.design.sizing import UPTAKE_N
from apps.calc.dosing_plan.acids import acid_mg_l, ph_after_acid
from apps.calc.species import species_named

UVI = "Rakocy and others, tilapia and vegetables at the Univ. of the Virgin Islands"


class TestUnits:
    @pytest.mark.outside(
        source="IUPAC atomic weights, ion against element", kind="computed", tolerance=2e-4
    )
    @pytest.mark.parametrize(
        ("basis", "factor"), [("no3", 4.4267), ("no2", 3.2845), ("nh3", 1.2159), ("nh4", 1.2879)]
    )
    def test_ion_of_a_milligram_of_nitrogen(self, basis, factor, outside):
        outside(units.from_nitrogen(1.0, basis), factor)

    @pytest.mark.outside(
        source="definitions of dKH (10 mg/L CaO) and meq", kind="computed", tolerance=1e-4
    )
    def test_degrees_and_equivalents(self, outside):
        outside(units.alkalinity_from_dkh(1.0), 17.848)
        # 50.0445 with the calcium carbonate of older tables
        outside(units.alkalinity_from_meq(1.0), 50.0445)

    @pytest.mark.outside(
        source="a meter's table of dissolved solids at 1413 µS/cm: NaCl 702.1, '442' 1000",
        kind="read", tolerance=0.015,
    )  # fmt: skip
    @pytest.mark.parametrize(("scale", "ppm"), [(500, 702.1), (700, 1000.0)])
    def test_scales_of_dissolved_solids(self, scale, ppm, outside):
        outside(units.tds_from_ec(1413, scale), ppm)


class TestAmmonia:
    @pytest.mark.outside(
        source="published speciation of 0.030 mmol/L ammonia at 15 °C", kind="read", tolerance=0.005
    )
    @pytest.mark.parametrize(("ph", "mmol"), [(8.5, 0.00238), (9.0, 0.00643)])
    def test_a_speciation_example(self, ph, mmol, outside):
        outside(ammonia.unionised_fraction(ph, 15), mmol / 0.030)

    @pytest.mark.outside(source="Univ. Florida FA16, its example", kind="read", tolerance=1e-3)
    def test_the_papers_own_example(self, outside):
        outside(ammonia.nh3_n(1.0, 8.0, 24), 0.0502)


def _height(kpa: float) -> float:
    """Return the height [m] at which the standard atmosphere has this pressure."""
    return (1 - (kpa / 101.325) ** (1 / 5.25588)) / 2.25577e-5


class TestOxygen:
    @pytest.mark.outside(
        source="examples of a published function for Benson & Krause, with its pressures",
        kind="read", tolerance=0.001, absolute=True,
    )  # fmt: skip
    @pytest.mark.parametrize(
        ("temp_c", "kpa", "expected"),
        [(5, 101.2, 12.75479), (15, 100.8, 10.03115), (25, 100.5, 8.19392)],
    )
    def test_at_a_barometers_pressure(self, temp_c, kpa, expected, outside):
        outside(oxygen.saturation_mg_l(temp_c, _height(kpa)), expected)

    @pytest.mark.outside(
        source="Benson & Krause by USGS memo 99.01, with the standard atmosphere", kind="computed",
        tolerance=0.0015, absolute=True,
    )  # fmt: skip
    @pytest.mark.parametrize(
        ("temp_c", "heights"),
        [(20, (8.554, 8.041, 7.088)), (25, (7.770, 7.300, 6.427)), (29, (7.228, 6.787, 5.967))],
    )
    def test_table_of_heights(self, temp_c, heights, outside):
        for height, expected in zip((500, 1000, 2000), heights, strict=True):
            outside(oxygen.saturation_mg_l(temp_c, height), expected)

    @pytest.mark.outside(
        source="an instrument maker's table of pressures (older solubilities, up to 0.1 high)",
        kind="read", tolerance=0.11, absolute=True,
    )  # fmt: skip
    @pytest.mark.parametrize(
        ("temp_c", "mm", "expected"),
        [(10, 700, 10.4), (20, 675, 8.1), (15, 725, 9.7), (23, 650, 7.4)],
    )
    def test_an_older_table(self, temp_c, mm, expected, outside):
        outside(oxygen.saturation_mg_l(temp_c, _height(mm * 0.1333224)), expected)


class TestCarbonate:
    @pytest.mark.outside(
        source="PHREEQC, air with 420 ppm", kind="computed", tolerance=0.03, absolute=True
    )
    @pytest.mark.parametrize(
        ("alkalinity", "temp_c", "expected"), [(150, 20, 8.568), (100, 29, 8.458)]
    )
    def test_air_balance_of_hard_water(self, alkalinity, temp_c, expected, outside):
        outside(carbonate.air_equilibrium_ph(alkalinity, temp_c), expected)

    # alkalinity, pH, °C, target, acid, closed mg/L, CO2 held mg/L
    ACIDS = [
        (100, 7.6, 20, 7.0, "HCl", 10.09, 54.7), (150, 8.0, 25, 6.8, "HCl", 26.0, 102.6),
        (80, 7.4, 29, 6.8, "HCl", 10.6, 43.7), (100, 7.6, 20, 7.0, "H3PO4", 18.2, None),
        (150, 8.0, 25, 6.8, "H3PO4", 49.5, None), (80, 7.4, 29, 6.8, "H3PO4", 20.5, None),
    ]  # fmt: skip

    @pytest.mark.outside(
        source="PHREEQC, pure acid in closed water", kind="computed", tolerance=0.05, absolute=True
    )
    @pytest.mark.parametrize(("alk", "ph", "temp_c", "target", "acid", "closed", "held"), ACIDS)
    def test_acid_in_closed_water(self, alk, ph, temp_c, target, acid, closed, held, outside):
        outside(ph_after_acid(alk, ph, temp_c, acid, closed), target)

    @pytest.mark.outside(
        source="PHREEQC, pure acid with CO2 held", kind="computed", tolerance=0.005
    )
    @pytest.mark.parametrize(
        ("alk", "ph", "temp_c", "target", "acid", "closed", "held"),
        [row for row in ACIDS if row[-1]],
    )
    def test_acid_with_co2_held(self, alk, ph, temp_c, target, acid, closed, held, outside):
        outside(acid_mg_l(acid, alk * (1 - 10 ** (target - ph))), held)

    @pytest.mark.outside(
        source="stoichiometry, mg/L of salt per 10 mg/L alkalinity", kind="computed", tolerance=1e-3
    )
    @pytest.mark.parametrize(
        ("salt", "mg_l"),
        [("KHCO3", 20.01), ("NaHCO3", 16.79), ("K2CO3", 13.81), ("Ca(OH)2", 7.403), ("KOH", 11.21)],
    )
    def test_dose_for_ten_of_alkalinity(self, salt, mg_l, outside):
        outside(10 / carbonate.SALTS[salt].strength, mg_l)


class TestNitrification:
    @pytest.mark.outside(
        source="stoichiometry of nitrification without growth, g per g N", kind="computed",
        tolerance=1e-3,
    )  # fmt: skip
    def test_oxygen_and_alkalinity(self, outside):
        outside(OXYGEN_FIRST + OXYGEN_SECOND, 2 * 2 * 15.999 / units.N)
        outside(feed.ALKALINITY_PER_N, 2 * 50.0445 / units.N)
        outside(feed.ALKALINITY_PER_NITRATE_N, 50.0445 / units.N)

    @pytest.mark.outside(
        source="worked example: 348 g of 32 % feed, 6 m2 of plants, 58 g CaCO3 a day",
        kind="computed", tolerance=0.01,
    )  # fmt: skip
    def test_base_for_a_day(self, outside):
        taken = 6 * 0.6 * 50 / (10 + 50)  # g nitrogen by plants in water with 50 mg/L nitrate
        used = feed.alkalinity_use_g_day(348, 0.32, taken)
        outside(used + 20 * (60 - 80) / 1000 - 45 * 80 / 1000, 58.4)
        outside(58 / carbonate.SALTS["KHCO3"].strength, 116)


class TestFilter:
    @pytest.mark.outside(
        source="9.27 g TAN a day at 0.45 g/m2: 20.6 m2, 41 L of media with 500 m2/m3",
        kind="computed", tolerance=0.01,
    )  # fmt: skip
    def test_media_for_an_area(self, outside):
        area = feed.tan_g_day(315, 0.32) / 0.45
        outside(area, 20.6)
        outside(filtration.media_litres("moving_bed", area), 41)

    @pytest.mark.outside(
        source="university-extension slides: trickling filters 0.2 to 1.0 g/m2/day at 15 to 20 °C",
        kind="read", tolerance=0.8,
    )  # fmt: skip
    @pytest.mark.parametrize("temp_c", [15, 20])
    def test_rate_of_an_area(self, temp_c, outside):
        rate = filtration.capacity_g_day(1.0, temp_c)
        outside(rate, 0.6)
        assert 0.1 < rate < 1.0


class TestFish:
    @pytest.mark.outside(
        source=f"{UVI}: harvest by stocking and survival", kind="read", tolerance=0.005
    )
    @pytest.mark.parametrize(
        ("stocked", "survival", "grams", "kg_m3"),
        [(77, 0.983, 813.8, 61.5), (154, 0.899, 512.5, 70.7)],
    )
    def test_density_at_harvest(self, stocked, survival, grams, kg_m3, outside):
        outside(growth.density_kg_m3(stocked * survival * grams / 1000, 1000), kg_m3)

    @pytest.mark.outside(source=f"{UVI}: 4.16 t a year", kind="read", tolerance=0.003)
    def test_harvest_of_a_year(self, outside):
        """A tank of 7.8 m3 every six weeks, each 24 weeks old."""
        at_harvest = growth.density_kg_m3(77 * 0.983 * 813.8 / 1000, 1000)
        outside(at_harvest * 7.8 * 52 / 6 / 1000, 4.16)

    @pytest.mark.outside(source=f"{UVI}: feed per gain 1.7 and 1.8", kind="read", tolerance=0.17)
    @pytest.mark.parametrize("published", [1.7, 1.8])
    def test_feed_per_gain(self, published, outside):
        """The forecast begins with 1.5, that of small tanks; what a loop eats it learns."""
        outside(CONVERSION, published)

    @pytest.mark.outside(
        source=f"{UVI}: 79 to 814 g in 24 weeks at 28 °C", kind="read", tolerance=0.06
    )
    def test_weight_at_harvest(self, outside):
        later = growth.weight_after_g(79, 28, 168, species_named("nile_tilapia").tgc)
        outside(math.cbrt(later), math.cbrt(813.8))

    @pytest.mark.outside(source="Fulton's K, by arithmetic", kind="computed", tolerance=5e-4)
    @pytest.mark.parametrize(
        ("grams", "cm", "k"), [(60, 14.5, 1.968), (250, 23.5, 1.926), (500, 29, 2.050)]
    )
    def test_condition(self, grams, cm, k, outside):
        outside(growth.condition(grams, cm), k)

    @pytest.mark.outside(
        source="FishBase, a spindle of 10 cm weighs about 10 g", kind="read", tolerance=1e-6
    )
    def test_weight_of_a_length(self, outside):
        outside(growth.weight_from_length_g(10, 0.01, 3.0), 10)

    @pytest.mark.outside(
        source="Student's interval with finite correction, 15 of 150 fish", kind="computed",
        tolerance=0.001,
    )  # fmt: skip
    def test_biomass_of_a_sample(self, outside):
        weights = (52, 61, 58, 66, 49, 71, 55, 63, 60, 57, 68, 54, 62, 59, 65)
        found = growth.biomass(weights, 150)
        for got, expected in (
            (found.mean_g, 60.0), (found.cv * 60, 6.094), (found.kg_low, 8.52), (found.kg_high, 9.48)
        ):  # fmt: skip
            outside(got, expected)


class TestBeds:
    @pytest.mark.outside(
        source="Rakocy 2007, ten guidelines: 60 to 100 g/m2/day", kind="read", tolerance=0.003
    )
    @pytest.mark.parametrize(("feed_g", "area", "ratio"), [(1000, 16.7, 60), (20_000, 200, 100)])
    def test_feed_of_a_raft(self, feed_g, area, ratio, outside):
        outside(feed.per_area_g_m2_day(feed_g, area), ratio)

    @pytest.mark.outside(
        source=f"{UVI}: basil 25.0 and 23.4 kg/m2 a year, with 8 % dry matter of 4.5 % nitrogen (memory)",
        kind="read", tolerance=0.3,
    )  # fmt: skip
    @pytest.mark.parametrize("kg", [25.0, 23.4])
    def test_nitrogen_in_a_years_basil(self, kg, outside):
        """What a leafy bed takes by the sizing rule against what is picked of it."""
        outside(UPTAKE_N["leafy"], 1000 * kg * 0.08 * 0.045 / 365)

    @pytest.mark.outside(
        source="25 heads of lettuce of 180 g in 35 days, 5 % dry matter of 4.5 % nitrogen",
        kind="computed", tolerance=0.05,
    )  # fmt: skip
    def test_nitrogen_in_lettuce(self, outside):
        outside(UPTAKE_N["leafy"], 25 * 180 * 0.05 * 0.045 / 35)


class TestWater:
    @pytest.mark.outside(source="dilution, by arithmetic", kind="computed", tolerance=2e-4)
    def test_changes_of_water(self, outside):
        outside(water.after_changes(200, 10, 0.2), 162.0)
        outside(water.after_changes(1, 0, 0.1, 5), 0.5905)

    @pytest.mark.outside(source="volumes, by arithmetic", kind="computed", tolerance=1e-4)
    def test_volumes(self, outside):
        outside(hydraulics.upright_cylinder_l(1.5, 0.8), 1413.7)
        outside(hydraulics.horizontal_cylinder_l(1.0, 1.2, 0.3), 237.80)
        outside(hydraulics.cone_bottom_l(1.0, 0.4, 0.6, 0.2), 13.09)
        outside(hydraulics.gravel_bed_l(1.2, 1.0, 0.25, 0.45), 135)


class TestPumps:
    @pytest.mark.outside(
        source="Darcy-Weisbach at 30 % efficiency, by hand", kind="computed", tolerance=0.04
    )
    @pytest.mark.parametrize(
        ("pump", "reynolds", "watts"),
        [
            ((1000, 25, 5, 6, 1.2, 20), 14_097, 13), ((3000, 40, 6, 8, 1.5, 20), 26_433, 48),
            ((6000, 50, 10, 10, 1.8, 25), 47_524, 126), ((10000, 53.6, 12, 9.5, 1.6, 29), 80_675, 241),
        ],
    )  # fmt: skip
    def test_power(self, pump, reynolds, watts, outside):
        found = hydraulics.pump_head(*pump)
        outside(found.reynolds, reynolds)
        outside(found.watts, watts)


class TestReadings:
    @pytest.mark.outside(
        source="exact Kendall on seven readings of pH: tau -0.714, p 0.0302", kind="computed",
        tolerance=0.002,
    )  # fmt: skip
    def test_is_there_a_trend(self, outside):
        found = statistics.kendall(range(0, 49, 7), [6.9, 6.85, 6.8, 7.9, 6.7, 6.66, 6.6])
        outside(found.tau, -5 / 7)
        outside(found.p, 0.0302)

    @pytest.mark.outside(
        source="Fieller's interval, by hand: 19.25 days, 17.56 to 21.08", kind="computed",
        tolerance=0.0005,
    )  # fmt: skip
    def test_time_until_alkalinity_is_low(self, outside):
        found = time_to_level(range(0, 49, 7), [60, 55, 52, 46, 41, 37, 33], 20)
        for got, expected in (
            (found.middle, 19.25), (found.soonest, 17.56), (found.latest, 21.08)
        ):  # fmt: skip
            outside(got, expected)
