"""The recipe of a plant loop as the office works it out."""

import pytest

from apps.clients.models import SourceWater
from apps.systems.models import Loop
from tests import factories
from tests.office.conftest import Desk

SALTS = ["5Ca(NO3)2.NH4NO3.10H2O", "KNO3", "KH2PO4", "MgSO4.7H2O", "K2SO4"]


@pytest.fixture
def bed(desk: Desk) -> Loop:
    """A plant loop of 400 L beside the household's own system."""
    built = factories.system(desk.place, "Greenhouse", "plants_only")
    built.loop.kind, built.loop.measured_litres = "plant", 400
    built.loop.save()
    built.loop.fish_batches.all().delete()
    return built.loop


def test_it_starts_from_the_water_of_the_place(desk: Desk, bed: Loop) -> None:
    SourceWater.objects.filter(place=desk.place).delete()
    SourceWater.objects.create(
        place=desk.place, on="2026-06-01", ph=7.4, alkalinity_mg_l_caco3=90,
        hardness_mg_l_caco3=120, nitrate_n_mg_l=3,
    )  # fmt: skip
    answer = desk.get("loop_recipe", bed.pk)
    form = answer.context["form"]
    assert form["source_ca"].value() == "36"
    assert form["source_no3"].value() == "3"
    assert answer.context["answer"] is None


def test_the_grams_and_what_the_water_then_holds(desk: Desk, bed: Loop) -> None:
    answer = desk.get("loop_recipe", bed.pk, target="leafy", scale_g="0.1", factor="100",
                      salts=SALTS, fresh_l="400", source_ca="40")  # fmt: skip
    assert answer.status_code == 200
    shown = answer.context["answer"]
    grams = {row["name"]: row["grams"] for row in shown["salts"]}
    assert set(grams) == {"Calcium nitrate, fertiliser grade, 5Ca(NO3)2·NH4NO3·10H2O",
                          "Potassium nitrate, KNO3", "Monopotassium phosphate, KH2PO4",
                          "Magnesium sulfate, MgSO4·7H2O", "Potassium sulfate, K2SO4"}  # fmt: skip
    lines = {row["name"]: row for row in shown["lines"]}
    assert lines["Calcium"]["present"] == "40"
    assert abs(float(lines["Potassium"]["reached"]) - 200) < 15
    assert [can["letter"] for can in shown["cans"]] == ["A", "B"]
    assert not any("counted as none" in text for text in shown["warnings"])


def test_what_was_not_measured_is_said(desk: Desk, bed: Loop) -> None:
    answer = desk.get("loop_recipe", bed.pk, target="leafy", scale_g="0.1", factor="100",
                      salts=SALTS, now_no3="40", now_k="100")  # fmt: skip
    first = answer.context["answer"]["warnings"][0]
    assert first == (
        "Not measured, counted as none: phosphorus as P, calcium, magnesium, and iron."
    )


def test_more_than_is_wanted_is_said(desk: Desk, bed: Loop) -> None:
    answer = desk.get("loop_recipe", bed.pk, target="seedlings", scale_g="1", factor="100",
                      salts=SALTS, now_no3="200")  # fmt: skip
    assert any("nitrogen. Only fresh water" in t for t in answer.context["answer"]["warnings"])


@pytest.mark.parametrize(
    ("change", "field", "says"),
    [({"fresh_l": "900"}, "fresh_l", "The loop holds 400 L"), ({"factor": "500"}, "factor", "200"),
     ({"target": "gold"}, "target", "gold"), ({"salts": "salt"}, "salts", "salt"),
     ({"now_k": "much"}, "now_k", "Write a number")],
)  # fmt: skip
def test_what_cannot_be_is_refused_beside_its_field(
    desk: Desk, bed: Loop, change: dict[str, str], field: str, says: str
) -> None:
    given = {"target": "leafy", "scale_g": "0.1", "factor": "100", "salts": "KNO3"} | change
    answer = desk.get("loop_recipe", bed.pk, **given)
    assert answer.status_code == 422
    assert says in " ".join(answer.context["form"].errors[field])


def test_nobody_salts_water_with_fish(desk: Desk, bed: Loop) -> None:
    answer = desk.get("loop_recipe", desk.built.loop.pk, target="leafy", salts=SALTS)
    assert answer.context["with_fish"]
    assert "answer" not in answer.context


def test_a_loop_without_litres_says_so(desk: Desk, bed: Loop) -> None:
    bed.measured_litres = None
    bed.save()
    bed.components.all().delete()
    answer = desk.get(
        "loop_recipe", bed.pk, target="leafy", scale_g="0.1", factor="1", salts="KNO3"
    )
    assert "litres" in answer.context["form"].non_field_errors()[0]


def test_it_stands_on_the_systems_page(desk: Desk, bed: Loop) -> None:
    page = desk.get("system", bed.system_id).content.decode()
    assert f"/loops/{bed.pk}/recipe/" in page
    assert (
        f"/loops/{desk.built.loop.pk}/recipe/"
        not in desk.get("system", desk.built.system.pk).content.decode()
    )


def warnings(desk: Desk, bed: Loop, **more: object) -> list[str]:
    values = {"target": "leafy", "scale_g": "0.1", "factor": "100", "salts": SALTS} | more
    answer = desk.get("loop_recipe", bed.pk, **values)
    assert answer.status_code == 200
    return list(answer.context["answer"]["warnings"])


def test_a_miss_is_said_with_the_salt_that_mends_it(desk: Desk, bed: Loop) -> None:
    # all of the potassium and calcium as nitrates: far more nitrogen than is wanted
    few = ["5Ca(NO3)2.NH4NO3.10H2O", "KNO3", "MgSO4.7H2O"]
    said = warnings(desk, bed, salts=few)
    miss = next(text for text in said if text.startswith("More than a tenth off"))
    assert "nitrogen 175 instead of 150 mg/L" in miss
    mend = said[said.index(miss) + 1]
    assert mend.startswith("What would bring it closer: ")
    assert "potassium sulfate" in mend or "monopotassium phosphate" in mend
    assert "phosphorus as P 0 instead of 31 mg/L" in miss


def test_a_recipe_that_comes_out_warns_of_no_miss(desk: Desk, bed: Loop) -> None:
    every = [*SALTS, "CaCl2.2H2O", "Fe-DTPA 11 %", "H3BO3", "MnSO4.H2O", "ZnSO4.7H2O",
             "CuSO4.5H2O", "Na2MoO4.2H2O"]  # fmt: skip
    assert not any("tenth off" in text for text in warnings(desk, bed, salts=every))


def test_source_water_that_nobody_measured_is_said(desk: Desk, bed: Loop) -> None:
    SourceWater.objects.filter(place=desk.place).delete()
    said = warnings(desk, bed, fresh_l="200", source_no3="3", source_mg="5")
    assert any(
        "Not measured in the source water, taken as 0: calcium. Too much may be weighed" in text
        for text in said
    )
    assert not any(
        "in the source water" in t for t in warnings(desk, bed, fresh_l="200", source_no3="3", source_mg="5", source_ca="40")
    )  # fmt: skip
    # where none of it goes in, it does not matter
    assert not any("in the source water" in text for text in warnings(desk, bed))
