"""Worked examples of loops: what flows, what air brings, what settles, and what is dissolved."""

import math

import pytest

from apps.calc import (
    aeration,
    ammonia,
    calcite,
    carbonate,
    feed,
    filtration,
    hydraulics,
    loop_flow,
    oxygen,
    units,
    water,
)
from apps.calc.ahead.drive import WATER_FACTOR
from apps.calc.design.sizing import AIR_CHOSEN, LEAST_SETTLER_M, size
from apps.calc.design.wish import Wish
from apps.calc.recipe.salts import SALTS
from tests.calc.design.test_sizing import MILD, RULES

FEED_G, PROTEIN = 315.0, 0.32  # of 9 kg of fish at 3.5 %, the loop of the examples


class TestWildWater:
    @pytest.mark.outside(
        source="US EPA 2013: 1.9 mg TAN/L for a month at pH 7, 20 °C", kind="read", tolerance=0.01
    )
    def test_chronic_criterion(self, outside):
        outside(ammonia.wild_water_tan(7.0, 20), 1.9)

    @pytest.mark.outside(
        source="US EPA 2013: 4.8 mg TAN/L over four days, 2.5 times the month's (memory)",
        kind="read", tolerance=0.02,
    )  # fmt: skip
    def test_four_days(self, outside):
        outside(2.5 * ammonia.wild_water_tan(7.0, 20), 4.8)

    @pytest.mark.outside(
        source="US EPA 2013's formula, by hand", kind="memory", tolerance=0.005, absolute=True
    )
    @pytest.mark.parametrize(
        ("ph", "temp_c", "tan"), [(7, 25, 1.37), (8, 25, 0.56), (7.5, 30, 0.73)]
    )
    def test_other_waters(self, ph, temp_c, tan, outside):
        outside(ammonia.wild_water_tan(ph, temp_c), tan)

    def test_cold_water_is_as_at_seven_degrees(self):
        assert ammonia.wild_water_tan(7.0, 2) == ammonia.wild_water_tan(7.0, 7)

    @pytest.mark.parametrize(("ph", "temp_c"), [(6.4, 20), (9.1, 20), (7, -1), (7, 31)])
    def test_refuses_what_it_was_not_made_for(self, ph, temp_c):
        assert not ammonia.in_wild_range(ph, temp_c)
        with pytest.raises(ValueError, match="must be between"):
            ammonia.wild_water_tan(ph, temp_c)


class TestAir:
    @pytest.mark.outside(
        source="OTR/SOTR by theta 1.024 and Benson & Krause, by hand", kind="computed",
        tolerance=0.0006, absolute=True,
    )  # fmt: skip
    @pytest.mark.parametrize(
        ("temp_c", "do", "share"), [(29, 5, 0.366), (29, 6, 0.230), (25, 5, 0.404), (20, 0, 1.0)]
    )
    def test_share_of_clean_water(self, temp_c, do, share, outside):
        outside(aeration.share_here(temp_c, do), share)

    @pytest.mark.outside(
        source="an air pump of 60 L/min at 2 % brings 20 g/h", kind="computed", tolerance=0.005
    )
    def test_air_pump(self, outside):
        outside(aeration.clean_water_g_h(60, 2), 20)

    @pytest.mark.outside(
        source="standard atmosphere (fluids) and 20.95 % oxygen, g in a litre", kind="computed",
        tolerance=0.003,
    )  # fmt: skip
    def test_oxygen_in_a_litre_of_air(self, outside):
        moles = 101.325 / (8.314462 * 293.15)
        outside(aeration.OXYGEN_PER_LITRE, 0.2095 * 31.998 * moles)

    @pytest.mark.outside(
        source="2 % of the air's oxygen at 29 °C and 5 mg/L", kind="computed", tolerance=0.03
    )
    def test_a_design_sizes_air_by_the_same_reckoning(self, outside):
        outside(AIR_CHOSEN, aeration.clean_water_g_h(1, 2) * aeration.share_here(29, 5))

    def test_air_takes_out_what_is_too_much(self):
        assert aeration.share_here(25, 9) < 0 < aeration.share_here(25, 8)
        assert aeration.share_here(25, 5, altitude_m=2000) < aeration.share_here(25, 5)

    @pytest.mark.outside(
        source="9 kg in 1200 L isolated, 6.6 to 2 mg/L at 5.9 g/h: 0.9 h", kind="computed",
        tolerance=0.06,
    )  # fmt: skip
    def test_hours_in_a_power_cut(self, outside):
        """The fish alone, as they eat: 0.45 g of oxygen for each g of 313 g of feed a day."""
        minutes = oxygen.minutes_without_air(6.6, 29, 9, 1200, 2, fed=True, others_share=0)
        outside(minutes / 60, (6.6 - 2) * 1200 / 5900)
        outside(1000 * feed.fish_oxygen_g_day(313) / 24, 5900)

    def test_the_answer_for_a_loop_is_shorter_than_the_fish_alone(self):
        whole = oxygen.minutes_without_air(6.6, 29, 9, 1200, 2, fed=True)
        assert 0.6 * 60 < whole < 0.9 * 60


