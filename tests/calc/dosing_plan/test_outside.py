"""Plans against a speciation program, published tables and molar masses."""

import periodictable
import pytest
from plans import LOW, facts, plan

from apps.calc import units
from apps.calc.carbonate import SALTS
from apps.calc.dosing_plan.acids import (
    PHOSPHATES,
    acid_mg_l,
    density_g_ml,
    ph_after_acid,
    ph_after_phosphate,
    solution_g,
)
from apps.calc.dosing_plan.products import PRODUCTS


@pytest.mark.outside(
    source="PHREEQC, phreeqc.dat run beside", kind="computed", tolerance=0.02, absolute=True
)
@pytest.mark.parametrize("at_hand", [{"KHCO3"}, {"Ca(OH)2"}, {"K2CO3"}, {"KOH"}, {"NaHCO3"}])
@pytest.mark.parametrize(("alk", "ph", "temp"), [(35, 6.5, 27), (50, 6.9, 20), (25, 6.2, 14)])
def test_ph_of_each_step_of_base(alk, ph, temp, at_hand, outside, phreeqc):
    """Each step is given to a water of the program that reads as the plan says it should."""
    f = facts({"alk": alk, "ph": ph, "temp": temp, "tan": 0.1, "na": 5.0})
    for step in plan(f, "alkalinity", alk + 20.0, at_hand=frozenset(at_hand)).steps[:4]:
        mg_l, molar = step.grams * 1000 / 1200, SALTS[step.product].molar_g
        for got, theirs in (
            (step.ph_minutes, phreeqc.ph_closed),
            (step.ph_hours, phreeqc.ph_held),
        ):
            water = phreeqc.water(step.before["alk"], step.before["ph"], temp)
            outside(got, theirs(water, step.product, mg_l, molar))


@pytest.mark.outside(
    source="PHREEQC, phreeqc.dat run beside", kind="computed", tolerance=0.05, absolute=True
)
@pytest.mark.parametrize(("acid", "molar"), [("HCl", 36.458), ("H3PO4", 97.994)])
@pytest.mark.parametrize(("alk", "ph", "temp"), [(180, 7.8, 15), (120, 7.4, 20), (250, 8.0, 10)])
@pytest.mark.parametrize("remove", [10, 15, 60])
def test_ph_after_acid(acid, molar, alk, ph, temp, remove, outside, phreeqc):
    dose = acid_mg_l(acid, remove)
    theirs = phreeqc.ph_closed(phreeqc.water(alk, ph, temp), acid, dose, molar)
    outside(ph_after_acid(alk, ph, temp, acid, dose), theirs)


@pytest.mark.outside(
    source="PHREEQC, phreeqc.dat run beside", kind="computed", tolerance=0.02, absolute=True
)
@pytest.mark.parametrize("mg_l", [4, 40])
@pytest.mark.parametrize(("alk", "ph"), [(40, 6.4), (80, 7.0)])
def test_ph_after_phosphate(mg_l, alk, ph, outside, phreeqc):
    kind = PHOSPHATES["KH2PO4"]
    minutes, hours = ph_after_phosphate(alk, ph, 25, mg_l, kind)
    outside(minutes, phreeqc.ph_closed(phreeqc.water(alk, ph, 25), "KH2PO4", mg_l, kind.molar_g))
    outside(hours, phreeqc.ph_held(phreeqc.water(alk, ph, 25), "KH2PO4", mg_l, kind.molar_g))


@pytest.mark.outside(
    source="theoretical alkalinities of key alkalis, a table of the water-treatment press",
    kind="read", tolerance=0.01,
)  # fmt: skip
@pytest.mark.parametrize(("product", "published"), [("Ca(OH)2", 1.35), ("NaHCO3", 0.60)])
def test_alkalinity_that_a_step_adds(product, published, outside):
    """mg/L CaCO3 for each mg/L of the base, over a step of a plan."""
    f = facts({**LOW, "na": 5.0}, volume_l=2000.0)
    step = plan(f, "alkalinity", 60, at_hand=frozenset({product}), scale_g=0.01).steps[0]
    outside((step.after["alk"] - step.before["alk"]) / (step.grams * 1000 / 2000), published)


@pytest.mark.outside(source="SRAC 462, ten times the nitrite", kind="read", tolerance=1e-3)
@pytest.mark.parametrize(("no2_n", "cl"), [(1.0, 5.0), (1.5, 15.0), (0.6, 0.0)])
def test_chloride_is_ten_times_the_nitrite_ion(no2_n, cl, outside):
    made = plan(facts({"no2": no2_n, "cl": cl, "na": 5.0}), "chloride", None, scale_g=0.01)
    outside(made.reached / (no2_n * 46.005 / 14.007), 10)


@pytest.mark.outside(source="SRAC 462, 4.5 lb of salt an acre-foot", kind="memory", tolerance=0.005)
def test_salt_for_a_mg_of_chloride(outside):
    """1 mg/L of chloride in an acre-foot (1,233,482 L) by the plan's grams of salt."""
    made = plan(
        facts({"no2": 1.0, "cl": 0.0, "na": 5.0}), "chloride", None, at_hand=frozenset({"NaCl"})
    )
    step = made.steps[0]
    per_mg = step.grams / 1200 / (step.after["cl"] - step.before["cl"])
    outside(per_mg * 1_233_482 / 453.592, 4.483)


@pytest.mark.outside(
    source="molarity of reagents as sold (CRC Handbook)", kind="memory", tolerance=0.01
)
@pytest.mark.parametrize(
    ("acid", "percent", "molar"), [("HCl", 37, 12.0), ("HCl", 31.5, 10.0), ("H3PO4", 85, 14.6)]
)
def test_millilitres_of_stock(acid, percent, molar, outside):
    """What takes 10 mg/L of alkalinity out of 1000 L."""
    grams = solution_g(acid, percent, acid_mg_l(acid, 10), 1000)
    outside(grams / density_g_ml(acid, percent), 1000 * 10 / units.MG_CACO3_PER_MEQ / molar)


@pytest.mark.outside(source="periodictable, molar masses", kind="computed", tolerance=2e-4)
@pytest.mark.parametrize(
    ("code", "formula", "element", "atoms"),
    [("K2CO3", "K2CO3", "K", 2), ("Ca(OH)2", "Ca(OH)2", "Ca", 1), ("KOH", "KOH", "K", 1),
     ("KNO3", "KNO3", "N", 1), ("5Ca(NO3)2.NH4NO3.10H2O", "Ca5(NO3)10(NH4)(NO3)(H2O)10", "Ca", 5),
     ("NH4H2PO4", "NH4H2PO4", "P", 1), ("K2SO4", "K2SO4", "S", 1), ("KCl", "KCl", "K", 1),
     ("MgSO4.7H2O", "MgSO4(H2O)7", "S", 1), ("CaCl2.2H2O", "CaCl2(H2O)2", "Ca", 1),
     ("KH2PO4", "KH2PO4", "P", 1), ("NaCl", "NaCl", "Na", 1), ("NaHCO3", "NaHCO3", "Na", 1)],
)  # fmt: skip
def test_shares_of_mass(code, formula, element, atoms, outside):
    whole = periodictable.formula(formula).mass
    outside(
        PRODUCTS[code].shares[element.lower()], atoms * getattr(periodictable, element).mass / whole
    )
