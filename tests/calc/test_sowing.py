"""Sowing plans: seeds, days and beds, against the published table of germination."""

import math
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from apps.calc.sowing import SURVIVAL, Crop, by_week, sowing
from apps.catalogue.files import rows
from tests.effort import cases

LETTUCE = Crop(
    {15: 4, 20: 3, 25: 2}, {10: 98, 15: 99, 20: 99, 25: 99, 30: 12}, (18, 21), (24, 32), (20, 25),
    26, 3,
)  # fmt: skip


@pytest.mark.outside(
    source="Harrington & Minges 1954: lettuce, normal seedlings at 25 and 30 °C", kind="read",
    tolerance=0.0,
)  # fmt: skip
def test_lettuce_in_the_heat_needs_eight_times_the_seed(outside):
    cool, hot = sowing(LETTUCE, 20, 25), sowing(LETTUCE, 20, 30)
    outside(cool.share_pct, 99)
    outside(hot.share_pct, 12)
    assert (cool.seeds, hot.seeds) == (math.ceil(20 / 0.99 / 0.9), math.ceil(20 / 0.12 / 0.9))
    assert (cool.too_warm, hot.too_warm) == (False, True)


def test_colder_than_anybody_tried_nothing_is_known():
    """The table of lettuce begins at 15 °C: at 2 °C it is no promise."""
    cold = sowing(LETTUCE, 9, 2)
    assert (cold.too_cold, cold.share_known, cold.comes_up_days) == (True, False, None)
    assert not sowing(LETTUCE, 9, 15).too_cold
    assert sowing(LETTUCE, 9, 15).comes_up_days == LETTUCE.germination_days[15]


def test_days_from_sowing_to_picking():
    found = sowing(LETTUCE, 7, 20)
    assert found.plant_out == (18, 21)
    assert found.pick == (18 + 24, 21 + 32)
    # seven a week for 32 days in the bed at most
    assert found.plants_in_bed == 32
    assert found.area_m2 == (32 / 20, 32 / 25)


def test_a_test_of_the_seed_goes_before_the_table():
    found = sowing(LETTUCE, 9, 20, tested_pct=50)
    assert (found.seeds, found.share_pct, found.share_known) == (20, 50, True)


def test_a_crop_of_which_nothing_is_published():
    found = sowing(replace(LETTUCE, germination_days={}, normal_pct={}), 9, 20)
    assert (found.share_pct, found.share_known, found.comes_up_days) == (80.0, False, None)


@pytest.mark.parametrize(("age", "old"), [(None, False), (3, False), (3.5, True)])
def test_seed_past_its_life(age, old):
    assert sowing(LETTUCE, 9, 20, seed_age_years=age).seed_old is old


@given(st.floats(0.1, 1000), st.floats(0, 45), st.floats(1, 100))
@cases(60)
def test_enough_seed_and_no_more(heads, temp, tested):
    found = sowing(LETTUCE, heads, temp, tested_pct=tested)
    assert found.seeds * tested / 100 * SURVIVAL >= heads - 1e-6
    assert (found.seeds - 1) * tested / 100 * SURVIVAL < heads
    assert found.area_m2 is not None
    assert found.area_m2[0] >= found.area_m2[1]


@given(st.lists(st.tuples(st.integers(-30, 90), st.integers(0, 40), st.floats(0, 100)), max_size=6))
@cases(60)
def test_all_that_is_picked_falls_in_a_week(windows):
    found = by_week([(first, first + length, number) for first, length, number in windows], 30)
    assert sum(found) == pytest.approx(sum(number for _first, _length, number in windows))


@pytest.mark.parametrize("field", ["heads_a_week", "temp_c", "tested_pct"])
def test_what_cannot_be_names_its_field(field):
    values = {"heads_a_week": 5.0, "temp_c": 20.0, "tested_pct": 80.0} | {field: -1.0}
    heads, temp, tested = values["heads_a_week"], values["temp_c"], values["tested_pct"]
    with pytest.raises(ValueError, match=field):
        sowing(LETTUCE, heads, temp, tested_pct=tested)


def test_every_crop_of_the_catalogue_can_be_sown():
    for row in rows("crops"):
        if row["transplant_day_low"] is None or row["harvest_days_low"] is None:
            continue
        found = sowing(
            Crop(row["germination_days"], row["normal_seedlings_pct"],
                 (row["transplant_day_low"], row["transplant_day_high"]),
                 (row["harvest_days_low"], row["harvest_days_high"]),
                 (row["per_m2_low"], row["per_m2_high"]) if row["per_m2_low"] else None), 5, 20,
        )  # fmt: skip
        assert found.seeds >= 5
