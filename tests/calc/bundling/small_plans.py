"""Small plans: days of June 2026 by number, tasks by their windows."""

import datetime as dt
from collections.abc import Iterable
from itertools import combinations
from typing import Any

import pytest
from hypothesis import strategies as st

from apps.calc.bundling import Day, Plan, Task
from apps.calc.bundling.ground import price

FIRST = dt.date(2026, 6, 1)


def on(number: int) -> dt.date:
    """The day of a number; 0 is 1 June 2026."""
    return FIRST + dt.timedelta(days=number)


def task(key: str, opens: int, due: int, late: int, **more: object) -> Task:
    return Task(**{"key": key, "code": key, "open": on(opens), "due": on(due), "late": on(late),
                   **more})  # fmt: skip


def days(*numbers: int, **more: object) -> list[Day]:
    return [Day(on(number), **more) for number in numbers]


def brute_force(tasks: Iterable[Task], allowed: list[Day]) -> tuple[int, float]:
    """The fewest visits and the least cost over every choice of days; all tasks have a day."""
    fewest, least = len(allowed) + 1, float("inf")
    for size in range(len(allowed) + 1):
        for chosen in combinations(allowed, size):
            best = [
                min((price(t, d.day) for d in chosen if t.open <= d.day <= t.late), default=None)
                for t in tasks
            ]
            if None in best:
                continue
            fewest = min(fewest, size)
            least = min(least, sum(d.cost for d in chosen) + sum(best))
    return fewest, least


@st.composite
def windows(draw: st.DrawFn) -> tuple[int, int, int]:
    opens = draw(st.integers(0, 12))
    due = opens + draw(st.integers(0, 5))
    return opens, due, due + draw(st.integers(0, 5))


def assert_sound(plan: Plan, jobs: list[Task], allowed: list[Day], more: dict[str, Any]) -> None:
    """Every task is somewhere; every visit keeps skills, pairs, promises and the limit."""
    promised = {day.day for day in allowed if day.promised}
    by_day = {day.day: day for day in allowed}
    somewhere = {placed.task.key for placed in plan.placed} | {
        item.task.key for item in plan.not_placed
    }
    assert somewhere == {job.key for job in jobs}
    assert promised <= {visit.day for visit in plan.visits}
    if more["at_most"] is not None:
        assert len(plan.visits) <= max(more["at_most"], len(promised))
    gaps = {frozenset(pair[:2]): (*pair, 1)[2] for pair in more["apart"]}
    for visit in plan.visits:
        assert visit.tasks or visit.promised
        for placed in visit.tasks:
            assert placed.task.who != "client"
            assert by_day[visit.day].serves(placed.task)
            assert placed.day >= placed.task.open
    for one, other in combinations(plan.placed, 2):
        gap = gaps.get(frozenset((one.task.code, other.task.code)), 0)
        if one.task.system == other.task.system:
            assert abs((one.day - other.day).days) >= gap
    cost = sum(by_day[visit.day].cost for visit in plan.visits if not visit.promised)
    cost += sum(price(placed.task, placed.day) for placed in plan.placed)
    assert plan.cost == pytest.approx(cost)
    for item in plan.not_placed:
        assert item.reason
        serving = [day.day for day in allowed if day.serves(item.task)]
        assert item.nearest in serving if serving else item.nearest is None
