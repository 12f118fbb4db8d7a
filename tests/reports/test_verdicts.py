"""The verdict and its reasons: chosen by what the readings did, the same each time, never invented."""

import datetime as dt
import re
from typing import Any

import pytest

from apps.reports.rendering import wording
from apps.reports.rendering.acting import actions, bags_left, stop_and_call, this_week
from apps.reports.rendering.household import (
    eat_lines,
    feed_by_another,
    feed_lines,
    next_lines,
    pick_lines,
)
from apps.reports.rendering.reader import Reader
from apps.reports.rendering.verdicts import changes, open_since, verdict, why
from tests.reports.saying import advice, reading, snapshot

LATER = dt.date(2030, 1, 1)
HALF = " That is half of usual at most. Stop when they stop eating."
GOOD_DO = reading("do", 6.4, "in_band", 6.5, "in_band")


def said(*readings: dict[str, Any], **more: Any) -> str:
    return verdict(Reader(snapshot(*readings, **more)))


@pytest.mark.parametrize(
    ("row", "words"),
    [
        (reading("alk", 27, "out_of_band"), "Alkalinity is low."),
        (reading("alk", 50, "out_of_band", 70, "in_band"), "Alkalinity has turned low."),
        (reading("alk", 50, "out_of_band", 27, "out_of_band"), "Alkalinity is low, but mending."),
        (reading("alk", 27, "out_of_band", 50, "out_of_band"), "Alkalinity is low and falling."),
        (reading("alk", 27, "out_of_band", 27.2, "out_of_band"), "Alkalinity is still low."),
        (reading("no3", 80, "out_of_band", 60, "out_of_band"), "Nitrate is high and rising."),
    ],
)
def test_one_reading_off_is_told_by_its_way_here(row: dict[str, Any], words: str) -> None:
    assert said(GOOD_DO, row) == f"Your fish are well. {words}"


def test_of_a_temperature_the_water_is_warm() -> None:
    assert said(reading("temp", 32, "out_of_band", 28, "in_band")) == "The water has turned warm."


def test_fish_are_called_well_only_where_all_that_they_feel_is() -> None:
    low = reading("alk", 27, "out_of_band")
    assert said(GOOD_DO, low).startswith("Your fish are well.")
    assert said(low) == "Alkalinity is low."
    assert said(reading("do", 4, "out_of_band"), low) == "Oxygen and alkalinity are low."
    past = snapshot()["past"] | {"deaths": 1}
    assert said(GOOD_DO, low, past=past) == "Alkalinity is low."
    seen = [{"sign": "fish_lethargic", "name": "", "text": "", "component": "", "photos": []}]
    assert said(GOOD_DO, low, findings=seen) == "Alkalinity is low."


def test_a_calm_water_hides_no_danger() -> None:
    dead = advice("rcd_dead", urgency="now")
    assert said(GOOD_DO, advice=[dead]) == (
        "One thing cannot wait. Use nothing on this power switch."
    )
    past = snapshot()["past"] | {"deaths": 3}
    assert said(GOOD_DO, past=past) == "The water is well. Your fish need a look."
    assert said(GOOD_DO, advice=[advice("disease_signs")]).endswith("Your fish need a look.")
    # pH alone does not tell how fish are
    assert said(reading("ph", 6.8, "in_band", 6.8, "in_band")) == "The water is well."


def test_harmful_comes_first() -> None:
    row = reading("tan", 4, "harmful")
    assert said(row, GOOD_DO) == "Your fish need help now. Ammonia is far too high."
    assert said(row, fish=[]) == "The water needs help now. Ammonia is far too high."


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (["out_of_band"], "All is well again."),
        (["in_band", "out_of_band"], "Fish and water are well."),
        (["in_band"] * 4, "All is well, 5 visits running."),
    ],
)
def test_all_well_is_told_by_what_was_before(words: list[str], told: str) -> None:
    past = snapshot()["past"] | {"words": words, "count": len(words)}
    assert said(GOOD_DO, past=past) == told


