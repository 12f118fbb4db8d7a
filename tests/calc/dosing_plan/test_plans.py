"""Plans by example: turns of bases, refusals, what is left out and why."""

import pytest
from advice_builders import fish
from plans import ALL, LOW, answer, facts, plan, refused

from apps.calc.advice import Reading, Source
from apps.calc.advice.cautions import CAUTIONS
from apps.calc.advice.results import CLIENT, TECHNICIAN
from apps.calc.advice.sentences import sentences
from apps.calc.advice.substances import SUBSTANCE_WORDS
from apps.calc.dosing_plan import weighing
from apps.calc.dosing_plan.advised import advised
from apps.calc.dosing_plan.cards import CARDS, card
from apps.calc.dosing_plan.plan import make
from apps.calc.dosing_plan.products import PRODUCTS, product_named
from apps.calc.dosing_plan.results import GOALS, Plan, Request
from apps.calc.sources import SOURCES


def left_out(made: Plan) -> dict[str, str]:
    return {item.product: str(item.text) for item in made.not_used}


class TestBases:
    def test_the_worked_example(self):
        """1200 L, alkalinity 35 to 60: 20.7 mg/L by 49.7 g KHCO3, then 4.3 by 3.8 g of lime."""
        made = plan(facts(LOW), "alkalinity", 60)
        first, second = made.steps
        assert (first.product, first.grams, first.day) == ("KHCO3", 49.7, 0)
        assert first.after["alk"] == pytest.approx(35 + 49.7 / 1.2 * 0.49987, abs=0.01)
        assert first.brings["k"] == pytest.approx(49.7 / 1.2 * 39.098 / 100.115, abs=0.001)
        assert (second.product, second.grams, second.day) == ("Ca(OH)2", 3.8, 1)
        assert made.reached == pytest.approx(59.98, abs=0.01)

    def test_bases_take_turns_and_what_lacks_more_comes_first(self):
        short = plan(facts({**LOW, "k": 40.0, "ca": 20.0}), "alkalinity", 60)
        assert [step.product for step in short.steps[:2]] == ["Ca(OH)2", "KHCO3"]
        other = plan(facts({**LOW, "k": 5.0, "ca": 30.0}), "alkalinity", 60)
        assert other.steps[0].product == "KHCO3"

    def test_what_the_water_holds_enough_of_is_left_out(self):
        made = plan(facts({**LOW, "ca": 130.0}), "alkalinity", 60)
        assert {step.product for step in made.steps} == {"KHCO3"}
        assert "holds 130" in left_out(made)["Ca(OH)2"]

    def test_a_week_of_potassium_ends_the_turns_until_it_is_over(self):
        f = facts(LOW, given_7d={"K": 18.0})
        made = plan(f, "alkalinity", 60, at_hand=frozenset({"KHCO3"}))
        assert made.steps[0].day == 0
        assert made.steps[0].brings["k"] <= 2
        assert made.steps[1].day == 7
        assert not any("waits" in note for note in made.notes)
        full = plan(facts(LOW, given_7d={"K": 21.0}), "alkalinity", 60, at_hand=frozenset({"KOH"}))
        assert full.steps[0].day == 7
        assert any("waits for 7 days" in note and "21 mg/L of K" in note for note in full.notes)

    def test_below_20_the_first_step_alone_is_planned(self):
        made = plan(facts({"alk": 12.0, "ph": 6.1, "tan": 0.2}), "alkalinity", 60)
        assert len(made.steps) == 1
        assert made.steps[0].after["alk"] <= 17
        assert any("kit may be wrong" in note for note in made.notes)

    def test_the_client_never_gives_what_burns(self):
        for step in plan(facts({**LOW, "ca": 20.0}), "ph", 6.9).steps:
            assert step.who == ("client" if step.product == "KHCO3" else "technician")
        alone = plan(facts(LOW), "alkalinity", 60, by_client=False)
        assert {step.who for step in alone.steps} == {"technician"}

    def test_sodium_serves_last_and_only_as_far_as_it_is_known(self):
        at_hand = frozenset({"NaHCO3"})
        assert "at hand" in refused(facts(LOW), "alkalinity", 60, at_hand=at_hand)["at_hand"]
        made = plan(facts({**LOW, "na": 45.0}), "alkalinity", 60, at_hand=at_hand)
        assert sum(step.brings["na"] for step in made.steps) <= 5

    def test_held_carbon_dioxide_wants_air(self):
        made = plan(facts({"alk": 80.0, "ph": 6.2, "tan": 0.1}), "ph", 6.6)
        assert any("More air" in note for note in made.notes)

    def test_where_nothing_is_harmless_it_says_so(self):
        f = facts({"alk": 90.0, "ph": 7.9, "tan": 1.0, "temp": 31.0})
        assert "toxic" in refused(f, "alkalinity", 110)["ph"]


