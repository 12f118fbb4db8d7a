"""The first supplies of a new system, by stoichiometry and by hand."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from apps.calc.commissioning.curve import curve
from apps.calc.commissioning.supplies import Building, supplies
from apps.catalogue.files import rows
from tests.effort import cases


def amount(of: Building, code: str) -> float:
    return next((row.amount for row in supplies(of) if row.code == code), 0.0)


@pytest.mark.outside(
    source="IUPAC atomic weights: two thiosulfates for each chlorine; a tenth more, two figures",
    kind="computed", tolerance=0.04,
)  # fmt: skip
def test_dechlorinator_for_ten_thousand_litres(outside):
    outside(
        amount(Building(10_000, source_chlorine=2.0), "thiosulfate"), 1.1 * 20 * 2 * 248.17 / 70.906
    )


def test_the_same_ammonia_as_the_table_of_doses():
    # 7.6 g of ammonium chloride in 1,000 L are 2 mg/L N
    tan, no2, no3 = (row.middle[28] for row in curve(25.0))
    by_table = (tan + no2 + no3 + 4) / 2 * 7.64
    assert amount(Building(1000), "ammonium_chloride") == pytest.approx(by_table, abs=1.0)


def test_source_water_that_holds_alkalinity_spares_base():
    less = amount(Building(1000, source_alkalinity=80), "potassium_bicarbonate")
    assert amount(Building(1000), "potassium_bicarbonate") - less == pytest.approx(160, abs=10)
    assert amount(Building(1000, source_alkalinity=300), "potassium_bicarbonate") == less


def test_by_hand_for_four_square_metres():
    of = Building(1200, media_litres=1200, bed_m2=4)
    assert amount(of, "media") == 1400  # 1,320, up to two figures
    assert amount(of, "feed_pellets") == pytest.approx(8.1)
    assert amount(of, "net_pots") == 100
    # 2 mg/L of an 11 % chelate are 18.2 g in 1,000 L; four times in 90 days
    assert amount(of, "iron_dtpa") == 88


def test_plants_alone_need_no_ammonia_and_no_feed():
    codes = {row.code for row in supplies(Building(500, bed_m2=2, fish=False))}
    assert not codes & {"ammonium_chloride", "feed_pellets", "reagent_nitrite"}
    assert "reagent_ph" in codes


def test_every_line_is_an_entry_of_the_catalogue():
    known = {row["code"] for row in rows("consumables")}
    made = supplies(Building(1000, 100, 3, source_chlorine=1.0))
    assert {row.code for row in made} <= known


@given(st.floats(50, 1e5), st.floats(0, 1e4), st.floats(0, 1e3), st.floats(10, 32))
@cases(40)
def test_amounts_are_whole_enough_and_never_nothing(litres, media, beds, temp):
    for row in supplies(Building(litres, media, beds, temp)):
        assert row.amount > 0
        assert math.isfinite(row.amount)


def test_a_bucket_is_no_system():
    with pytest.raises(ValueError, match="litres"):
        supplies(Building(10))
