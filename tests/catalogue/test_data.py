"""The catalogue's data files: whole, ordered, sourced, and in step with the calculations."""

from functools import cache
from pathlib import Path

import pytest
import yaml

from apps.calc.advice import RULES
from apps.calc.commissioning.gate import CYCLE_TESTS, SAFETY, SKILLS_FIRST
from apps.calc.judgement import NITRITE_SENSITIVE, TEMP_CONTEXTS, LoopContext, pick_context
from apps.calc.plausibility import to_base
from apps.calc.quantities import MEASURANDS
from apps.calc.sources import SOURCES
from apps.calc.species import species_table

DATA = Path(__file__).resolve().parents[2] / "apps" / "catalogue" / "data"
KINDS = {"read", "computed", "memory", "common practice"}
LIMITS = ("red_lo", "amber_lo", "t_lo", "t_hi", "amber_hi", "red_hi")
FILES = sorted(path.stem for path in DATA.glob("*.yaml"))
PARTS = {"component kinds": {
    "tank", "settler", "static_media", "moving_bed", "screen", "sump", "pump", "air_pump",
    "backup_air", "gravel_bed", "raft", "channel", "heater", "shade", "valve", "timer", "siphon",
    "probe", "float_switch"}, "others": {"fish", "plants", "decoupled"}}  # fmt: skip


@cache
def load(name):
    return yaml.safe_load((DATA / f"{name}.yaml").read_text(encoding="utf-8"))


def rows(name):
    found = load(name)
    return found if isinstance(found, list) else [row for part in found.values() for row in part]


def codes(name):
    return {row["code"] for row in rows(name)}


@pytest.mark.parametrize("name", [n for n in FILES if n != "sources"])
def test_every_row_has_a_source_that_exists_and_says_how_it_is_known(name):
    known = codes("sources")
    for row in rows(name):
        assert row["source"] in known, row
        assert row["source_kind" if name == "tasks" else "kind"] in KINDS, row


@pytest.mark.parametrize("name", FILES)
def test_codes_are_unique(name):
    if name == "bands":
        keys = [(row["measurand"], row["context"]) for row in rows(name)]
    else:
        keys = [row["code"] for row in rows(name)]
    assert len(keys) == len(set(keys))


@pytest.mark.parametrize("name", [n for n in FILES if n not in ("cycling", "feeding")])
def test_rows_of_a_file_have_the_same_fields(name):
    optional = {"derived", "note", "overlaps", "waits", "no_feed_hours", "condition",
                "counts_from", "day", "every_other", "early_days"}  # fmt: skip
    first = set(rows(name)[0]) - optional
    for row in rows(name):
        assert set(row) - optional == first, row


def test_the_catalogue_knows_every_source_of_the_calculations():
    assert set(SOURCES) <= codes("sources")


def test_low_and_high_are_in_order_everywhere():
    for name in FILES:
        for row in rows(name):
            for key in [k for k in row if k.endswith("_low")]:
                low, high = row[key], row.get(key.removesuffix("_low") + "_high")
                assert low is None or high is None or low <= high, (name, row["code"], key)


# --- measurands and bands
def test_measurands_have_ordered_ranges():
    for row in rows("measurands"):
        limits = [row[k] for k in ("hard_low", "ask_low", "ask_high", "hard_high")]
        known = [x for x in limits if x is not None]
        assert known == sorted(known), row["code"]
        assert row["units"][0] == row["unit"]


def test_measurands_agree_with_the_ranges_that_are_calculated_with():
    for row in rows("measurands"):
        quantity = MEASURANDS.get(row["code"])
        if quantity is None:
            continue
        limits = (quantity.low, quantity.high, quantity.ask_low, quantity.ask_high)
        assert limits == tuple(row[k] for k in ("hard_low", "hard_high", "ask_low", "ask_high"))


def test_every_unit_of_a_measurand_can_be_typed():
    for row in rows("measurands"):
        assert to_base(row["code"], 1.0, row["unit"]) == 1.0
        for unit in row["units"]:
            assert to_base(row["code"], 10.0, unit, temp_c=20.0) > -20
        for basis in row["basis_choices"]:
            assert to_base(row["code"], 10.0, row["unit"], basis) > 0


def test_bands_are_ordered_and_belong_to_a_measurand():
    for row in rows("bands"):
        assert row["measurand"] in codes("measurands")
        known = [row[k] for k in LIMITS if row[k] is not None]
        assert known == sorted(known), row
        assert row["t_lo"] is not None
        assert row["t_hi"] is not None