class TestRefusals:
    @pytest.mark.parametrize(
        ("values", "fields", "goal", "field", "says"),
        [({**LOW, "alk": None}, {}, "alkalinity", "alk", "No trusted reading"),
         ({**LOW, "alk": Reading(35.0, age_h=24.0)}, {}, "alkalinity", "alk", "24 hours old"),
         ({**LOW, "temp": Reading(25.0, age_h=100.0)}, {}, "alkalinity", "temp", "4 days old"),
         ({**LOW, "ph": Reading(6.5, trusted=False)}, {}, "alkalinity", "ph", "not trusted"),
         ({**LOW, "tan": 1.2}, {}, "alkalinity", "tan", "1.2 mg/L N; above 1"),
         ({**LOW, "tan": None}, {}, "alkalinity", "tan", "No trusted reading"),
         (LOW, {"volume_l": 0.0}, "alkalinity", "volume_l", "Litres of the loop: 0"),
         (LOW, {"volume_within_pct": 25.0}, "alkalinity", "volume_l", "within 25 %"),
         ({"k": Reading(9.0, age_h=31 * 24.0)}, {}, "k", "k", "31 days old"),
         ({"no2": None}, {}, "chloride", "no2", "No trusted reading"),
         ({"no2": 0.0}, {}, "chloride", "no2", "ratio is kept"),
         ({"no2": 2.0}, {"fish": (fish("largemouth_bass"),)}, "chloride", "goal", "bass"),
         ({"no2": 2.0}, {"fish": ()}, "chloride", "goal", "No fish"),
         ({"k": 10.0}, {"kind": "fish", "system": "decoupled", "crops": ()}, "k", "goal", "No plants")],
    )  # fmt: skip
    def test_they_name_field_value_and_way_out(self, values, fields, goal, field, says):
        found = refused(facts(values, **fields), goal, 60)
        assert set(found) == {field}
        assert says in found[field]

    def test_one_base_a_day(self):
        said = refused(facts(LOW), "alkalinity", 60, base_hours_ago=5.2)["alk"]
        assert "given 5 hours ago" in said
        assert plan(facts(LOW), "alkalinity", 60, base_hours_ago=24.0).steps
        assert plan(facts({"k": 12.0}), "k", 40, base_hours_ago=5.0).steps

    def test_all_that_is_missing_is_said_at_once(self):
        assert set(refused(facts({"alk": None, "ph": None, "tan": 1.5}), "alkalinity", 60)) == {
            "alk",
            "ph",
            "tan",
        }

    @pytest.mark.parametrize(
        ("target", "says"), [(None, "how far"), (35, "at 35 already"), (121, "120 or less")]
    )
    def test_targets(self, target, says):
        assert says in refused(facts(LOW), "alkalinity", target)["target"]

    def test_none_at_hand(self):
        found = refused(facts({"k": 10.0}), "k", 40, at_hand=frozenset({"HCl"}))
        assert "order it" in found["at_hand"]
        assert (
            "order potassium"
            in refused(facts(LOW), "ph", 6.8, at_hand=frozenset({"HCl"}))["at_hand"]
        )

    def test_a_scale_too_coarse(self):
        found = refused(facts({"fe": 0.5}, volume_l=60.0), "fe", 1.0, scale_g=1.0)
        assert "1 g is too coarse for 60 L" in found["scale_g"]

    @pytest.mark.parametrize(
        ("ask", "name"), [({"goal": "copper"}, "goal"), ({"every_days": 0}, "every_days")]
    )
    def test_what_nobody_can_ask(self, ask, name):
        with pytest.raises(ValueError, match=f"{name} must be"):
            make(facts(), Request(**{"goal": "k", "target": 40.0, "at_hand": ALL, **ask}))


