"""What is stored of a plan comes back as it was."""

import datetime as dt
import json
from dataclasses import replace
from uuid import uuid4

import pytest

from apps.rounds.codec import (
    plan_json,
    plan_of,
    problem_json,
    problem_of,
    work_json,
    work_of,
)
from apps.rounds.planning.checker import violations
from apps.rounds.planning.fallback import fallback
from apps.rounds.selectors import Work
from tests.rounds.planning.firms import firm


@pytest.mark.parametrize("seed", range(12))
def test_there_and_back(seed: int) -> None:
    problem = firm(seed, visits=9, days=3, odd=True)
    made = fallback(problem)
    stored = json.loads(json.dumps([problem_json(problem), plan_json(made)]))
    again, plan = problem_of(stored[0]), plan_of(stored[1])
    assert again == problem
    assert plan == made
    assert violations(again, plan) == []


def test_every_field_is_stored() -> None:
    """A field that is forgotten comes back as its default: none of these is one."""
    problem = firm(3, visits=20, days=3, odd=True)
    stops = problem.stops
    kinds = {
        "people": any(s.people == 2 for s in stops), "promise": any(s.promise for s in stops),
        "former": any(s.former for s in stops), "first": any(s.first_of_day for s in stops),
        "last": any(s.last_of_day and s.disinfecting for s in stops),
        "skills": any(s.skills for s in stops), "sticky": problem.settings.sticky,
    }  # fmt: skip
    assert all(kinds.values()), kinds
    travel = replace(
        problem.travel, estimated=[[False] * len(row) for row in problem.travel.metres]
    )
    measured = replace(problem, travel=travel)
    assert problem_of(problem_json(measured)) == measured


def test_work() -> None:
    work = {
        "visit:1": Work("fixed", uuid4(), (uuid4(),), uuid4(), 3),
        "due:2": Work("due", uuid4(), (uuid4(), uuid4())),
        "due:3": Work("due", uuid4(), (uuid4(),), late=dt.date(2026, 6, 15)),
        "visit:4": Work("movable", uuid4(), (), uuid4(), 1, booked=60),
        "visit:5": Work("movable", uuid4(), (), uuid4(), 1, dt.date(2026, 6, 15), 60),
    }
    assert work_of(json.loads(json.dumps(work_json(work)))) == work


def test_what_an_older_plan_says_of_a_stop_is_read() -> None:
    place, visit = str(uuid4()), str(uuid4())
    found = work_of({
        "visit:1": ["movable", place, [], visit, 2],
        "due:2": ["due", place, [], None, 0, "2026-06-15"],
    })  # fmt: skip
    assert (found["visit:1"].late, found["visit:1"].booked) == (None, None)
    assert (found["due:2"].late, found["due:2"].booked) == (dt.date(2026, 6, 15), None)


def test_another_edition_is_refused() -> None:
    problem = firm(1)
    for said, read in (
        (problem_json(problem), problem_of),
        (plan_json(fallback(problem)), plan_of),
    ):
        said["edition"] = 99
        with pytest.raises(ValueError, match="edition 99"):
            read(said)
