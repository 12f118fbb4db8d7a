"""Technicians' rounds: what more searching gains, how near it comes to the best, offers a second.

`rounds` is short. By name alone: `rounds_search` (values after 1, 5 and 30 s against 60 s, and after
1 s against trying everything), `rounds_instances` (five seeds on instances of the literature; a
technician's load is no part of our rounds, so where an instance limits it a plan may come out below
the best known) and `rounds_firms` (the judge over 1,000 small firms).
"""

import random
import statistics
import time
from collections import Counter
from dataclasses import replace
from pathlib import Path

from apps.rounds.planning.checker import violations
from apps.rounds.planning.choices import fixed
from apps.rounds.planning.effort import Effort
from apps.rounds.planning.fallback import fallback, in_due_order
from apps.rounds.planning.insertion import slots
from apps.rounds.planning.plan import Plan
from apps.rounds.planning.planner import plan_rounds
from apps.rounds.planning.problem import MONEY, Problem, Travel
from benchmarks.measure import Claim, Told, paired
from tests.rounds.planning import oracle
from tests.rounds.planning.firms import firm
from tests.rounds.planning.vrp_file import SCALE, read

DATA = Path(__file__).resolve().parent.parent / "tests" / "rounds" / "data"
CASES = {
    "30 visits, 4 technicians, 1 day": (30, 4, 1),
    "60 visits, 8 technicians, 1 day": (60, 8, 1),
    "60 visits, 2 technicians, 10 days": (60, 2, 10),
    "120 visits, 4 technicians, 10 days": (120, 4, 10),
}
INSTANCES = {"RC208.vrp": 776.1, "C1_2_1.txt": 2698.6}
FIRMS = 1000
SEEDS = 5
REQUESTS = 20


def run() -> list[Claim | Told]:
    """Return the time of an offer against planning anew, and the worth of a short search."""
    problem, plan, waiting = _half_planned()
    claim = paired(
        f"offering times for {REQUESTS} visits, 2 technicians, 10 days",
        lambda: [slots(problem, plan, name) for name in waiting],
        lambda: fallback(problem),
        rounds=3,
        limit=0.5,
        against="one plan by insertion",
    )
    told = f"offers: {1000 * REQUESTS / claim.ours_ms:.0f} requests a second of CPU"
    return [claim, Told(told), *_extra_costs(problem, plan, waiting), _short_search()]


def _half_planned() -> tuple[Problem, Plan, list[str]]:
    """Return a firm whose first 60 visits are planned, and the names of those that are not."""
    problem = firm(3, 60 + REQUESTS, 2, 10)
    named = [stop.id for stop in problem.stops]
    plan = fallback(replace(problem, stops=problem.stops[:60]))
    return problem, plan, named[60:]


def _extra_costs(problem: Problem, plan: Plan, waiting: list[str]) -> list[Told]:
    """Say what the first, second and third slot cost on average, and a slot at random."""
    found = [slots(problem, plan, name, count=10) for name in waiting]
    means = [
        statistics.mean(some[n].extra for some in found if len(some) > n) / MONEY for n in range(3)
    ]
    anyhow = statistics.mean(slot.extra for some in found for slot in some) / MONEY
    words = ", ".join(f"{mean:.1f}" for mean in means)
    return [Told(f"extra cost of the first three days offered: {words}; of any day {anyhow:.1f}")]


def _short_search() -> Told:
    problem = firm(1, *CASES["60 visits, 2 technicians, 10 days"])
    return Told(_compared(problem, plan_rounds(problem, Effort(seconds=5)), "5 s"))


def _compared(problem: Problem, plan: Plan, name: str) -> str:
    diary = in_due_order(problem, _by_due(problem))
    inserted = fallback(problem)
    return (
        f"value after {name}: {plan.value / MONEY:.0f}; by insertion {inserted.value / MONEY:.0f}; "
        f"by a diary in due order {diary.value / MONEY:.0f}"
    )


def _by_due(problem: Problem) -> list[str]:
    """Return the stops as a diary takes them: what is worth most early comes first."""
    return [
        stop.id
        for stop in sorted(problem.stops, key=lambda s: -max(s.prizes.values()) + s.prizes[0])
    ]


