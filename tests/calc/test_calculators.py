"""The calculators: fixed figures, exact fields, and every kind of bad input."""

import json
from dataclasses import FrozenInstanceError

import pytest

from apps.calc.calculators import CALCULATORS, CalculatorError
from tests.calc.calculator_examples import EXAMPLES, MIX, RAISE, SMALLEST, WEATHER


def result(name, **payload):
    return CALCULATORS[name].run(payload)["result"]


def errors(name, **payload):
    with pytest.raises(CalculatorError) as refused:
        CALCULATORS[name].run(payload)
    json.dumps(refused.value.errors, allow_nan=False)
    return refused.value.errors


class TestResults:
    @pytest.mark.parametrize(("name", "payload", "expected"), EXAMPLES)
    def test_are_the_fixed_figures_in_exactly_the_named_fields(self, name, payload, expected):
        found = CALCULATORS[name].run(payload)["result"]
        assert set(found) == set(expected)
        for field, value in expected.items():
            assert found[field] == (
                value if isinstance(value, str) else pytest.approx(value, rel=6e-4)
            )

    def test_twenty_seven_calculators_each_with_an_example(self):
        assert len(CALCULATORS) == 27
        assert set(SMALLEST) == set(CALCULATORS)

    @pytest.mark.parametrize("name", CALCULATORS)
    def test_come_with_an_explanation_that_is_json(self, name):
        whole = CALCULATORS[name].run(SMALLEST[name])
        assert json.loads(json.dumps(whole, allow_nan=False)) == whole
        assert set(whole) == {"result", "explanation", "cautions"}
        explanation = whole["explanation"]
        assert set(explanation) == {"formula", "inputs", "source", "valid_range", "assumptions"}
        assert explanation["formula"]
        assert explanation["source"]
        assert explanation["valid_range"]
        assert set(SMALLEST[name]) <= set(explanation["inputs"])

    def test_defaults_are_shown_among_the_inputs(self):
        inputs = CALCULATORS["pump_head"].run(SMALLEST["pump_head"])["explanation"]["inputs"]
        assert inputs["efficiency"] == 0.30

    def test_filter_states_its_rate_and_factor(self):
        explanation = CALCULATORS["filter"].run(SMALLEST["filter"])["explanation"]
        assert "0.5 g TAN/m2/day" in explanation["formula"]
        assert any("temperature factor" in line for line in explanation["assumptions"])

    def test_no_feed_comes_with_a_caution(self):
        cautions = CALCULATORS["feed"].run(
            {"species": "rainbow_trout", "count": 10, "mean_weight_g": 100, "temp_c": 21}
        )["cautions"]
        assert any("no feed" in caution for caution in cautions)

    def test_a_calculator_does_not_change(self):
        with pytest.raises(FrozenInstanceError):
            CALCULATORS["co2"].name = "other"


