"""A report that knows the household: what came since last time, what is asked this time, in its words."""

from typing import Any

import pytest
from django.utils import translation

from apps.reports.rendering.acting import this_week
from apps.reports.rendering.household import feed_lines, next_lines
from apps.reports.rendering.reader import Reader, part_name
from apps.reports.rendering.verdicts import changes, open_since, verdict, why
from tests.reports.saying import advice, reading, snapshot

GOOD = reading("do", 6.4, "in_band", 6.5, "in_band")
CALM = ["in_band"] * 6


def reader(*readings: dict[str, Any], past: dict[str, Any] | None = None, **more: Any) -> Reader:
    """Return a reader of a calm system; `past` adds to what was before."""
    return Reader(snapshot(*(readings or (GOOD,)), past=snapshot()["past"] | (past or {}), **more))


def asked(
    code: str, every_n: int = 1, unit: str = "week", due: str | None = None
) -> dict[str, Any]:
    """Return a task of a client's as a snapshot keeps it."""
    return {"code": code, "name": code, "criticality": "B", "every_n": every_n, "unit": unit,
            "rhythmic": True, "due": due}  # fmt: skip


ASKS = [
    asked("fish_deaths", unit="day"), asked("fish_feed", unit="day"), asked("fish_look", unit="day"),
    asked("air_stones_look", 7, "day"), asked("pest_scout"), asked("seed_sow"), asked("leaf_check"),
]  # fmt: skip


class TestThisWeek:
    def lines(self, count: int = 0, **more: Any) -> list[tuple[str, str]]:
        past = {"count": count, **more.pop("past", {})}
        return [(line.day, line.text) for line in this_week(reader(past=past, **more))]

    def test_the_daily_stand_in_one_line_and_the_rest_comes_round(self) -> None:
        assert self.lines(asks=ASKS) == [
            ("every day", "Count and take out dead fish. Feed by the scoop."),
            ("every week", "Look for even bubbles."),
            ("every week", "Look for pests under the leaves."),
        ]
        assert self.lines(1, asks=ASKS) == [
            ("every day", "Count and take out dead fish. Watch the fish for three minutes."),
            ("every week", "Sow the next batch."),
            ("every week", "Compare old and new leaves."),
        ]
        assert self.lines(2, asks=ASKS) == self.lines(asks=ASKS)

    def test_what_has_a_day_comes_before_what_has_none(self) -> None:
        due = asked("seed_sow", due="2026-06-12")
        assert self.lines(asks=[*ASKS[:5], due])[1] == ("Fri 12 June", "Sow the next batch.")

    def test_bags_have_their_first_day(self) -> None:
        steps = [
            {"after_hours": h, "dose": 20.0, "unit": "g", "substance": "KHCO3"} for h in (0, 24)
        ]
        row = advice("alkalinity_low", dose=40.0, unit="g", parameters={"steps": steps})
        words = "Lift the alkalinity a little each day."
        assert self.lines(advice=[row]) == [("from Thu 11 June", f"{words} 2 bags, dated below.")]
        row["parameters"]["steps"] = steps[:1]
        assert self.lines(advice=[row]) == [("Thu 11 June", f"{words} One bag, see below.")]

    def test_what_can_wait_is_for_this_week(self) -> None:
        row = advice("temp_below_band", urgency="good_to_know", by=None)
        assert self.lines(advice=[row]) == [("this week", "Cover the water to keep it warm.")]

    def test_after_deaths_the_fish_come_first(self) -> None:
        assert self.lines(past={"deaths": 1}, asks=ASKS)[0] == (
            "every day", "Watch the fish. Call if one dies.",
        )  # fmt: skip