def search() -> list[Told]:
    """Return the values after 1, 5 and 30 s against 60 s, and after 1 s against the optimum."""
    lines = []
    for name, (visits, technicians, days) in CASES.items():
        problem = firm(1, visits, technicians, days)
        plans = {
            seconds: plan_rounds(problem, Effort(seconds=seconds)) for seconds in (1, 5, 30, 60)
        }
        best = max(plan.value for plan in plans.values())
        gaps = ", ".join(
            f"{seconds} s {plan.value / MONEY:.1f} ({100 * (plan.value / best - 1):+.2f} %)"
            for seconds, plan in plans.items()
        )
        lines.append(Told(f"{name}: {gaps}"))
        lines.append(Told("  " + _compared(problem, plans[60], "60 s")))
    return [*lines, _against_all()]


def _against_all() -> Told:
    gaps = []
    for seed in range(100, 110):
        problem = firm(seed, 7 + seed % 3, 2, 1 + seed % 2)
        plan = plan_rounds(problem, Effort(seconds=1))
        gaps.append(1 - plan.value / oracle.optimum(problem))
    exact = sum(gap == 0 for gap in gaps)
    worst = 100 * max(gaps)
    return Told(
        f"1 s, 7 to 9 visits with lunch: {exact} of {len(gaps)} optimal, worst gap {worst:.2f} %",
        far_over=worst > 2,
    )


def instances() -> list[Told]:
    """Return the gap to the best known of five seeds, the median beside the range."""
    lines = []
    for name, best in INSTANCES.items():
        problem = read(DATA / name).problem()
        for seconds in (5, 30):
            gaps = []
            for seed in range(1, SEEDS + 1):
                plan = plan_rounds(problem, Effort(seconds=seconds, seed=seed))
                metres = sum(made.metres for made in plan.rounds) / SCALE
                gaps.append(100 * (metres / best - 1))
            lines.append(
                Told(
                    f"{name} after {seconds} s, {SEEDS} seeds: median {statistics.median(gaps):+.2f} % "
                    f"[{min(gaps):+.2f} to {max(gaps):+.2f}] of the best known",
                    far_over=statistics.median(gaps) > 8,
                )
            )
    return lines


def firms() -> list[Told]:
    """Return how many of 1,000 odd small firms have a plan that its judge refuses: none may."""
    refused, worse, reasons = 0, 0, Counter[str]()
    began = time.perf_counter()
    for seed in range(FIRMS):
        problem = _small(seed)
        plan = plan_rounds(problem, Effort(iterations=40))
        inserted = fallback(problem)
        refused += bool(violations(problem, plan)) + bool(violations(problem, inserted))
        worse += _rank(problem, plan) < _rank(problem, inserted)
        reasons.update(left.reason for left in plan.left_out)
    took = time.perf_counter() - began
    why = ", ".join(f"{reason} {count}" for reason, count in reasons.most_common())
    return [
        Told(
            f"{FIRMS} small firms in {took:.0f} s: {refused} plans refused, {worse} worth less than "
            f"by insertion; left out: {why}",
            far_over=refused + worse > 0,
        )
    ]


def _rank(problem: Problem, plan: Plan) -> tuple[int, int]:
    """Return how many promises are kept, then the value."""
    going = {call.stop for made in plan.rounds for call in made.calls}
    certain = sum(fixed(problem, problem.by_stop[name]) for name in going)
    return certain, plan.value


def _small(seed: int) -> Problem:
    """Return a firm with promises, pairs, disease, fish, frozen days, and crooked road times."""
    rng = random.Random(seed)
    problem = firm(
        seed,
        rng.randint(1, 14),
        rng.randint(1, 4),
        rng.randint(1, 3),
        lunch=rng.random() < 0.8,
        overtime=rng.choice([0, 3600]),
        odd=True,
    )
    return _crooked(problem, rng) if rng.random() < 0.3 else problem


def _crooked(problem: Problem, rng: random.Random) -> Problem:
    """Return the problem with other times there than back, as road engines give them."""
    travel = problem.travel
    seconds = [[round(s * rng.uniform(0.7, 1.5)) for s in row] for row in travel.seconds]
    return replace(problem, travel=Travel(travel.places, travel.metres, seconds, travel.estimated))