class TestLoopFlow:
    @pytest.mark.outside(
        source="315 g of 32 % feed: 773 L/h by ammonia, 2953 by oxygen, 940 by carbon dioxide",
        kind="computed", tolerance=0.003,
    )  # fmt: skip
    def test_flow_of_each(self, outside):
        tan = feed.tan_g_day(FEED_G, PROTEIN)
        outside(tan, 9.274)
        outside(loop_flow.needed_l_h(tan, 1.0 * 0.5), 773)
        outside(loop_flow.needed_l_h(feed.fish_oxygen_g_day(FEED_G), 7 - 5), 2953)
        stripped = 0.6 * (15 - carbonate.air_co2_mg_l(29))
        outside(loop_flow.needed_l_h(feed.fish_co2_g_day(FEED_G), stripped), 940)

    @pytest.mark.outside(source="steady state, P = Q E C", kind="computed", tolerance=0.001)
    def test_steady_state(self, outside):
        outside(loop_flow.steady_mg_l(9.27, 773, 0.5), 1.00)

    @pytest.mark.parametrize(("load", "share", "held"), [(9.27, 0.5, 1.0), (3, 0.3, 0.4)])
    def test_the_flow_holds_what_it_was_asked_to_hold(self, load, share, held):
        flow = loop_flow.needed_l_h(load, held * share)
        assert loop_flow.steady_mg_l(load, flow, share) == pytest.approx(held)

    @pytest.mark.outside(source="44.01 / 32.00, molar masses", kind="computed", tolerance=1e-3)
    def test_carbon_dioxide_breathed_out(self, outside):
        outside(feed.CO2_PER_OXYGEN, units.CO2 / 31.998)
        outside(feed.fish_co2_g_day(FEED_G), 195)

    @pytest.mark.outside(
        source="carbon dioxide in balance with 420 ppm by PHREEQC's constants, 25 °C",
        kind="computed", tolerance=0.02,
    )  # fmt: skip
    def test_carbon_dioxide_of_the_air(self, outside):
        outside(carbonate.air_co2_mg_l(25), 10**-1.468 * 420e-6 * units.CO2 * 1000)

    @pytest.mark.outside(
        source="315 g of feed: fish and filter take 184 g of oxygen a day", kind="computed",
        tolerance=0.015,
    )  # fmt: skip
    def test_oxygen_of_fish_and_filter(self, outside):
        filtered = 4.57 * feed.tan_g_day(FEED_G, PROTEIN)
        outside(feed.fish_oxygen_g_day(FEED_G) + filtered, 184)
        assert feed.oxygen_g_day(FEED_G) > 184  # sludge breathes too


class TestAmmoniaOfFeed:
    @pytest.mark.outside(
        source="FAO 589 app. 4, ammonia of 200 g of 32 % feed: 7.50 g (upper bound)", kind="memory",
        tolerance=0.06,
    )  # fmt: skip
    def test_against_the_handbooks_other_formula(self, outside):
        outside(feed.tan_g_day(200, 0.32), 7.50 * units.NITROGEN_SHARE["nh3"])

    @pytest.mark.outside(
        source="university slides: ammonia is 3 % of feed", kind="read", tolerance=0.02
    )
    def test_rule_of_three_percent(self, outside):
        outside(feed.tan_g_day(1000, 0.32), 30)

    @pytest.mark.outside(
        source="tilapia bulletin: 0.22 g/kg/day, 0.09 to 0.46", kind="read", tolerance=0.35
    )
    def test_of_a_kilogram_of_fish(self, outside):
        made = feed.tan_g_day(10, 0.32)
        outside(made, 0.22)
        assert 0.09 < made < 0.46

    @pytest.mark.outside(
        source="mature filters, 0.05 g TAN per square foot and day", kind="read", tolerance=0.08
    )
    def test_filter_by_the_square_foot(self, outside):
        outside(filtration.REFERENCE_RATE, 0.05 / units.METRES_PER_FOOT**2)

    @pytest.mark.outside(
        source="surfaces by the cubic foot: pea gravel 90, scrub pads 400", kind="read",
        tolerance=0.003,
    )  # fmt: skip
    @pytest.mark.parametrize(("kind", "feet"), [("pea_gravel", 90), ("scrub_pads", 400)])
    def test_surface_of_media(self, kind, feet, outside):
        outside(filtration.MEDIA[kind], feet / units.METRES_PER_FOOT)


