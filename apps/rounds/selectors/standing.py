"""The calendar as it stands, as a plan of rounds: nothing in it moves."""

from apps.rounds.planning.draft import draft_of
from apps.rounds.planning.plan import Plan, Round
from apps.rounds.planning.problem import Problem, Stop, Window
from apps.rounds.planning.reasons import left_out
from apps.rounds.planning.schedule import scheduled
from apps.rounds.planning.segments import Visit as Call
from apps.rounds.selectors.kept import Kept


def rounds_standing(problem: Problem, made: Kept) -> tuple[list[Round], set[tuple[str, int]]]:
    """Return the rounds that stand, and the days of technicians on which they cannot."""
    rounds, crowded = [], set()
    for (name, day), stops in made.standing.items():
        calls = [Call(stop, _promised(problem.by_stop[stop])) for stop in stops]
        done = scheduled(problem, made.shifts[name, day], calls)
        if done is None:
            crowded.add((name, day))
        else:
            rounds.append(done)
    return sorted(rounds, key=lambda one: (one.day, one.technician)), crowded


def _promised(stop: Stop) -> Window:
    if stop.promise is None:
        raise AssertionError(f"{stop.id} stands, so it has its time")
    return stop.promise.window


def plan_standing(problem: Problem, rounds: list[Round]) -> Plan:
    """Return the rounds as a plan, with why all else has no place in it."""
    bare = Plan(tuple(rounds), (), 0, 0, False, "as it stands")
    draft = draft_of(problem, bare)
    return draft.plan("as it stands", left_out(draft))
