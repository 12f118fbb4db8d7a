"""Routing instances of the literature, through the same problem, solver and judge as a firm's day."""

from pathlib import Path

import pytest

from apps.rounds.planning.effort import Effort
from apps.rounds.planning.planner import plan_rounds
from apps.rounds.planning.schedule import scheduled
from apps.rounds.planning.segments import Visit
from tests.rounds.planning.vrp_file import SCALE, best_known, read

DATA = Path(__file__).resolve().parents[1] / "data"
INSTANCES = [("RC208.vrp", "RC208.sol", 776.1), ("C1_2_1.txt", "C1_2_1.sol", 2698.6)]
SOURCE = (
    "Solomon (1987), Gehring and Homberger (1999), best-known solutions of the VRPLIB collection"
)


@pytest.mark.outside(source=SOURCE, kind="read", tolerance=1e-9)
@pytest.mark.parametrize(("name", "solution", "best"), INSTANCES)
def test_the_best_known_rounds_measure_what_is_published(outside, name, solution, best) -> None:
    problem = read(DATA / name).problem()
    metres = 0
    for n, stops in enumerate(best_known(DATA / solution)):
        visits = [Visit(stop, problem.by_stop[stop].windows[0]) for stop in stops]
        made = scheduled(problem, problem.shifts[n], visits)
        assert made is not None, "the published round is on time"
        metres += made.metres
    outside(metres / SCALE, best)


@pytest.mark.long
@pytest.mark.outside(source=SOURCE, kind="read", tolerance=0.06)
@pytest.mark.parametrize(("name", "solution", "best"), INSTANCES)
def test_a_short_search_comes_near_the_best_known(outside, name, solution, best) -> None:
    problem = read(DATA / name).problem()
    plan = plan_rounds(problem, Effort(iterations=300))
    assert plan.left_out == ()
    outside(sum(made.metres for made in plan.rounds) / SCALE, best)