class TestSettler:
    @pytest.mark.outside(
        source="Davidson & Summerfelt 2005, radial flow at 0.0031 m3/s/m2", kind="read",
        tolerance=0.005, absolute=True,
    )  # fmt: skip
    @pytest.mark.parametrize(
        ("flow", "area", "across"), [(1000, 0.090, 0.34), (3000, 0.269, 0.59), (6000, 0.538, 0.83)]
    )
    def test_at_the_published_load(self, flow, area, across, outside):
        found = hydraulics.settler_m2(flow, 0.0031 * 86_400)
        outside(found, area)
        outside(hydraulics.circle_m(found), across)

    @pytest.mark.outside(
        source="surface load of 100 m a day, by hand", kind="computed", tolerance=1e-6
    )
    @pytest.mark.parametrize(("flow", "area"), [(1000, 0.24), (3000, 0.72), (6000, 1.44)])
    def test_at_a_careful_load(self, flow, area, outside):
        outside(hydraulics.settler_m2(flow, 100), area)

    @pytest.mark.outside(
        source="area = flow / surface load, 100 to 200 m a day", kind="common practice",
        tolerance=1e-6,
    )  # fmt: skip
    @pytest.mark.parametrize("beds", [2, 20, 60])
    def test_a_design_has_that_surface(self, beds, outside):
        made = size(Wish("beds", beds, "nile_tilapia", "leafy", "raft"), MILD, RULES)
        day_m3 = made.of("flow").chosen * 24 / 1000
        settler = made.of("settler")
        for across, load in ((settler.high, 100), (settler.low, 200), (settler.chosen, 150)):
            area = max(day_m3 / load, math.pi / 4 * LEAST_SETTLER_M**2)
            outside(math.pi / 4 * across**2, area)


class TestFriction:
    @pytest.mark.outside(
        source="Hazen-Williams with C = 150, friction of the straight pipe", kind="computed",
        tolerance=0.14,
    )  # fmt: skip
    @pytest.mark.parametrize(
        ("pump", "metres"),
        [
            ((1000, 25, 5, 0, 0, 20), 0.082), ((3000, 40, 6, 0, 0, 20), 0.076),
            ((6000, 50, 10, 0, 0, 25), 0.155), ((10000, 53.6, 12, 0, 0, 29), 0.341),
        ],
    )  # fmt: skip
    def test_second_opinion(self, pump, metres, outside):
        flow, bore, length = pump[0] / 3.6e6, pump[1] / 1000, pump[2]
        hazen = 10.67 * length * flow**1.852 / (150**1.852 * bore**4.8704)
        assert hazen == pytest.approx(metres, abs=0.001)
        outside(hydraulics.pump_head(*pump).friction_m, hazen)

    @pytest.mark.outside(
        source="Darcy-Weisbach by hand, the straight pipe", kind="computed", tolerance=0.006
    )
    @pytest.mark.parametrize(
        ("pump", "metres"),
        [
            ((1000, 25, 5, 0, 0, 20), 0.093), ((3000, 40, 6, 0, 0, 20), 0.081),
            ((6000, 50, 10, 0, 0, 25), 0.155), ((10000, 53.6, 12, 0, 0, 29), 0.326),
        ],
    )  # fmt: skip
    def test_first_opinion(self, pump, metres, outside):
        outside(hydraulics.pump_head(*pump).friction_m, metres)