def test_first_visit_and_old_snapshots() -> None:
    first = snapshot()["past"] | {"words": [], "count": 0, "last_on": None}
    assert said(GOOD_DO, past=first) == "A good start: all is well."
    old = snapshot(GOOD_DO)
    for name in ("past", "asks", "feeding", "kind"):
        del old[name]
    assert verdict(Reader(old)) == "Fish and water are well."
    assert changes(Reader(old)) == open_since(Reader(old)) == []
    assert feed_lines(Reader(old)) == ["As much as you give now."]


def test_nothing_judged_is_said() -> None:
    assert said() == "We could not judge the water today."


def test_why_names_the_way_the_band_and_the_meaning() -> None:
    rows = (GOOD_DO, reading("alk", 27, "out_of_band", 50, "out_of_band"))
    assert why(Reader(snapshot(*rows))) == [
        "Alkalinity fell from 50 to 27\xa0mg/L. Good is 60 to 120. "
        "Alkalinity keeps the pH from falling."
    ]
    calm = (GOOD_DO, reading("no3", 35, "in_band", 15, "in_band"))
    assert why(Reader(snapshot(*calm))) == ["Nitrate rose from 15 to 35\xa0mg/L. Good is 10 to 40."]
    assert why(Reader(snapshot(GOOD_DO))) == ["The readings have hardly moved."]


def test_what_changed_and_what_stands_open() -> None:
    past = snapshot()["past"] | {
        "done": [{"rule": "flow_low", "loop": ""}], "deaths": 2, "since": {"alk_below_band": "2026-05-14"},
    }  # fmt: skip
    rows = (
        reading("no2", 0.1, "in_band", 0.6, "out_of_band"),
        reading("alk", 50, "out_of_band", 70, "in_band"),
    )
    reader = Reader(snapshot(*rows, past=past, advice=[advice("alk_below_band")]))
    assert changes(reader) == [
        "Nitrite is back in its good band.", "Alkalinity has left its good band.",
        "Done: Clean the strainer, then the pump.", "2 fish died.",
    ]  # fmt: skip
    assert open_since(reader) == [("Test the alkalinity again next week.", "Thu 14 May")]


DOSES = {
    "parameters": {
        "substance": "KHCO3",
        "steps": [
            {"after_hours": 0.0, "dose": 48.2, "unit": "g", "substance": "KHCO3"},
            {"after_hours": 24.0, "dose": 29.0, "unit": "g", "substance": "KHCO3"},
        ],
    },
    "dose": 77.2, "unit": "g",
}  # fmt: skip


class TestDoses:
    def test_a_clients_are_dated_bags(self) -> None:
        reader = Reader(snapshot(GOOD_DO, advice=[advice("alkalinity_low", **DOSES)]))
        assert actions(reader)[0].doses == (
            ("Thu 11 June", "bag 1: 48\xa0g of potassium bicarbonate"),
            ("Fri 12 June", "bag 2: 29\xa0g of potassium bicarbonate"),
        )
        assert "Stop and call us" in stop_and_call(reader)
        assert len(bags_left(reader)) == 2

    def test_mail_and_page_say_them_too(self) -> None:
        rows = wording.actions(
            Reader(snapshot(GOOD_DO, advice=[advice("alkalinity_low", **DOSES)]))
        )
        assert [row.text.replace("\xa0", " ") for row in rows] == [
            "Feed: As much as you give now.",
            "Lift the alkalinity a little each day. "
            "Thu 11 June: bag 1: 48 g of potassium bicarbonate. "
            "Fri 12 June: bag 2: 29 g of potassium bicarbonate. "
            "Stop and call us if fish gasp or the pH moves by more than 0.2.",
        ]

    def test_ours_are_no_bags(self) -> None:
        row = advice("alkalinity_low", **DOSES, who="technician")
        reader = Reader(snapshot(GOOD_DO, advice=[row]))
        assert "bag" not in actions(reader)[0].doses[0][1]
        assert (stop_and_call(reader), bags_left(reader)) == ("", [])

    @pytest.mark.parametrize("substance", ["KOH", "Ca(OH)2", "HCl", "H3PO4"])
    def test_no_client_is_ever_told_to_give_a_base_or_acid(self, substance: str) -> None:
        kept = {"substance": substance, "steps": []}
        row = advice("water_acid", parameters=kept, dose=5.0, unit="g")
        reader = Reader(snapshot(GOOD_DO, advice=[row]))
        assert not actions(reader)[0].own
        assert bags_left(reader) == []
        assert stop_and_call(reader) == ""