class TestElements:
    def test_nitrates_never_where_fish_live_but_in_plant_water(self):
        fishy = plan(facts({"k": 12.0}), "k", 40)
        assert "never where fish live" in left_out(fishy)["KNO3"]
        plants = facts({"k": 12.0}, kind="plant", fish=(), system="decoupled")
        assert plan(plants, "k", 60, at_hand=frozenset({"KNO3"})).steps[0].product == "KNO3"

    def test_plant_water_rises_by_its_conductivity_instead_of_by_weeks(self):
        plants = facts({"k": 12.0}, kind="plant", fish=(), system="decoupled")
        made = plan(plants, "k", 200)
        assert made.reached == pytest.approx(200, abs=2)
        assert "Write 250 or less" in refused(plants, "k", 251)["target"]
        assert len(made.steps) < 7
        assert not made.week_most
        assert any("0.3 mS/cm" in note for note in made.notes)
        assert max(step.brings["k"] for step in made.steps) > 20

    @pytest.mark.parametrize(
        ("ph", "product"),
        [
            (6.2, "Fe-EDTA 13 %"),
            (6.5, "Fe-EDTA 13 %"),
            (6.8, "Fe-DTPA 11 %"),
            (7.4, "Fe-EDDHA 6 %"),
        ],
    )
    def test_the_chelate_fits_the_ph(self, ph, product):
        assert plan(facts({"fe": 0.5, "ph": ph}), "fe", 2).steps[0].product == product

    def test_a_chelate_that_lets_go_is_refused_with_the_reason(self):
        found = refused(facts({"fe": 0.5, "ph": 7.4}), "fe", 2, at_hand=frozenset({"Fe-DTPA 11 %"}))
        assert "above pH 7.2; the water has 7.4" in found["at_hand"]

    def test_a_reading_below_the_kit_counts_as_its_limit(self):
        made = plan(facts({"fe": 0.0}), "fe", 2)
        assert made.start == 0.1
        assert any("below what the kit can tell" in note for note in made.notes)

    def test_chloride_of_a_potassium_salt_stops_at_the_plants_limit(self):
        f = facts({"k": 12.0, "cl": 150.0})
        assert (
            "Chloride stands at 150" in refused(f, "k", 40, at_hand=frozenset({"KCl"}))["at_hand"]
        )

    def test_a_full_week_is_said(self):
        f = facts({"k": 12.0}, given_7d={"K": 20.0})
        made = plan(f, "k", 40)
        assert made.steps[0].day == 7


class TestChloride:
    def test_sodium_first_then_calcium_each_in_its_own_bucket(self):
        made = plan(facts({"no2": 3.0, "na": 40.0, "cl": 10.0}), "chloride", None)
        assert [step.product for step in made.steps] == ["NaCl", "CaCl2.2H2O"]
        assert [step.hours for step in made.steps] == [0.0, 1.0]
        assert made.steps[0].brings["na"] <= 10
        assert made.reached == pytest.approx(made.target, abs=0.2)

    def test_what_is_missing_is_said(self):
        made = plan(
            facts({"no2": 3.0, "na": 40.0, "cl": 10.0}),
            "chloride",
            None,
            at_hand=frozenset({"NaCl"}),
        )
        assert any("still missing" in note for note in made.notes)

    def test_unknown_sodium_leaves_common_salt_out(self):
        made = plan(facts({"no2": 1.0}), "chloride", None)
        assert "not measured" in left_out(made)["NaCl"]
        assert any("counted as none" in note for note in made.notes)