# --- species and crops
def test_species_agree_with_the_table_that_is_calculated_with():
    pairs = {
        "die_low": "dies_below_c", "die_high": "dies_above_c", "feed_min": "feed_min_c",
        "feed_max": "feed_max_c", "opt_low": "best_low_c", "opt_high": "best_high_c",
        "do_target": "oxygen_target_mg_l", "do_min": "oxygen_limit_mg_l",
        "novice_density": "most_kg_m3", "cold_hardy": "winter_hardy",
        "chloride_helps": "chloride_helps",
    }  # fmt: skip
    table = species_table()
    assert codes("species") <= set(table)
    for row in rows("species"):
        for ours, theirs in pairs.items():
            assert row[ours] == getattr(table[row["code"]], theirs), (row["code"], ours)


def test_species_choose_the_bands_that_are_judged_with():
    for row in rows("species"):
        assert TEMP_CONTEXTS[row["code"]] == row["temp_context"]
        assert (row["code"] in NITRITE_SENSITIVE) == row["nitrite_sensitive"]
        assert (row["group"] == "cold") == species_table()[row["code"]].cold_water


def test_harmful_temperatures_lie_two_degrees_inside_the_lethal_ones():
    by_context = {b["context"]: b for b in rows("bands") if b["measurand"] == "temp"}
    for row in rows("species"):
        band = by_context[row["temp_context"]]
        assert band["red_lo"] >= row["die_low"] + 2, row["code"]
        assert band["red_hi"] <= row["die_high"] - 2, row["code"]


def test_the_winter_of_a_cold_hardy_fish_is_no_alarm():
    by_context = {b["context"]: b for b in rows("bands") if b["measurand"] == "temp"}
    assert by_context["carp"]["t_lo"] <= 10
    assert by_context["catfish"]["t_lo"] <= 15


def test_temperatures_of_a_species_are_in_order():
    for row in rows("species"):
        order = [row[k] for k in ("die_low", "feed_min", "opt_low", "opt_high", "feed_max",
                                  "die_high")]  # fmt: skip
        assert order == sorted(order), row["code"]


# Harrington & Minges 1954: lettuce comes up at 99 % at 25 °C and at 12 % at 30 °C (read).
@pytest.mark.outside(source="Harrington & Minges 1954", kind="read", tolerance="exact")
def test_lettuce_fails_in_warm_seed_beds():
    lettuce = next(row for row in rows("crops") if row["code"] == "lettuce_loose_leaf")
    assert lettuce["normal_seedlings_pct"][25] == 99
    assert lettuce["normal_seedlings_pct"][30] == 12


def test_there_are_thirty_crops():
    assert len(rows("crops")) == 30
    assert {row["group"] for row in rows("crops")} == {"leafy", "fruiting"}


# --- tasks
def test_there_are_64_tasks_that_come_round_and_25_of_the_first_weeks():
    again = [row for row in rows("tasks") if row["rhythm"] != "first_weeks"]
    assert len(again) == 64
    assert len({row["ref"] for row in again}) == 64
    assert len(rows("tasks")) == 64 + 25


def test_the_client_is_shown_twelve_things():
    skills = [row for row in rows("tasks") if row["code"].startswith("skill_")]
    assert len(skills) == 12


def test_the_gate_asks_for_tasks_that_exist():
    assert {*CYCLE_TESTS, *SAFETY, *SKILLS_FIRST} <= codes("tasks")


def test_tasks_name_only_what_exists():
    needs = PARTS["component kinds"] | PARTS["others"]
    reasons, measurands = codes("reasons"), codes("measurands")
    for row in rows("tasks"):
        assert set(row["needs"]) <= needs, row["code"]
        assert set(row["skip"]) <= reasons, row["code"]
        assert set(row["readings"]) <= measurands, row["code"]
        assert set(row["who"]) <= {"client", "technician", "electrician"}
        assert set(row["evidence"]) <= {"photo", "number", "tick", "signature"}
        assert row["criticality"] in "ABC"
        assert row["kind"] in {"routine", "inspection", "predetermined", "condition"}
        assert row["loop"] in {"fish", "plant", "system"}
        assert row["minutes"] > 0


def test_the_rhythm_of_a_task_is_whole():
    for row in rows("tasks"):
        if row["rhythm"] == "interval":
            assert row["every_days"] >= 1
            assert 0 <= row["tolerance_days"] <= row["every_days"]
        elif row["rhythm"] == "first_weeks":
            assert row["counts_from"] in {"start", "ready"}
            assert row["day"] >= 0
            assert row["every_days"] is None
        else:
            assert row["rhythm"] in {"every_visit", "on_condition"}
            assert row["every_days"] is None
        if row["rhythm"] == "on_condition":
            assert row["condition"]["measurand"] in codes("measurands")