class TestSinceLastTime:
    def test_no_run_of_good_visits_goes_over_dead_fish(self) -> None:
        assert verdict(reader(past={"words": CALM})) == "All is well, 7 visits running."
        lost = [0, 0, 0, 2, 0, 0]
        assert (
            verdict(reader(past={"words": CALM, "lost": lost})) == "All is well, 4 visits running."
        )
        lost = [0, 1, 0, 0, 0, 0]
        assert verdict(reader(past={"words": CALM, "lost": lost})) == "Fish and water are well."

    def test_deaths_are_why_the_fish_need_a_look(self) -> None:
        found = reader(past={"deaths": 2})
        assert verdict(found) == "The water is well. Your fish need a look."
        assert why(found)[0] == "2 fish died."

    def test_what_is_near_its_limit_again_is_still_watched(self) -> None:
        near = reading("temp", 26.9, "near_edge", 26.8, "near_edge")
        assert verdict(reader(GOOD, near)).endswith("Still watch warmth.")
        near = reading("temp", 26.9, "near_edge", 27.8, "in_band")
        assert verdict(reader(GOOD, near)).endswith("Watch warmth.")

    def test_growth_picking_and_planting_are_told(self) -> None:
        fish = snapshot()["fish"][0] | {"grew_from": 150.0}
        past = {"picked": ["lettuce, romaine or head", "basil"], "planted": ["basil"]}
        assert [text.replace("\xa0", " ") for text in changes(reader(past=past, fish=[fish]))] == [
            "Nile tilapia: 150 g, now 180 g.", "Picked: lettuce, basil.", "Planted: basil.",
        ]  # fmt: skip
        # weighed before the last visit: told then
        fish["weighed_on"] = "2026-05-28"
        assert changes(reader(fish=[fish])) == ["Nothing of note changed."]

    def test_what_grows_with_the_fish_is_nobodys_to_have_left_open(self) -> None:
        rows = [advice("feed_area_below_band"), advice("air_stopped")]
        since = {row["id"]: "2026-03-02" for row in rows}
        assert open_since(reader(advice=rows, past={"since": since})) == [
            ("Start the backup air now.", "Mon 2 March")
        ]


class TestWhenWeCome:
    BY = advice("oxygen_short_for_feed", who="technician", by="2026-06-14T09:00:00+00:00")

    def test_what_we_promised_does_not_wait_for_care_that_is_due(self) -> None:
        ahead = {"booked": None, "due": "2026-06-23", "tasks": []}
        assert next_lines(reader(advice=[self.BY], next=ahead)) == [
            "We come by Sun 14 June. We will write.", "For this: Add air, or feed less.",
        ]  # fmt: skip
        sooner = ahead | {"due": "2026-06-12"}
        assert next_lines(reader(advice=[self.BY], next=sooner)) == [
            "Next care: about Fri 12 June. We will write."
        ]
        clients = self.BY | {"who": "client"}
        assert "Tue 23 June" in next_lines(reader(advice=[clients], next=ahead))[0]


INCIDENT = {"cause": "blocked", "closed": "2026-06-11T09:00:00+00:00"}


@pytest.mark.parametrize(
    ("incident", "told"),
    [
        (INCIDENT, "The trouble is over. The water is well."),
        (INCIDENT | {"closed": None}, "The water is well now. We watch it."),
    ],
)
def test_a_call_out_says_first_whether_the_trouble_is_over(
    incident: dict[str, Any], told: str
) -> None:
    found = reader(incident=incident, past={"words": CALM})
    assert verdict(found) == told
    for cause in ("", "unknown", "disease"):
        found_again = reader(incident=incident | {"cause": cause}, past={"words": CALM})
        assert verdict(found_again) == "The water is well now. We watch it."
    assert why(found) == ["The cause: blocked intake, screen or filter."]


def test_no_feed_lasts_as_long_as_the_cold() -> None:
    cold = advice("too_cold_to_feed", parameters={"feed_percent": 0, "feed_hours": 24.0})
    assert feed_lines(reader(advice=[cold])) == ["No feed while it is so cold."]
    other = advice("acute_ammonia", parameters={"feed_percent": 0, "feed_hours": 24.0})
    assert feed_lines(reader(advice=[other])) == ["Give no feed until Fri 12 June."]


def test_parts_are_named_in_the_readers_language() -> None:
    with translation.override("es"):
        assert [part_name(name) for name in ("Raft bed", "Sump", "Grandma's tub", "")] == [
            "Cama flotante", "Sumidero", "Grandma's tub", "",
        ]  # fmt: skip
    with translation.override("en"):
        assert part_name("Moving bed") == "Moving bed"
