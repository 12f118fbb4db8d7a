"""Recipes: the published solutions, the solver against its reference, the scale, the cans."""

import numpy as np
import periodictable
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.optimize import nnls

from apps.calc.recipe.conductivity import cations_meq_l, solution_ec_ms_cm
from apps.calc.recipe.nnls import least_squares
from apps.calc.recipe.salts import ELEMENTS, SALTS
from apps.calc.recipe.solve import LEAST_STEPS, blended, recipe
from apps.calc.recipe.stock import SAFE_SHARE, stock
from tests.effort import cases

HOAGLAND = "Hoagland & Arnon 1950, Circular 347"
PURE = ["KNO3", "Ca(NO3)2.4H2O", "KH2PO4", "MgSO4.7H2O", "NH4H2PO4"]
# mmol/L of each salt, as the circular prints them, and the ppm that follow
NO_1 = {"KNO3": 5, "Ca(NO3)2.4H2O": 5, "KH2PO4": 1, "MgSO4.7H2O": 2}
NO_2 = {"KNO3": 6, "Ca(NO3)2.4H2O": 4, "NH4H2PO4": 1, "MgSO4.7H2O": 2}
PPM_1 = {"n": 210.1, "p": 31.0, "k": 234.6, "ca": 200.4, "mg": 48.6, "s": 64.1}
PPM_2 = {"n": 210.1, "p": 31.0, "k": 234.6, "ca": 160.3, "mg": 48.6, "s": 64.1}
# g of each in 1000 L: molar masses times mmol/L
GRAMS_1 = {"KNO3": 505.5, "Ca(NO3)2.4H2O": 1180.7, "KH2PO4": 136.1, "MgSO4.7H2O": 492.9}
GRAMS_2 = {"KNO3": 606.6, "Ca(NO3)2.4H2O": 944.6, "NH4H2PO4": 115.0, "MgSO4.7H2O": 492.9}
MICROS = ["H3BO3", "MnCl2.4H2O", "ZnSO4.7H2O", "CuSO4.5H2O", "H2MoO4.H2O"]


@pytest.mark.outside(source=HOAGLAND, kind="read", tolerance=0.003)
@pytest.mark.parametrize(("ppm", "grams"), [(PPM_1, GRAMS_1), (PPM_2, GRAMS_2)])
def test_the_published_solutions_come_out_to_the_gram(ppm, grams, outside):
    made = recipe(ppm, {}, 1000, list(grams), 0.1)
    assert {w.salt.code for w in made.salts} == set(grams)
    for weighed in made.salts:
        outside(weighed.weighed_g, grams[weighed.salt.code])
    for line in made.lines:
        assert line.off_mg_l == pytest.approx(0, abs=0.004 * max(1, line.wanted))


@pytest.mark.outside(source=HOAGLAND, kind="read", tolerance=0.01)
@pytest.mark.parametrize(
    ("code", "grams", "element", "published"),
    [("H3BO3", 2.86, "b", 0.5), ("MnCl2.4H2O", 1.81, "mn", 0.5), ("ZnSO4.7H2O", 0.22, "zn", 0.05),
     ("CuSO4.5H2O", 0.0786, "cu", 0.02), ("H2MoO4.H2O", 0.0188, "mo", 0.01)],
)  # fmt: skip
def test_a_millilitre_of_its_trace_stock_brings_what_is_published(
    code, grams, element, published, outside
):
    """Copper and molybdenum with one digit more than the circular's .08 and .02 g."""
    outside(grams * SALTS[code].share(element), published)


