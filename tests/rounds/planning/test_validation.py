"""Problems that cannot be meant are refused with the field, the value and the way out."""

from collections.abc import Callable
from dataclasses import replace
from decimal import Decimal

import pytest

from apps.calc.wording import Text
from apps.rounds.planning.effort import Effort
from apps.rounds.planning.planner import plan_rounds
from apps.rounds.planning.problem import (
    DAY,
    Costs,
    Lunch,
    Place,
    Problem,
    Promise,
    Settings,
    Travel,
    Window,
    windows_on,
)
from apps.rounds.planning.validation import MAX_STOPS, complaints, validate
from tests.rounds.planning.firms import HOUR, firm
from tests.rounds.planning.lines import line, shift_of, stop_at


def problem() -> Problem:
    return line([stop_at("a", 10, HOUR)], [shift_of(lunch=Lunch(1800, 11 * HOUR, 14 * HOUR))])


def stop(**changes: object) -> Callable[[Problem], Problem]:
    return lambda p: replace(p, stops=(replace(p.stops[0], **changes),))


def shift(**changes: object) -> Callable[[Problem], Problem]:
    return lambda p: replace(p, shifts=(replace(p.shifts[0], **changes),))


def place(**changes: object) -> Callable[[Problem], Problem]:
    return lambda p: replace(p, places=(replace(p.places[0], **changes), *p.places[1:]))


def travel(**changes: object) -> Callable[[Problem], Problem]:
    return lambda p: replace(p, travel=replace(p.travel, **changes))


WRONG: list[tuple[str, Callable[[Problem], Problem]]] = [
    ("places: km 0 is there twice", lambda p: replace(p, places=(*p.places, p.places[0]))),
    ("stops: a is there twice", lambda p: replace(p, stops=p.stops * 2)),
    ("shifts: ann works twice on day 0", lambda p: replace(p, shifts=p.shifts * 2)),
    ("only one of lat and lon", place(lat=None)),
    ("lat 91 must lie from -90 to 90", place(lat=91)),
    ("lon -181 must lie", place(lon=-181)),
    ("day 62 must lie from 0 to 61", shift(day=62, start=62 * DAY, end=62 * DAY + 9)),
    ("start 32400 and end 28800", shift(start=9 * HOUR, end=8 * HOUR)),
    ("must lie in order within that day", shift(day=1)),
    ("must lie in order within that day", shift(overtime=8 * HOUR)),
    ("overtime -1 must not be negative", shift(overtime=-1)),
    ("overtime_per_second -1", shift(overtime_per_second=-1)),
    ("fixed_cost -1", shift(fixed_cost=-1)),
    ("28800.5 must be whole", shift(start=28800.5)),
    ("place nowhere is not on the map", shift(start_place="nowhere")),
    ("place km 0 is not on the map", place(lat=None, lon=None)),
    ("lunch of ann: 7200 s do not fit", shift(lunch=Lunch(7200, 11 * HOUR, 12 * HOUR))),
    ("lunch of ann: 0 s do not fit", shift(lunch=Lunch(0, 11 * HOUR, 12 * HOUR))),
    ("place nowhere is unknown", stop(place="nowhere")),
    ("service 0 must be above 0", stop(service=0)),
    ("disinfecting -1", stop(disinfecting=-1)),
    ("people 3 must be 1 or 2", stop(people=3)),
    ("window 10 to 9 must run forwards", stop(windows=(Window(10, 9),))),
    ("within one day", stop(windows=(Window(10, DAY + 9),))),
    ("window -5", stop(promise=Promise(Window(-5, 9)))),
    ("more technicians are promised", stop(promise=Promise(Window(0, 9), ("ann", "bob")))),
    ("prize 0 of day 0", stop(prizes={})),
    ("prize -4 of day 0", stop(prizes={0: -4})),
    ("prize 1000000001 of day 0", stop(prizes={0: 10**9 + 1})),
    ("0.5 must be whole", stop(prizes={0: 0.5})),
    ("per_metre -1", lambda p: replace(p, costs=Costs(-1, 0))),
    ("per_second -1", lambda p: replace(p, costs=Costs(0, -1))),
    ("sticky -1", lambda p: replace(p, settings=Settings(sticky=-1))),
    ("offer -1", lambda p: replace(p, settings=Settings(offer=-1))),
    ("metres must have 2 rows", travel(metres=[[0]])),
    ("seconds must have 2 rows", travel(seconds=[[0], [0]])),
    ("seconds must be 0 on the diagonal", travel(seconds=[[0, 1], [1, 1]])),
    ("nowhere negative", travel(metres=[[0, -1], [1, 0]])),
    ("travel: 0.5 must be whole", travel(metres=[[0, 0.5], [1, 0]])),
    ("place km 10 is missing", travel(places=("km 0", "?"))),
    (
        f"{MAX_STOPS + 1} are too many",
        lambda p: replace(
            p, stops=tuple(replace(p.stops[0], id=f"{n}") for n in range(MAX_STOPS + 1))
        ),
    ),
]  # fmt: skip


@pytest.mark.parametrize(("words", "wrong"), WRONG, ids=[words for words, _ in WRONG])
def test_refused(words: str, wrong: Callable[[Problem], Problem]) -> None:
    with pytest.raises(ValueError, match=words) as caught:
        plan_rounds(wrong(problem()), Effort(iterations=1))
    assert isinstance(caught.value.args[0], Text), "a translator knows it"


def test_sound_problems_pass() -> None:
    validate(problem())
    for seed in range(20):
        assert list(complaints(firm(seed, 10, 2, 3, odd=True))) == []


@pytest.mark.parametrize(
    ("given", "words"),
    [
        ({}, "either seconds or iterations"),
        ({"seconds": 1.0, "iterations": 1}, "either seconds or iterations"),
        ({"seconds": 0.0}, "seconds 0"),
        ({"seconds": 3601.0}, "seconds 3601"),
        ({"iterations": 0}, "iterations 0"),
    ],
)
def test_effort(given: dict, words: str) -> None:
    with pytest.raises(ValueError, match=words):
        Effort(**given)


def test_costs_in_whole_steps() -> None:
    """0.40 a km is 4 steps a metre, 36 an hour 100 a second; halves go up."""
    assert Costs.of(Decimal("0.40"), Decimal(36)) == Costs(4, 100)
    assert Costs.of(Decimal("0.45"), Decimal(25)) == Costs(5, 69)


def test_windows_and_places() -> None:
    assert windows_on([1], [(0, 9), (20, 29)]) == (Window(DAY, DAY + 9), Window(DAY + 20, DAY + 29))
    assert [w.day for w in windows_on([0, 3], [(5, 6)])] == [0, 3]
    assert not Place("?", None, None).located
    marks = [[False, True], [False, False]]
    assert Travel(("a", "b"), [[0, 1], [1, 0]], [[0, 1], [1, 0]], marks).any_estimated