class TestRaisePh:
    @pytest.mark.parametrize("salt", ["KHCO3", "NaHCO3", "K2CO3", "Ca(OH)2", "KOH"])
    @pytest.mark.parametrize("target", [6.3, 6.6, 7.2])
    def test_steps_sum_to_the_dose_and_stay_small(self, salt, target):
        found = result("raise_ph", **RAISE | {"salt": salt, "target_ph": target})
        assert set(found) == {"dose_g", "dose_g_after_minutes", "steps"}
        assert sum(step["dose_g"] for step in found["steps"]) == pytest.approx(found["dose_g"])
        ph, hour = RAISE["ph"], -24
        for step in found["steps"]:
            assert set(step) == {"after_hours", "dose_g", "ph_minutes", "ph_hours"}
            assert step["ph_minutes"] - ph <= 0.2 + 1e-9
            assert step["ph_hours"] - ph <= 0.2 + 1e-9
            assert step["after_hours"] - hour >= 24
            ph, hour = step["ph_hours"], step["after_hours"]

    @pytest.mark.outside(
        source="PHREEQC, g per 2000 L with CO2 held", kind="computed", tolerance=0.01
    )
    @pytest.mark.parametrize(
        ("salt", "grams"), [("KHCO3", 122.4), ("NaHCO3", 102.8), ("K2CO3", 84.5), ("Ca(OH)2", 45.7)]
    )
    def test_dose(self, salt, grams, outside):
        outside(result("raise_ph", **RAISE | {"salt": salt})["dose_g"], grams)

    def test_is_proportional_to_the_volume(self):
        small, large = (
            result("raise_ph", **RAISE | {"volume_l": v})["dose_g"] for v in (500, 2000)
        )
        assert large == pytest.approx(4 * small)

    @pytest.mark.parametrize("target", [6.2, 6.1, 8.01, 9])
    def test_refuses_a_target_not_above_the_ph_or_above_8(self, target):
        (error,) = errors("raise_ph", **RAISE | {"target_ph": target})
        assert error["pointer"] == "/target_ph"
        assert error["value"] == target

    def test_strong_bases_carry_a_caution(self):
        mild = CALCULATORS["raise_ph"].run(RAISE)["cautions"]
        strong = CALCULATORS["raise_ph"].run(RAISE | {"salt": "KOH"})["cautions"]
        assert any("goggles" in caution for caution in strong)
        assert not any("goggles" in caution for caution in mild)

    def test_where_closed_water_never_gets_there_no_dose_is_invented(self):
        whole = CALCULATORS["raise_ph"].run(
            RAISE | {"ph": 7, "alkalinity_mg_l_caco3": 100, "target_ph": 8}
        )
        assert whole["result"]["dose_g_after_minutes"] is None
        assert any("does not reach" in caution for caution in whole["cautions"])


class TestMix:
    def test_a_mild_change_is_allowed(self):
        found = result("mix", **MIX)
        assert (found["allowed"], found["why"]) == (True, "")
        assert found["temp_c"] == pytest.approx(25.2)
        assert found["tan_mg_l"] == pytest.approx(0.4)

    @pytest.mark.parametrize(
        ("change", "word"),
        [
            ({"source_ph": 8.6, "source_alkalinity_mg_l_caco3": 250}, "pH"),
            ({"source_ph": 5.5, "source_alkalinity_mg_l_caco3": 10}, "pH"),
            ({"source_temp_c": 15.5}, "temperature"),
            ({"litres": 310}, "30 %"),
            (
                {"tan_mg_l": 3, "source_tan_mg_l": 5},
                "ammonia",
            ),
        ],
    )
    def test_a_harmful_change_is_refused_with_the_reason(self, change, word):
        found = result("mix", **MIX | change)
        assert not found["allowed"]
        assert word in found["why"]

    def test_a_change_that_lowers_harmful_ammonia_is_allowed(self):
        found = result("mix", **MIX | {"tan_mg_l": 5, "ph": 7.4, "source_ph": 7.2})
        assert found["nh3_n_mg_l"] > 0.02
        assert found["allowed"]

    def test_refuses_more_litres_than_the_system_holds(self):
        assert errors("mix", **MIX | {"litres": 1001})[0]["pointer"] == "/litres"


