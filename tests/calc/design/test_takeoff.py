"""What a design is built of: nothing is left out, quantities are those of the parts, loads of water."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from apps.calc.design.parts import plan
from apps.calc.design.sizing import size
from apps.calc.design.takeoff import PRICED, items, room_needed, stands
from apps.calc.design.wish import BED_KINDS, Site, Wish
from apps.calc.species import species_table
from tests.calc.design.test_sizing import RULES
from tests.effort import cases


@cases(80)
@given(
    by=st.sampled_from(["beds", "fish", "room"]), amount=st.floats(0.5, 400),
    species=st.sampled_from(sorted(set(species_table()))),
    group=st.sampled_from(["leafy", "fruiting"]), bed=st.sampled_from(BED_KINDS),
    winter=st.floats(0, 28),
)  # fmt: skip
def test_every_part_has_its_line_in_a_unit_that_has_a_price(
    by, amount, species, group, bed, winter
):
    wish, site = Wish(by, amount, species, group, bed), Site(winter, winter + 4)
    made = size(wish, site, RULES)
    drawn = plan(made, wish, site)
    found = items(drawn, made, site)
    assert {part.kind for part in drawn.parts} <= {item.code for item in found}
    assert [(i.code, i.unit) for i in found if PRICED[i.code] != i.unit] == []
    assert len({item.code for item in found}) == len(found)
    assert all(item.quantity > 0 for item in found)


def test_quantities_are_those_of_the_parts():
    wish, site = Wish("beds", 4, "nile_tilapia", "leafy", "gravel_bed"), Site(18, 30)
    made = size(wish, site, RULES)
    drawn = plan(made, wish, site)
    held = {item.code: item.quantity for item in items(drawn, made, site)}
    parts = {part.kind: part for part in drawn.parts}
    assert held["tank"] == parts["tank"].litres == 800
    assert held["gravel_bed"] == 4
    # 4 m2, 0.3 m deep, and a tenth more for washing and settling, rounded up to two figures
    assert held["media"] == pytest.approx(1400)
    assert held["pipe"] == 6
    assert held["net_pots"] == 100


def test_chlorine_asks_for_what_takes_it_out():
    wish = Wish("beds", 4, "nile_tilapia", "leafy", "raft")
    for chlorine, listed in ((None, False), (0.0, False), (0.8, True)):
        site = Site(18, 30, source_chlorine=chlorine)
        made = size(wish, site, RULES)
        codes = {item.code for item in items(plan(made, wish, site), made, site)}
        assert ("thiosulfate" in codes) == listed


@pytest.mark.outside(
    source="density of water 1,000 kg/m3, and 100 kg/m2 for the vessel",
    kind="computed",
    tolerance=1e-9,
)
def test_a_tank_weighs_what_its_water_weighs(outside):
    wish, site = Wish("beds", 4, "nile_tilapia", "leafy", "raft"), Site(18, 30)
    drawn = plan(size(wish, site, RULES), wish, site)
    for stand in stands(drawn):
        part = next(p for p in drawn.parts if p.kind == stand.kind)
        if part.kind in ("tank", "settler", "moving_bed", "sump"):
            outside(stand.load_kg_m2 * stand.floor_m2, part.litres + 100 * stand.floor_m2)


def test_the_room_is_the_floor_of_all_parts_and_a_quarter_more():
    wish, site = Wish("beds", 4, "nile_tilapia", "leafy", "raft"), Site(18, 30)
    found = stands(plan(size(wish, site, RULES), wish, site))
    assert room_needed(found) == pytest.approx(1.25 * sum(s.floor_m2 for s in found), rel=0.05)
