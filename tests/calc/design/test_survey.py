"""What a site survey says: each limit just met and just passed, and what nobody looked at."""

import pytest

from apps.calc.design.survey import CARE, LADDERS, NEEDED, STOP, concerns, missing

# a site with nothing to mind; figures of the table of survey fields (common practice)
FINE = {
    "length_m": 6, "width_m": 4, "ground": "slab", "sun_hours": 6, "winter_c": 18, "summer_c": 28,
    "source": "tap", "ph": 7.2, "alkalinity_mg_l_caco3": 90, "hardness_mg_l_caco3": 120,
    "total_chlorine_mg_l": 0, "chloramine": False, "earthed": "yes", "rcd": "trips",
    "outage_h_month": 0.5, "longest_outage_h": 1, "narrowest_m": 0.9, "stairs": "no",
    "drain": "garden", "allowed": "free", "consent": "own", "wind": "sheltered", "socket_m": 4,
    "slope_mm_m": 5, "frost_days": 0,
}  # fmt: skip


def levels(**changes):
    """Return the concerns of the fine site with changes, by code."""
    return {c.code: c.level for c in concerns(FINE | changes)}


def test_a_good_site_says_nothing():
    assert levels() == {}
    assert missing(FINE) == ()


@pytest.mark.outside(
    source="table of site survey fields; sodium and chloride by Oklahoma State University",
    kind="common practice", tolerance=0,
)  # fmt: skip
@pytest.mark.parametrize(
    ("field", "fine", "care", "stop"),
    [("sun_hours", 4, 3.9, 2.9), ("alkalinity_mg_l_caco3", 120, 121, 251),
     ("sodium_mg_l", 50, 51, 101), ("copper_mg_l", 0.02, 0.03, 0.06), ("slope_mm_m", 5, 6, 16),
     ("outage_h_month", 1, 2, 5.5), ("narrowest_m", 0.9, 0.8, 0.69), ("chloride_mg_l", 140, 141, None),
     ("zinc_mg_l", 0.1, 0.11, None), ("iron_mg_l", 1, 1.1, None), ("socket_m", 5, 5.1, None),
     ("total_chlorine_mg_l", 0.05, 0.06, None), ("longest_outage_h", 4, None, 4.5),
     ("hardness_mg_l_caco3", 200, 201, None)],
)  # fmt: skip
def test_limits(field, fine, care, stop, outside):
    outside(len(levels(**{field: fine})), 0)
    if care is not None:
        assert levels(**{field: care}) == {field: CARE}
    if stop is not None:
        assert levels(**{field: stop}) == {field: STOP}


def test_a_well_is_untested_until_a_laboratory_has_read_both():
    for half in ({"sodium_mg_l": 20}, {"chloride_mg_l": 30}):
        assert levels(source="well", **half) == {"well_untested": STOP}
    assert levels(source="well", sodium_mg_l=20, chloride_mg_l=30) == {}


@pytest.mark.parametrize(("ph", "minded"), [(6.4, True), (6.5, False), (8.0, False), (8.1, True)])
def test_the_limits_of_the_source_waters_ph_belong_to_it(ph, minded):
    assert ("ph" in levels(ph=ph)) is minded


@pytest.mark.parametrize(
    ("change", "code", "level"),
    [({"rcd": "none"}, "rcd_none", STOP), ({"rcd": "fails"}, "rcd_fails", STOP),
     ({"rcd": "untested"}, "rcd_untested", CARE), ({"earthed": "no"}, "earthed_no", STOP),
     ({"ground": "roof"}, "floor_unknown", STOP), ({"ground": "deck"}, "floor_unknown", STOP),
     ({"ground": "floor", "floor_kg_m2": 400}, "floor_weak", STOP),
     ({"chloramine": True}, "chloramine", STOP), ({"source": "well"}, "well_untested", STOP),
     ({"source": "surface"}, "source_surface", CARE), ({"drain": "storm"}, "drain_storm", STOP),
     ({"allowed": "refused"}, "allowed_refused", STOP), ({"ph": 8.4}, "ph", CARE),
     ({"consent": "asked"}, "consent_asked", CARE), ({"frost_days": 20}, "frost_days", CARE)],
)  # fmt: skip
def test_answers(change, code, level):
    assert levels(**change)[code] == level


def test_what_is_known_to_be_well_says_nothing():
    assert levels(ground="floor", floor_kg_m2=900) == {}
    assert levels(source="well", sodium_mg_l=20, chloride_mg_l=40) == {}


def test_the_gravest_stand_first():
    found = concerns(FINE | {"sun_hours": 3.5, "rcd": "none", "socket_m": 9})
    assert [c.level for c in found] == [STOP, CARE, CARE]


def test_an_empty_survey_claims_nothing_and_names_what_is_open():
    assert concerns({}) == ()
    assert missing({}) == NEEDED
    assert missing(FINE | {"rcd": ""}) == ("rcd",)


def test_no_figure_is_judged_twice():
    assert len({ladder.field for ladder in LADDERS}) == len(LADDERS)