class TestBadInput:
    @pytest.mark.parametrize(
        "value",
        [
            True,
            False,
            None,
            float("nan"),
            float("inf"),
            float("-inf"),
            "",
            " 7",
            "7 ",
            "7.",
            ".7",
            "7.12345",
            *("1234567", "1e3", "+7", "٧", "seven", "7.1.1", "0x7", [], {}, [7], "--7", "7\n"),
        ],
    )
    def test_what_is_not_a_number_is_named(self, value):
        (error,) = errors("ammonia", tan_mg_l=1, ph=value, temp_c=24)
        assert error["pointer"] == "/ph"
        assert "ph must be a number" in error["message"]

    @pytest.mark.parametrize("value", [71, "71", -1, 2.99, 11.01, 1e300])
    def test_what_is_out_of_range_is_named_with_the_range(self, value):
        (error,) = errors("ammonia", tan_mg_l=1, ph=value, temp_c=24)
        assert error["message"] == "ph must be between 3 and 11"

    @pytest.mark.parametrize("sign", [1, -1])
    def test_a_number_of_four_hundred_digits_is_out_of_range(self, sign):
        (error,) = errors("ammonia", tan_mg_l=1, ph=sign * 10**400, temp_c=24)
        assert error["message"] == "ph must be between 3 and 11"

    @pytest.mark.parametrize("value", [7, 7.0, "7", "7.0", "7,0", "7.0000"])
    def test_numbers_and_their_text_are_the_same(self, value):
        assert result("ammonia", tan_mg_l=1, ph=value, temp_c=24) == result(
            "ammonia", tan_mg_l=1, ph=7, temp_c=24
        )

    def test_a_float_of_many_digits_is_taken(self):
        assert result("ammonia", tan_mg_l=0.123456789012, ph=7, temp_c=24)["nh3_n_mg_l"] > 0

    @pytest.mark.parametrize("name", CALCULATORS)
    def test_missing_and_unknown_fields_are_all_named(self, name):
        found = errors(name, colour="red")
        pointers = {error["pointer"] for error in found}
        required = {f"/{field.name}" for field in CALCULATORS[name].fields if field.required}
        assert pointers == required | {"/colour"}
        assert next(error for error in found if error["pointer"] == "/colour")["allowed"]

    @pytest.mark.parametrize("name", CALCULATORS)
    def test_every_field_refuses_null(self, name):
        for field in SMALLEST[name]:
            found = errors(name, **SMALLEST[name] | {field: None})
            assert found[0]["pointer"] == f"/{field}"

    @pytest.mark.parametrize("name", CALCULATORS)
    def test_every_number_refuses_what_lies_beyond_its_range(self, name):
        for field in CALCULATORS[name].fields:
            for bound, beyond in ((field.low, -1.0), (field.high, 1.0)):
                if bound is None or field.kind not in ("number", "integer"):
                    continue
                value = bound + beyond
                found = errors(name, **SMALLEST[name] | {field.name: value})
                assert f"/{field.name}" in [error["pointer"] for error in found]

    @pytest.mark.parametrize("payload", [None, [], "text", 7])
    def test_an_input_that_is_no_object(self, payload):
        with pytest.raises(CalculatorError) as refused:
            CALCULATORS["ammonia"].run(payload)
        assert refused.value.errors[0]["pointer"] == ""

    @pytest.mark.parametrize(
        ("name", "change", "pointer"),
        [
            ("dechlorinate", {"agent": "salt"}, "/agent"),
            ("raise_ph", {"salt": "CaCO3"}, "/salt"),
            ("feed", {"species": "shark"}, "/species"),
            ("feed_area", {"crop_group": "roots"}, "/crop_group"),
            ("conductivity", {"scale": 600}, "/scale"),
            ("conductivity", {"unit": "S/m"}, "/unit"),
            ("volume", {"shape": "sphere"}, "/shape"),
            ("nitrite_chloride", {"salt": True}, "/salt"),
        ],
    )
    def test_unknown_codes_come_with_the_allowed_ones(self, name, change, pointer):
        (error,) = errors(name, **SMALLEST[name] | change)
        assert error["pointer"] == pointer
        assert error["allowed"]

    @pytest.mark.parametrize(
        ("name", "payload", "pointer"),
        [
            (
                "water_change",
                {"volume_l": 1, "now_mg_l": 5, "target_mg_l": 2, "source_mg_l": 2},
                "/source_mg_l",
            ),
            (
                "water_change",
                {"volume_l": 1, "now_mg_l": 5, "target_mg_l": 2, "source_mg_l": 9},
                "/source_mg_l",
            ),
            ("biomass", {"weights_g": [50], "count": 10}, "/weights_g"),
            ("biomass", {"weights_g": [], "count": 10}, "/weights_g"),
            ("biomass", {"weights_g": [50, 60, 70], "count": 2}, "/count"),
            ("biomass", {"weights_g": [50, "x"], "count": 2}, "/weights_g/1"),
            ("biomass", {"weights_g": [50, 60], "count": 2.5}, "/count"),
            ("biomass", {"weights_g": "50, 60", "count": 2}, "/weights_g"),
            ("growth", {"weight_g": 60, "temp_c": 29, "days": 5}, "/tgc"),
            (
                "growth",
                {"weight_g": 60, "temp_c": 29, "days": 5, "tgc": 1, "species": "koi"},
                "/tgc",
            ),
            ("filter", {"tan_g_day": 5, "temp_c": 20}, "/media"),
            (
                "filter",
                {"tan_g_day": 5, "temp_c": 20, "media": [{"kind": "gravel"}]},
                "/media/0/litres",
            ),
            (
                "filter",
                {"tan_g_day": 5, "temp_c": 20, "media": [{"kind": "x", "litres": 5}]},
                "/media/0/kind",
            ),
            ("filter", {"tan_g_day": 5, "temp_c": 20, "media": ["gravel"]}, "/media/0"),
            ("filter", {"tan_g_day": 5, "temp_c": 20, "media": {}}, "/media"),
            ("conductivity", {"value": 700, "unit": "ppm"}, "/scale"),
            ("volume", {"shape": "box", "length_m": 1, "width_m": 1}, "/depth_m"),
            (
                "volume",
                {"shape": "box", "length_m": 1, "width_m": 1, "depth_m": 1, "diameter_m": 1},
                "/diameter_m",
            ),
            (
                "volume",
                {"shape": "horizontal_cylinder", "length_m": 1, "diameter_m": 1, "depth_m": 1.1},
                "/depth_m",
            ),
            ("evapotranspiration", WEATHER | {"date": "2015-02-30"}, "/date"),
            ("evapotranspiration", WEATHER | {"date": "20150715"}, "/date"),
            ("evapotranspiration", WEATHER | {"date": 20150715}, "/date"),
            ("evapotranspiration", WEATHER | {"tmin_c": 27}, "/tmin_c"),
            ("evapotranspiration", WEATHER | {"rh_min": 80, "rh_max": 60}, "/rh_min"),
            ("evapotranspiration", WEATHER | {"wind_height_m": 10}, "/wind_m_s"),
            ("germination", {"sown": 10, "came_up": 11}, "/came_up"),
            (
                "growth_rates",
                {"weight_g": 5, "later_weight_g": 9, "days": 7, "feed_kg": 1},
                "/count",
            ),
            (
                "growth_rates",
                {"weight_g": 5, "later_weight_g": 9, "days": 7, "count": 9},
                "/feed_kg",
            ),
            (
                "growth_rates",
                {"weight_g": 9, "later_weight_g": 9, "days": 7, "count": 9, "feed_kg": 1},
                "/later_weight_g",
            ),
            ("air", {"air_l_min": 9, "temp_c": 29, "do_mg_l": 7.6, "oxygen_g_day": 9}, "/do_mg_l"),
            (
                "loop_flow",
                {"feed_g_day": 9, "protein_fraction": 0.3, "temp_c": 20, "do_in_mg_l": 5},
                "/do_in_mg_l",
            ),
            ("germination", {"sown": 0, "came_up": 0}, "/sown"),
        ],
    )
    def test_fields_that_do_not_go_together(self, name, payload, pointer):
        assert pointer in [error["pointer"] for error in errors(name, **payload)]

    def test_a_strange_key_makes_a_valid_pointer(self):
        found = errors("co2", **SMALLEST["co2"] | {"a/b~c": 1})
        assert found[0]["pointer"] == "/a~1b~0c"


@pytest.mark.parametrize(
    ("name", "more", "first"),
    [
        ("loop_flow", {"feed_g_day": 315, "protein_fraction": 0.32, "temp_c": 29}, "flow_l_h"),
        ("air", {"air_l_min": 60, "temp_c": 29, "do_mg_l": 5}, "here_g_h"),
        ("air", {"air_l_min": 60, "temp_c": 29, "do_mg_l": 5, "oxygen_g_day": 184}, "air_l_min"),
    ],
)
def test_what_to_take_stands_first(name: str, more: dict[str, float], first: str) -> None:
    assert next(iter(CALCULATORS[name].run(more)["result"])) == first