class TestHousehold:
    def test_a_hold_says_until_when(self) -> None:
        hold = {"touches": "fish", "until": "2026-06-14", "product": "salt"}
        reader = Reader(snapshot(GOOD_DO, holds=[hold]))
        assert eat_lines(reader) == [
            ("Fish: wait until Sun 14 June (salt).", True),
            ("Greens: fine to eat, washed well.", False),
        ]

    def test_dying_fish_are_not_eaten(self) -> None:
        reader = Reader(snapshot(GOOD_DO, advice=[advice("deaths")]))
        assert eat_lines(reader)[0] == ("Fish: eat none until we say so.", True)

    def test_koi_are_not_food(self) -> None:
        koi = snapshot()["fish"][0] | {"eaten": False}
        assert eat_lines(Reader(snapshot(GOOD_DO, fish=[koi]))) == [
            ("Greens: fine to eat, washed well.", False)
        ]

    @pytest.mark.parametrize(
        ("scoop", "ration", "lines"),
        [
            # 148 g in two meals of 74 g: four scoops of 18 g, and never more than the ration
            (18.0, 148.0, ["4 level scoops a meal.", "2 meals a day.", "About 140\xa0g a day."]),
            (20.0, 58.0, ["1 level scoop a meal.", "2 meals a day.", "About 40\xa0g a day."]),
            (20.0, 62.0, ["1.5 level scoops a meal.", "2 meals a day.", "About 60\xa0g a day."]),
            (None, 148.0, ["70\xa0g a meal.", "2 meals a day.", "That is 140\xa0g a day."]),
            (500.0, 36.0, ["18\xa0g a meal.", "2 meals a day.", "That is 36\xa0g a day."]),
            (18.0, 0.4, ["It is too cold to feed."]),
        ],
    )
    def test_feed_is_said_in_own_scoops(self, scoop: float | None, ration: float, lines: list[str]) -> None:  # fmt: skip
        derived = [{"code": "ration", "loop": "l", "value": ration, "unit": "g/day"}]
        reader = Reader(snapshot(GOOD_DO, derived=derived, feeding={"scoop_g": scoop, "meals": 2}))
        assert feed_lines(reader) == lines

    def test_held_back_feed_says_until_when(self) -> None:
        derived = [{"code": "ration", "loop": "l", "value": 100.0, "unit": "g/day"}]
        none = advice("deaths", parameters={"feed_percent": 0.0, "feed_hours": 48.0})
        reader = Reader(snapshot(GOOD_DO, derived=derived, advice=[none]))
        assert feed_lines(reader) == ["Give no feed until Sat 13 June."]
        half = advice("feed_held_back", parameters={"feed_percent": 50.0, "feed_hours": 24.0})
        reader = Reader(snapshot(GOOD_DO, derived=derived, advice=[half]))
        assert feed_lines(reader)[-1] == "Less than usual, until Fri 12 June."

    def test_what_is_held_back_is_not_said_once_it_is_over(self) -> None:
        derived = [{"code": "ration", "loop": "l", "value": 100.0, "unit": "g/day"}]
        half = advice("feed_held_back", parameters={"feed_percent": 50.0, "feed_hours": 24.0})
        reader = Reader(snapshot(GOOD_DO, derived=derived, advice=[half]))
        usual = feed_lines(Reader(snapshot(GOOD_DO, derived=derived, advice=[])))
        # held until Fri 12 June: on that day it is still said
        last = reader.moment("2026-06-12T20:00:00+00:00")
        assert feed_lines(reader, last)[-1] == "Less than usual, until Fri 12 June."
        assert feed_lines(reader, last + dt.timedelta(days=1)) == usual
        first = wording.actions(reader, last + dt.timedelta(days=1))[0].text
        assert "until" not in first

    def test_picking_before_the_next_visit(self) -> None:
        assert pick_lines(Reader(snapshot(GOOD_DO))) == ["Lettuce from Sat 13 June."]
        held = snapshot(GOOD_DO, holds=[{"touches": "both", "until": "2026-06-14", "product": "x"}])
        assert pick_lines(Reader(held)) == ["Wait with picking, see above."]

    def test_next_visit_and_why(self) -> None:
        task = {"code": "water_full_test", "name": "x", "due": "2026-06-18", "basis": "forecast",
                "measurand": "alk"}  # fmt: skip
        planned = {"booked": "2026-06-18T08:30:00+00:00", "due": None, "tasks": [task]}
        assert next_lines(Reader(snapshot(GOOD_DO, next=planned))) == [
            "We come on Thu 18 June at 08:30.",
            "Alkalinity may reach its limit then.",
            "Give or take some days.",
        ]
        planned["tasks"] = [task | {"basis": "calendar"}]
        assert (
            next_lines(Reader(snapshot(GOOD_DO, next=planned)))[1] == "Then due: full water test."
        )