def test_the_order_of_work_is_meters_water_fish_and_dirty_work_last():
    order = {row["code"]: row["order"] for row in rows("tasks")}
    assert len(set(order.values())) == len(order)
    meters = [v for k, v in order.items() if k.startswith("meters_")]
    feeding = order["fish_feed"]
    cleaning = [order[k] for k in ("settler_drain", "static_media_backflush", "bed_half_clean",
                                   "pump_strainer_clean", "sump_vacuum")]  # fmt: skip
    assert max(meters) < order["water_full_test"] < order["fish_look"]
    assert order["water_full_test"] < feeding < min(cleaning)
    assert order["fish_sample_weigh"] < feeding
    assert order["backup_air_test"] < order["rcd_test"]
    assert max(order, key=order.get) == "sludge_to_garden"


def test_weighing_and_counting_ask_the_client_not_to_feed():
    by_code = {row["code"]: row for row in rows("tasks")}
    for code in ("fish_sample_weigh", "fish_count"):
        assert by_code[code]["no_feed_hours"] == 24
        assert "feed" in by_code[code]["preparation"]


def test_patterns_and_tasks_kept_apart_name_tasks():
    for name in ("patterns", "tasks_apart"):
        for row in rows(name):
            assert set(row["tasks"]) <= codes("tasks"), row["code"]
    for row in rows("patterns"):
        assert row["includes"] is None or row["includes"] in codes("patterns")
        assert "minutes" not in row
    apart = next(row for row in rows("tasks_apart") if "bed_half_clean" in row["tasks"])
    assert apart["days_apart"] == 7


def test_a_visit_cannot_end_without_the_nine_things_left_running():
    assert codes("left_running") == {
        "pumps", "air", "heater", "timer", "valves", "level", "lid", "gate", "photo",
    }  # fmt: skip


# --- rules
def test_the_built_rules_are_the_registered_ones():
    built = {row["code"] for row in rows("rules") if row["state"] == "built"}
    assert built == set(RULES)
    assert len([code for code in built if not code.endswith("_band")]) >= 45


def test_rules_say_in_words_what_they_do_in_code():
    for row in rows("rules"):
        rule = RULES.get(row["code"])
        if rule is None:
            assert row["state"].startswith("waits for: ")
            continue
        assert (row["urgency"], row["who"], row["priority"], row["source"]) == (
            rule.urgency, rule.who, rule.priority, rule.source,
        )  # fmt: skip
        assert row["recheck_hours"] == rule.recheck_hours
        assert tuple(row["cautions"]) == rule.cautions
        assert (row["ref"] or "") == rule.ref
        assert row["if"]
        assert row["action"]


def test_rules_read_only_signs_that_can_be_picked():
    text = "".join(p.read_text() for p in (DATA.parents[1] / "calc" / "advice").glob("*.py"))
    for code in codes("signs") - {"brown_water", "roots_white", "rain_flood"}:
        assert f'"{code}"' in text, code


# --- plant loops: the recipes and the bands are one truth
# element of a recipe -> the measurand that it is read as (po4 counts as P, no3 as N)
READ_AS = {"k": "k", "ca": "ca", "mg": "mg", "p": "po4", "fe": "fe"}
GROUP_OF = {
    "leafy": "leafy", "strawberry": "fruiting", "fruiting_growth": "fruiting",
    "fruiting_fruit": "fruiting", "hoagland_1": "leafy", "hoagland_2": "leafy",
}  # fmt: skip


@pytest.mark.parametrize("element", READ_AS)
def test_what_a_recipe_aims_at_lies_in_the_band_of_its_plant_loop(element):
    """Among them the two solutions of Hoagland and Arnon 1950, as printed there."""
    bands = {(row["measurand"], row["context"]): row for row in rows("bands")}
    for row in rows("targets"):
        if row["code"] not in GROUP_OF:
            continue
        loop = LoopContext("plants_only", "plant", (), (GROUP_OF[row["code"]],))
        measurand = READ_AS[element]
        band = bands[(measurand, pick_context(measurand, loop))]
        assert band["t_lo"] <= row[element] <= band["t_hi"], (row["code"], element)


def test_seedlings_at_half_strength_are_no_alarm_in_a_plant_loop():
    """Their recipe is for water of their own; in the loop of grown greens it is near the edge."""
    bands = {(row["measurand"], row["context"]): row for row in rows("bands")}
    half = next(row for row in rows("targets") if row["code"] == "seedlings")
    for element in ("k", "ca", "mg", "p"):
        band = bands[(READ_AS[element], "plant_loop_leafy")]
        assert half[element] >= band["amber_lo"], element


def test_water_that_fish_live_in_keeps_the_lower_band_of_its_crops():
    coupled = LoopContext("coupled", "whole", ("nile_tilapia",), ("leafy",))
    assert [pick_context(name, coupled) for name in ("k", "ca", "mg", "po4")] == [
        "leafy", "plants", "plants", "plants",
    ]  # fmt: skip
