"""A client's words for advice and tasks: all of them, and short."""

import re

import pytest

from apps.calc.advice.texts import OF_THE_OFFICE, TEXTS
from apps.catalogue.files import rows
from apps.reports.rendering.deeds import ASKS, DEEDS, WHY_NOT
from apps.reports.rendering.told import MEANS, NO_FISH_RULES, TOLD

# a sentence of eight words or more is one that a reader would notice twice
MOST = 7
# a client's page must not send its reader to a dictionary
TRADE = re.compile(
    r"un-ionised|mg/L|chelate|parasitoid|nitrif|biofilter|conductivity|mechanical|carbonate", re.I
)


def sentences(text: str) -> list[str]:
    return [part for part in re.split(r"(?<=[.?!])\s+", text) if part]


def test_every_rule_is_told() -> None:
    assert set(TOLD) == set(TEXTS) | set(OF_THE_OFFICE)
    assert set(NO_FISH_RULES) <= set(TEXTS)


def test_every_task_has_its_deed() -> None:
    tasks = {row["code"] for row in rows("tasks")}
    assert set(DEEDS) - {"left_running"} == tasks
    asked = {row["code"] for row in rows("tasks") if "client" in row["who"]}
    assert set(WHY_NOT) == {row["code"] for row in rows("reasons")}
    # the dose stands on its own lines
    assert asked - {"water_dose"} <= set(ASKS)


@pytest.mark.parametrize("text", [*TOLD.values(), *MEANS.values(), *ASKS.values()])
def test_sentences_are_short_and_plain(text: str) -> None:
    for sentence in sentences(text):
        assert len(sentence.split()) <= MOST, sentence
        assert sentence.endswith("."), sentence
    assert not TRADE.search(text), text