class TestElements:
    @pytest.mark.outside(source="periodictable, molar masses", kind="computed", tolerance=1e-4)
    @pytest.mark.parametrize(
        ("basis", "factor", "compound", "element", "atoms"),
        [("no3", 4.4267, "NO3", "N", 1), ("no2", 3.2845, "NO2", "N", 1),
         ("nh3", 1.2159, "NH3", "N", 1), ("nh4", 1.2879, "NH4", "N", 1),
         ("po4", 3.0662, "PO4", "P", 1), ("p2o5", 2.2913, "P2O5", "P", 2),
         ("k2o", 1.2046, "K2O", "K", 2)],
    )  # fmt: skip
    def test_of_ions_and_oxides(self, basis, factor, compound, element, atoms, outside):
        from periodictable import formula

        ours = 1 / units.as_element(1.0, basis)
        outside(ours, factor)
        outside(ours, formula(compound).mass / (atoms * formula(element).mass))

    def test_refuses_an_unknown_basis(self):
        with pytest.raises(ValueError, match="basis must be one of no3"):
            units.as_element(1, "so4")

    @pytest.mark.outside(
        source="1 grain in a US gallon: 64.799 mg in 3.7854 L", kind="computed", tolerance=1e-4
    )
    def test_grains(self, outside):
        outside(units.MG_CACO3_PER_GRAIN_US_GALLON, 64.79891 / units.LITRES_PER_US_GALLON)

    @pytest.mark.outside(
        source="g of chelate for 2 mg/L iron in 1000 L", kind="computed", tolerance=0.002
    )
    @pytest.mark.parametrize(
        ("chelate", "grams"),
        [("Fe-EDTA 13 %", 15.4), ("Fe-DTPA 11 %", 18.2), ("Fe-EDDHA 6 %", 33.3)],
    )
    def test_iron_of_a_chelate(self, chelate, grams, outside):
        outside(2 / SALTS[chelate].share("fe"), grams)


class TestLime:
    WATERS = ((40, 50, 7.0, -0.99), (80, 100, 7.6, 0.16), (60, 80, 8.2, 0.54))

    @pytest.mark.outside(
        source="PHREEQC, saturation index of calcite at 25 °C", kind="computed", tolerance=0.02,
        absolute=True,
    )  # fmt: skip
    @pytest.mark.parametrize(("calcium", "alkalinity", "ph", "index"), WATERS)
    def test_index(self, calcium, alkalinity, ph, index, outside):
        outside(calcite.saturation_index(alkalinity, ph, 25, calcium), index)

    @pytest.mark.outside(
        source="PHREEQC, calcite in a water with other salts",
        kind="computed",
        tolerance=0.05,
        absolute=True,
    )
    @pytest.mark.parametrize("temp_c", [10, 20, 30])
    @pytest.mark.parametrize(("calcium", "alkalinity", "ph", "index"), WATERS)
    def test_at_other_temperatures(self, calcium, alkalinity, ph, index, temp_c, phreeqc, outside):
        other = phreeqc.water(alkalinity, ph, temp_c, Ca=calcium / units.CA)
        theirs = float(other.si("Calcite"))
        other.forget()
        outside(calcite.saturation_index(alkalinity, ph, temp_c, calcium), theirs)

    def test_refuses_a_water_without_calcium_or_alkalinity(self):
        with pytest.raises(ValueError, match="calcium_mg_l"):
            calcite.saturation_index(50, 7, 20, 0)
        with pytest.raises(ValueError, match="alkalinity_mg_l_caco3"):
            calcite.saturation_index(0, 9, 20, 40)


class TestWater:
    @pytest.mark.outside(
        source="one volume passed through leaves 1/e", kind="computed", tolerance=0.001
    )
    def test_water_that_runs_through(self, outside):
        outside(water.after_changes(1, 0, 0.001, 1000), 0.3679)

    @pytest.mark.outside(
        source="chloride against nitrite by the mass of nitrogen", kind="computed", tolerance=0.002
    )
    @pytest.mark.parametrize(
        ("no2", "chloride", "ratio", "grams"), [(2, 20, 20, 65.9), (0.8, 5, 10, 2 * 4.95)]
    )
    def test_salt_for_2000_litres(self, no2, chloride, ratio, grams, outside):
        as_ion = no2 * units.NITROGEN_SHARE["no2"]
        outside(water.nitrite_chloride_g(2000, as_ion, chloride, "NaCl", ratio), grams)

    def test_no_salt_where_there_is_enough(self):
        as_ion = units.NITROGEN_SHARE["no2"]
        assert water.nitrite_chloride_g(2000, as_ion, 10, "NaCl", 10) == pytest.approx(0, abs=1e-6)

    @pytest.mark.outside(
        source="FAO-56 table 12: 2.5 m2 of open water at 5 mm, 13.1 L",
        kind="memory",
        tolerance=0.003,
    )
    def test_water_that_rises(self, outside):
        outside(2.5 * WATER_FACTOR * 5, 13.1)