def test_the_week_has_three_lines_the_clients_own_first() -> None:
    asks = [
        {"code": "tank_level", "name": "x", "criticality": "A", "every_n": 1, "unit": "day",
         "rhythmic": True, "due": "2026-06-12"},
        {"code": "water_quick_test", "name": "x", "criticality": "A", "every_n": 7, "unit": "day",
         "rhythmic": True, "due": "2026-06-14"},
    ]  # fmt: skip
    ours = advice("nitrite_old_filter", who="technician")
    reader = Reader(snapshot(GOOD_DO, advice=[ours, advice("alk_below_band")], asks=asks))
    assert [(line.day, line.text) for line in this_week(reader)] == [
        ("by Sun 14 June", "Test the alkalinity again next week."),
        ("by Sun 14 June", "Us: Find what slows the filter."),
        ("every day", "Check the level. Note the top-up."),
    ]


def test_sentences_stay_under_eight_words() -> None:
    """Digits count as words; days and names make a few longer, and never twice the same."""
    rows = (GOOD_DO, reading("alk", 27, "out_of_band", 50, "out_of_band"))
    reader = Reader(snapshot(*rows))
    for text in (verdict(reader), *why(reader)):
        for sentence in re.split(r"(?<=\.)\s+", text):
            assert len(sentence.replace("\xa0", " ").split()) <= 8, sentence


class TestFedByAnother:
    @pytest.mark.parametrize(
        ("scoop", "ration", "words", "grams"),
        [
            (None, 210.0, "Once a day: 105 g." + HALF, 105.0),
            (40.0, 210.0, "Once a day: 2.5 level scoops (100 g)." + HALF, 100.0),
            (200.0, 90.0, "Once a day: 45 g." + HALF, 45.0),
            (None, 1.0, "Give no feed.", 0.0),
        ],
    )
    def test_is_half_of_the_ration_once_a_day_and_never_more(
        self, scoop: float | None, ration: float, words: str, grams: float
    ) -> None:
        derived = [{"code": "ration", "loop": "l", "value": ration, "unit": "g/day"}]
        reader = Reader(snapshot(GOOD_DO, derived=derived, feeding={"scoop_g": scoop, "meals": 2}))
        said, amount = feed_by_another(reader, 0.5, LATER)
        assert said.replace("\xa0", " ") == words
        assert amount == grams <= ration / 2

    def test_without_a_ration_no_figure_is_named(self) -> None:
        said, amount = feed_by_another(Reader(snapshot(GOOD_DO, derived=[])), 0.5, LATER)
        assert amount is None
        assert not any(letter.isdigit() for letter in said)
        # half of what is given now, and no half of that
        assert said.count("half") == 1
        assert said.endswith("in a day. Stop when they stop eating.")

    def test_what_holds_feed_back_is_said_while_it_lasts(self) -> None:
        derived = [{"code": "ration", "loop": "l", "value": 200.0, "unit": "g/day"}]
        row = advice("deaths", parameters={"feed_percent": 0.0, "feed_hours": 48.0})
        reader = Reader(snapshot(GOOD_DO, derived=derived, advice=[row]))
        words, _grams = feed_by_another(reader, 0.5, reader.on)
        assert (
            words.replace("\xa0", " ")
            == "Give no feed until Sat 13 June. Once a day: 100 g." + HALF
        )
        words, _grams = feed_by_another(reader, 0.5, LATER)
        assert words.replace("\xa0", " ") == "Once a day: 100 g." + HALF
