"""The script of a call: it ends on every way, people come first, and no dose is given."""

import re
from collections.abc import Iterator

import pytest

from apps.calc.advice.results import URGENCIES
from apps.calc.callscript import (
    CAUTIONS,
    CLOSING,
    END,
    FIRST_WORDS,
    SKILL_WORDS,
    START,
    STEPS,
    WHO_WORDS,
    Answer,
    Step,
    opening_answers,
    skills_wanted,
    walk,
)
from apps.calc.sources import SOURCES
from apps.catalogue.files import rows

PAIRS = [(step, answer) for step in STEPS.values() for answer in step.answers]
SAID = ("gasping", "stopped", "power", "level", "dead", "water", "hurt", "other")


def ways(code: str = START, been: tuple[str, ...] = ()) -> Iterator[tuple[tuple[str, str], ...]]:
    """Every way through the script, as (step, answer)."""
    assert code not in been, f"a ring: {been} and again {code}"
    for answer in STEPS[code].answers:
        if answer.next == END:
            yield ((code, answer.code),)
            continue
        for rest in ways(answer.next, (*been, code)):
            yield ((code, answer.code), *rest)


WAYS = list(ways())


def test_every_answer_leads_to_a_step_or_the_end() -> None:
    assert {answer.next for _step, answer in PAIRS} <= {END, *STEPS}


def test_every_way_ends_and_walking_it_says_so() -> None:
    assert len(WAYS) > 100
    for way in WAYS[:: len(WAYS) // 400]:
        found = walk(dict(way))
        assert found.next is None
        assert [(step.code, answer.code) for step, answer in found.given] == list(way)


def test_every_step_is_reached() -> None:
    assert {code for way in WAYS for code, _answer in way} == set(STEPS)


def test_people_come_before_all_else() -> None:
    assert START == "people"
    for said in SAID:
        assert "people" not in opening_answers(said)
        assert walk(opening_answers(said)).next == STEPS["people"]
    first = " ".join(FIRST_WORDS)
    assert first.index("emergency services") < first.index("mains power")


def test_nothing_is_asked_of_fish_before_nobody_is_in_danger() -> None:
    """With somebody hurt or water on electrics no way leads to fish, pumps or water."""
    for way in WAYS:
        codes = [code for code, _answer in way]
        if way[0] != ("people", "no"):
            assert set(codes) <= {"people", "called", "off", "battery"}, way
            assert (
                "electrician" in walk(dict(way)).who or "emergency_services" in walk(dict(way)).who
            )
            assert walk(dict(way)).urgency == "now"


def test_somebody_hurt_is_sent_to_the_emergency_services_first() -> None:
    found = walk({"people": "hurt"})
    assert found.who[0] == "emergency_services"
    assert "call the emergency services now" in found.given[0][1].tell[0]


# The order is common practice: what kills within the hour comes first (people, air, level), then
# the water, then what can wait for a day.
def test_the_order_is_that_of_the_card_on_the_wall() -> None:
    card = [str(row["code"]) for row in rows("emergency")]
    good = ("no", "normal", "running", "good", "none", "calm")
    asked, code = [], START
    while code != END:
        step = STEPS[code]
        asked.append(step.card)
        code = next(answer for answer in step.answers if answer.code in good).next
    assert asked == card


def test_every_card_has_its_step_and_every_figure_of_urgency_its_word() -> None:
    cards = {step.card for step in STEPS.values() if step.card}
    assert cards == {str(row["code"]) for row in rows("emergency")}
    assert {answer.urgency for _step, answer in PAIRS} <= {"", *URGENCIES}


@pytest.mark.parametrize(("step", "answer"), PAIRS, ids=lambda item: item.code)
def test_an_answer_is_whole(step: Step, answer: Answer) -> None:
    assert answer.words
    assert set(answer.who) <= set(WHO_WORDS)
    assert set(answer.cautions) <= set(CAUTIONS)
    assert answer.skill in {"", *SKILL_WORDS}
    assert not answer.skill or answer.bad, "a skill is for whoever goes"
    assert bool(answer.who) == answer.bad, "who goes, and how soon, stand together"
    assert answer.tell or not answer.bad, "a bad answer has something to say"
    assert len({one.code for one in step.answers}) == len(step.answers)


@pytest.mark.parametrize(
    ("said", "answers", "skills"),
    [
        ("other", {}, ()),
        ("stopped", {}, ("pumps",)),
        ("hurt", {}, ("electric",)),
        ("gasping", {"people": "no", "gasping": "yes"}, ()),
        # what was answered counts before what was said first
        ("stopped", {"people": "wet"}, ("electric",)),
        ("power", {"people": "no", "gasping": "no", "power": "out", "outage": "tripped",
                   "level": "low"}, ("electric", "pumps")),
    ],
)  # fmt: skip
def test_a_call_asks_for_the_skill_of_its_answers(
    said: str, answers: dict[str, str], skills: tuple[str, ...]
) -> None:
    assert skills_wanted(said, answers) == skills


def test_sources_are_known() -> None:
    assert {key for step in STEPS.values() for key in step.sources} <= set(SOURCES)


def sentences() -> list[str]:
    held = [*FIRST_WORDS, *CLOSING, *CAUTIONS.values()]
    held += [step.ask for step in STEPS.values()]
    return held + [text for _step, answer in PAIRS for text in (answer.words, *answer.tell)]


def test_no_dose_is_given_by_telephone() -> None:
    """Figures in the script are times, shares and counts; none has a unit that is weighed out."""
    for text in sentences():
        assert not re.search(r"\d\s*(g|kg|mg|ml|mL|L|l|litres?|grams?|drops|spoons?)\b", text), text
    dosed = [answer for _step, answer in PAIRS for text in answer.tell if "echlorinator" in text]
    assert all("label" in answer.cautions for answer in dosed)
    assert len(dosed) == 1


def test_hands_in_water_always_carry_their_caution() -> None:
    """Whoever is sent to a pump or a plug is told of the power before it."""
    for step, answer in PAIRS:
        told = " ".join(answer.tell)
        if re.search(r"intake|unplug|switch", told, re.I):
            assert set(answer.cautions) & {"mains", "gear_off"}, (step.code, answer.code)


def test_the_most_urgent_answer_counts_and_the_first_bad_one_sets_the_branch() -> None:
    found = walk(
        {"people": "no", "gasping": "no", "power": "running", "level": "low", "leak": "yes",
         "added": "tap", "readings": "high"}
    )  # fmt: skip
    assert (found.urgency, found.branch) == ("now", STEPS["level"])
    assert found.next == STEPS["deaths"]


def test_unknown_answers_are_as_if_not_given() -> None:
    assert walk({"people": "perhaps", "roof": "yes"}).next == STEPS["people"]


def test_changing_an_early_answer_leaves_the_later_ones_aside() -> None:
    answers = {"people": "no", "gasping": "yes", "air": "no"}
    assert walk(answers).next == STEPS["power"]
    changed = walk(answers | {"people": "wet"})
    assert [step.code for step, _answer in changed.given] == ["people"]
    assert changed.next == STEPS["off"]