@pytest.mark.outside(source="periodictable, molar masses", kind="computed", tolerance=2e-4)
@pytest.mark.parametrize(
    ("code", "formula", "element", "symbol", "atoms"),
    [("KNO3", "KNO3", "k", "K", 1), ("Ca(NO3)2.4H2O", "Ca(NO3)2(H2O)4", "ca", "Ca", 1),
     ("5Ca(NO3)2.NH4NO3.10H2O", "Ca5(NO3)10(NH4)(NO3)(H2O)10", "no3", "N", 11),
     ("KH2PO4", "KH2PO4", "p", "P", 1), ("NH4H2PO4", "NH4H2PO4", "nh4", "N", 1),
     ("MgSO4.7H2O", "MgSO4(H2O)7", "mg", "Mg", 1),
     ("Mg(NO3)2.6H2O", "Mg(NO3)2(H2O)6", "no3", "N", 2), ("K2SO4", "K2SO4", "s", "S", 1),
     ("CaCl2.2H2O", "CaCl2(H2O)2", "cl", "Cl", 2), ("H3BO3", "H3BO3", "b", "B", 1),
     ("MnSO4.H2O", "MnSO4(H2O)", "mn", "Mn", 1), ("MnCl2.4H2O", "MnCl2(H2O)4", "mn", "Mn", 1),
     ("ZnSO4.7H2O", "ZnSO4(H2O)7", "zn", "Zn", 1), ("CuSO4.5H2O", "CuSO4(H2O)5", "cu", "Cu", 1),
     ("Na2MoO4.2H2O", "Na2MoO4(H2O)2", "mo", "Mo", 1),
     ("H2MoO4.H2O", "H2MoO4(H2O)", "mo", "Mo", 1)],
)  # fmt: skip
def test_shares_of_mass(code, formula, element, symbol, atoms, outside):
    whole = periodictable.formula(formula).mass
    one = getattr(periodictable, symbol).mass
    outside(SALTS[code].share(element), atoms * one / whole)


@pytest.mark.outside(source="PHREEQC, phreeqc.dat", kind="computed", tolerance=0.06)
@pytest.mark.parametrize("strength", [0.1, 0.25, 0.5, 1.0, 1.5])
@pytest.mark.parametrize("mmol", [NO_1, NO_2])
def test_conductivity_of_nutrient_solutions(mmol, strength, outside, phreeqc):
    mg_l = dict.fromkeys(ELEMENTS, 0.0)
    for code, amount in mmol.items():
        for element, share in SALTS[code].shares.items():
            molar = periodictable.formula(_formula(code)).mass
            mg_l[element] += strength * amount * molar * share
    outside(solution_ec_ms_cm(mg_l), _phreeqc_ec(phreeqc, mmol, strength))


def _formula(code):
    return {"Ca(NO3)2.4H2O": "Ca(NO3)2(H2O)4", "MgSO4.7H2O": "MgSO4(H2O)7"}.get(code, code)


def _phreeqc_ec(phreeqc, mmol, strength):
    ions = {"KNO3": {"K": 1, "N(5)": 1}, "Ca(NO3)2.4H2O": {"Ca": 1, "N(5)": 2},
            "KH2PO4": {"K": 1, "P": 1}, "MgSO4.7H2O": {"Mg": 1, "S(6)": 1},
            "NH4H2PO4": {"N(-3)": 1, "P": 1}}  # fmt: skip
    total = {}
    for code, amount in mmol.items():
        for ion, count in ions[code].items():
            total[ion] = total.get(ion, 0.0) + strength * amount * count
    water = phreeqc.engine.add_solution({"units": "mmol/kgw", "temp": 25, "pH": 6.0} | total)
    found = water.sc / 1000
    water.forget()
    return found


class TestLeastSquares:
    @cases(150)
    @given(st.integers(0, 10**6), st.integers(1, 12), st.integers(1, 15))
    def test_is_as_close_as_the_reference(self, seed, rows, columns):
        random = np.random.default_rng(seed)
        matrix = random.uniform(-0.2, 1, (rows, columns))
        wanted = random.uniform(-1, 2, rows)
        ours = np.array(least_squares(matrix.T.tolist(), wanted.tolist()))
        assert (ours >= 0).all()
        _best, miss = nnls(matrix, wanted)
        assert np.linalg.norm(matrix @ ours - wanted) <= miss + 1e-7

    def test_a_column_of_nothing_gets_nothing(self):
        assert least_squares([[0.0, 0.0], [1.0, 1.0]], [2.0, 2.0]) == [0.0, pytest.approx(2.0)]

    def test_two_columns_alike_do_not_divide_by_nothing(self):
        first, second = least_squares([[1.0, 2.0], [1.0, 2.0]], [3.0, 6.0])
        assert first + second == pytest.approx(3.0)