class TestSource:
    HARD = Source(7.8, 180, temp_c=15.0)

    def test_hydrochloric_acid_by_steps_in_the_barrel(self):
        """200 L from 180 to 60: 120/50.04 x 36.458 x 0.2 = 17.5 g pure, 47.3 g of 37 %."""
        made = plan(facts(source=self.HARD), "source", 60, barrel_l=200.0, acid_pct=37.0)
        assert sum(step.grams for step in made.steps) == pytest.approx(47.1, abs=0.2)
        assert made.steps[0].ml == pytest.approx(13.26, abs=0.05)
        assert {step.who for step in made.steps} == {"technician"}
        assert "stays off" in left_out(made)["HNO3"]

    def test_phosphoric_acid_takes_15_and_says_what_it_brings(self):
        made = plan(
            facts(source=self.HARD), "source", 60, barrel_l=200.0, acid_pct=85.0, acid="H3PO4"
        )
        assert len(made.steps) == 1
        assert made.start - made.reached <= 15
        assert any("of phosphorus" in note for note in made.notes)
        assert any("Blend with rain" in note for note in made.notes)

    @pytest.mark.parametrize(
        ("source", "ask", "field"),
        [(None, {}, "source_alk"), (HARD, {"source_age_days": 91}, "source_alk"),
         (HARD, {"at_hand": frozenset({"H3PO4"})}, "at_hand"), (HARD, {"acid_pct": None}, "acid_pct"),
         (HARD, {"acid_pct": 45.0}, "acid_pct"), (HARD, {"barrel_l": None}, "barrel_l"),
         (HARD, {"target": 10.0}, "target"), (HARD, {"target": 200.0}, "target")],
    )  # fmt: skip
    def test_refusals(self, source, ask, field):
        given = {"barrel_l": 200.0, "acid_pct": 37.0, "target": 60.0} | ask
        target = given.pop("target")
        assert set(refused(facts(source=source), "source", target, **given)) == {field}


class TestWords:
    def test_every_product_has_a_card_and_no_card_is_left_over(self):
        used = {name for product in PRODUCTS.values() for name in product.cards}
        assert used == set(CARDS)
        for code in PRODUCTS:
            assert len(card(code)) >= 3
            assert code in SUBSTANCE_WORDS

    def test_acids_and_hydroxides_are_never_mild(self):
        assert not any(p.mild for p in PRODUCTS.values() if p.kind in ("acid", "strong_base"))
        assert all("acid_into_water" in p.cards for p in PRODUCTS.values() if p.kind == "acid")

    def test_an_unknown_product_names_the_known_ones(self):
        with pytest.raises(ValueError, match="product must be one of KHCO3"):
            product_named("CuSO4")

    @pytest.mark.parametrize("goal", GOALS)
    def test_a_plan_becomes_advice_with_its_sentences(self, goal):
        values = {**LOW, "k": 12.0, "ca": 20.0, "mg": 4.0, "fe": 0.3, "po4": 0.6, "no2": 1.0}
        target = {"ph": 6.8, "fe": 2.0, "p": 3.0, "mg": 12.0, "k": 40.0, "chloride": None}.get(
            goal, 60.0
        )
        made = plan(
            facts(values, source=TestSource.HARD), goal, target, barrel_l=200.0, acid_pct=37.0
        )  # fmt: skip
        assert set(made.sources) <= set(SOURCES)
        drafts = advised(made, "a")
        given = [
            (step.after_hours, step.substance, step.dose) for one in drafts for step in one.steps
        ]
        assert sorted(given) == sorted((s.hours, s.product, s.grams) for s in made.steps)
        for one in drafts:
            assert one.who in (CLIENT, TECHNICIAN)
            assert set(one.cautions) <= set(CAUTIONS)
            assert sentences(one)[0].msgid.startswith("Dosing plan")
            if one.who == CLIENT:
                assert all(PRODUCTS[step.substance].mild for step in one.steps)

    def test_a_scale_that_nobody_has(self):
        with pytest.raises(ValueError, match="scale_g must be one of"):
            weighing.weighed(3.0, 0.5)
        assert answer(facts({"k": 12.0}), "k", 40, scale_g=0.01)
