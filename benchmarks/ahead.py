"""Forecasts of loops: the balance alone, the ensemble, what is learnt, and a firm's night.

Each against SciPy's LSODA on a few of the same loops in the same run, whose seconds are scaled to
as many.
"""

import random
import resource
import time
from dataclasses import replace

import numpy as np
from scipy.integrate import solve_ivp

from apps.ahead.engine import forecasts
from apps.ahead.engine.arrays import (
    ARRAYS,
    day_side_by_side,
    gear_side_by_side,
    params_side_by_side,
    water_side_by_side,
)
from apps.ahead.engine.forecasting import carried_on
from apps.ahead.engine.learning import learn
from apps.calc.ahead.facts import LoopFacts
from apps.calc.ahead.members import STEPS
from apps.calc.ahead.step import advance
from apps.calc.ahead.what_if import what_if
from benchmarks.measure import Claim
from benchmarks.rounds import Told
from demo.water.records import facts_at, origins, record_of
from tests.ahead import example

DAYS = 28
BESIDE = 2000  # systems side by side: enough that each call is worth its while


def run() -> list[Claim | Told]:
    """Return what each takes on one core, and its ratio to an integration by LSODA."""
    known = [facts_at(record, origins(record)[-1]) for record in map(record_of, range(9000, 9030))]
    return [
        *_balance(10_000),
        _ensemble(known, 1000),
        _learning(known, 1000),
        _night(known, 300),
        _question(known[0]),
        Told(f"most memory of this process: {_megabytes():.0f} MB"),
    ]


def _megabytes() -> float:
    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024


def _seconds(call) -> float:
    began = time.process_time()
    call()
    return time.process_time() - began


def _lsoda_seconds(count: int = 20) -> float:
    """Seconds of CPU that LSODA takes for one loop of four weeks."""
    begin = [example.as_states(example.BEGIN)[name] for name in example.STATES]
    slopes = example.slopes(example.DAY, 200.0)

    def some() -> None:
        for _ in range(count):
            solve_ivp(slopes, (0, DAYS), begin, method="LSODA", rtol=1e-6)

    return _seconds(some) / count


def _balance(systems: int) -> list[Claim | Told]:
    """Four weeks of the bare balance, every system another one."""
    rng = random.Random(1)
    gears = [example.GEAR._replace(volume_l=rng.uniform(1500, 4000)) for _ in range(systems)]
    params = [example.PARAMS._replace(first=rng.uniform(25, 80)) for _ in range(systems)]

    def all_of_them() -> None:
        for at in range(0, systems, BESIDE):
            gear = gear_side_by_side(gears[at : at + BESIDE])
            fitted = params_side_by_side(params[at : at + BESIDE])
            day = day_side_by_side([example.DAY] * BESIDE, 1)
            water = water_side_by_side([example.BEGIN] * BESIDE, 1, 1)
            for _ in range(DAYS * STEPS):
                water = advance(ARRAYS, gear, fitted, day, water, 1 / STEPS)

    one = _lsoda_seconds()
    ours = min(_seconds(all_of_them) for _ in range(3))
    claim = _claim(f"balance: {systems} systems, {DAYS} days", ours, one * systems)
    return [claim, Told(f"LSODA: {1000 * one:.1f} ms a system")]


def _claim(name: str, ours: float, theirs: float) -> Claim:
    ratio = ours / theirs
    return Claim(name, 1000 * ours, 1000 * theirs, ratio, ratio, ratio, 0.1, "LSODA one by one")


def _many(known: list[LoopFacts], count: int) -> list[LoopFacts]:
    rng = random.Random(2)
    return [
        replace(
            known[n % len(known)], volume_l=known[n % len(known)].volume_l * rng.uniform(0.9, 1.1)
        )
        for n in range(count)
    ]


def _ensemble(known: list[LoopFacts], systems: int) -> Claim:
    """Four weeks ahead of 200 members each."""
    facts = _many(known, systems)[:40]
    learnt = learn(facts)
    days = [drive.days[-drive.first :][:DAYS] for drive in learnt.drives]

    def forty() -> None:
        carried_on(learnt.gears, learnt.middles, days, learnt.water, learnt.deviations)

    ours = min(_seconds(forty) for _ in range(3)) * systems / 40
    members = learnt.water.tan.shape[1]
    return _claim(
        f"ensemble of {members}: {systems} systems, {DAYS} days", ours,
        _lsoda_seconds() * systems * members,
    )  # fmt: skip


def _learning(known: list[LoopFacts], systems: int) -> Claim:
    """Twelve weeks of readings into 200 members each."""
    facts = _many(known, 40)
    learnt = learn(facts)
    ours = min(_seconds(lambda: learn(facts)) for _ in range(2)) * systems / 40
    members, days = learnt.water.tan.shape[1], -min(drive.first for drive in learnt.drives)
    return _claim(
        f"learning: {systems} systems, {days} days of readings", ours,
        _lsoda_seconds() * days / DAYS * systems * members,
    )  # fmt: skip


def _night(known: list[LoopFacts], systems: int) -> Told:
    facts = _many(known, systems)
    taken = _seconds(lambda: forecasts(facts))
    return Told(f"a night's forecasts of {systems} loops, all told: {taken:.1f} s of one core")


def _question(one: LoopFacts) -> Told:
    kept = forecasts([one])[0].kept
    times = sorted(_seconds(lambda: what_if(one, kept)) for _ in range(5))
    told = f"a what-if on plain floats, {len(kept.members)} members, 6 weeks"
    return Told(f"{told}: {1000 * float(np.median(times)):.0f} ms")