def test_what_the_salts_cannot_reach_is_shown():
    target = {"n": 150, "p": 31, "k": 200, "ca": 150, "mg": 40, "s": 60}
    present = {"no3": 60, "p": 8, "k": 30, "ca": 60, "mg": 15, "s": 20}
    salts = ["KNO3", "Ca(NO3)2.4H2O", "KH2PO4", "MgSO4.7H2O", "K2SO4"]
    made = recipe(target, present, 1000, salts, 0.1)
    off = {line.element: line.off_mg_l for line in made.lines}
    assert off["n"] > 5 > 0 > off["ca"] > -10
    assert made.too_much == ()
    full = recipe(target, {"no3": 260}, 1000, salts, 0.1)
    assert full.too_much == ("n",)


def test_what_the_scale_cannot_weigh_becomes_a_stock():
    made = recipe({"k": 100, "cu": 0.02}, {}, 200, ["K2SO4", "CuSO4.5H2O"], 0.1)
    copper = next(w for w in made.salts if w.salt.code == "CuSO4.5H2O")
    assert (copper.times, copper.weighed_g, copper.stock_ml) == (100, 1.6, 10.0)
    for w in made.salts:
        assert w.weighed_g >= LEAST_STEPS * 0.1 - 1e-9
        assert w.given_g == pytest.approx(w.exact_g, rel=0.05)


def test_calcium_never_shares_a_can_with_phosphate_or_sulfate():
    for salt in SALTS.values():
        elements = set(salt.shares)
        assert not ("ca" in elements and salt.can != "A"), salt.code
        assert not ({"p", "s"} & elements and salt.can != "B"), salt.code


def test_cans_hold_the_recipe_and_say_how_strong_they_may_be():
    made = recipe(PPM_1, {}, 1000, PURE, 0.1)
    held = stock(made.salts, 1000, 100)
    assert [can.letter for can in held.cans] == ["A", "B"]
    assert sum(g for can in held.cans for _code, g in can.salts) == pytest.approx(
        sum(w.weighed_g for w in made.salts)
    )
    assert all(can.dissolves for can in held.cans)
    much = recipe({"k": 300, "s": 120}, {}, 1000, ["K2SO4"], 0.1)
    thick = stock(much.salts, 1000, 200)
    assert not thick.cans[0].dissolves
    again = stock(much.salts, 1000, thick.most_factor)
    assert again.cans[0].dissolves
    assert again.cans[0].filled == pytest.approx(SAFE_SHARE, rel=0.03)


def test_fresh_water_is_mixed_in():
    assert blended({"ca": 100.0, "k": 50.0}, {"ca": 20.0}, 200, 50) == {"ca": 80.0, "k": 37.5}
    with pytest.raises(ValueError, match="fresh_l must be between 0 and 200"):
        blended({}, {}, 200, 201)


@pytest.mark.parametrize(
    ("change", "says"),
    [({"target": {"x": 1}}, "x is none of"), ({"target": {"k": -1}}, "k must be between 0"),
     ({"target": {"k": float("nan")}}, "k must be between"), ({"salts": []}, "at least one salt"),
     ({"salts": ["KBr"]}, "salt must be one of"), ({"scale_g": 0.2}, "scale_g must be one of"),
     ({"volume_l": 0}, "volume_l must be between"), ({"present": {"n": 1}}, "n is none of")],
)  # fmt: skip
def test_what_makes_no_sense_is_named(change, says):
    given_ = {
        "target": {"k": 1},
        "present": {},
        "volume_l": 100,
        "salts": ["K2SO4"],
        "scale_g": 0.1,
    }
    with pytest.raises(ValueError, match=says):
        recipe(**(given_ | change))


def test_cations_count_by_their_charge():
    assert cations_meq_l({"ca": 40.078, "k": 39.098, "no3": 14}) == pytest.approx(3.0)
