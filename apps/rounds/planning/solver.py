"""Plans by search: insertion, PyVRP, the lunches, then ruin and recreate on the exact rounds.

PyVRP is strong at the routes of one day; moving work between days is where ruin and recreate gains
more, and it sees lunches exactly. Stops for two people are never PyVRP's to move: insertion gives
each its common beginning and its two rounds, PyVRP plans around these two halves, which may begin at
that moment only, and ruin and recreate moves them together. What any step finds is kept only where
it is worth more than what was there.
"""

import time
import warnings
from collections import Counter
from collections.abc import Mapping, Sequence

import pyvrp
from pyvrp.exceptions import PenaltyBoundWarning
from pyvrp.IteratedLocalSearch import IteratedLocalSearchCallbacks, IteratedLocalSearchParams
from pyvrp.solve import SolveParams

from apps.rounds.planning.choices import fixed
from apps.rounds.planning.draft import Draft, former_draft
from apps.rounds.planning.effort import ASK_EVERY_S, Asked, Effort, Progress, Told, never, nobody
from apps.rounds.planning.fallback import fill, improve, inserted
from apps.rounds.planning.model import Model, Pin, build
from apps.rounds.planning.plan import Plan
from apps.rounds.planning.problem import Problem
from apps.rounds.planning.reasons import left_out
from apps.rounds.planning.ruin import rank, ruin_and_recreate
from apps.rounds.planning.segments import Visit
from apps.rounds.planning.splice import Splice

ONE_DAY, SEVERAL_DAYS = 0.5, 0.2
"""Of the effort, what PyVRP takes on one day and on several (measured); the rest is for ruin."""
MAIN = 0.85
"""Of PyVRP's share, what the main run takes; the rest is for lunches that did not fit."""
TRIM = 15 * 60
TRIES = 3
KEPT = 50_000
"""Costs of rounds that are remembered at a time."""
STEPS = 4
"""Iterations of PyVRP that one step of ruin and recreate counts for."""


def solve(problem: Problem, effort: Effort, tell: Told = nobody, halted: Asked = never) -> Plan:
    """Return the best plan found within ``effort``.

    ``tell`` hears the best value so far and the share that is done; when ``halted`` says so, what
    was found until then is returned, marked as stopped.
    """
    search = _Search(problem, effort, tell, halted)
    former = former_draft(problem)
    draft = inserted(former.copy(), search.ask)
    improve(draft, search.late)
    search.met(draft.value)
    days = {shift.day for shift in problem.shifts}
    share = ONE_DAY if len(days) == 1 else SEVERAL_DAYS
    found = search.routed(draft, share, warm=len(days) > 1 or bool(former.seats))
    best = max([draft, found], key=rank)
    improve(best, search.late, passes=3)
    best = ruin_and_recreate(best, search.clock(1 - share), effort.seed, search.met)
    fill(best, search.ask)
    search.finished(best.value)
    return best.plan("search", left_out(best), stopped=search.halted)


class _Watch:
    """PyVRP's question whether to stop: at the end of a share of the effort, or when asked to."""

    def __init__(self, search: "_Search", share: float) -> None:
        self.search, self.share = search, share
        iterations = search.effort.iterations
        self.whole = max(round(share * iterations), 1) if iterations else None
        self.turns = 0
        self.began = self.asked = time.perf_counter()

    def __call__(self, best_cost: float) -> bool:
        part = self.part()
        now = time.perf_counter()
        if now - self.asked >= ASK_EVERY_S:
            self.asked = now
            self.search.say(self.search.base + self.share * part)
        self.turns += 1
        return part >= 1 or self.search.ask()

    def part(self) -> float:
        """Return how much of the share is used up."""
        if self.whole is not None:
            return self.turns / self.whole
        seconds = self.share * (self.search.effort.seconds or 0)
        return min((time.perf_counter() - self.began) / seconds, 1.0)

    def close(self) -> None:
        """Count this share as done."""
        self.search.base += self.share


class _Clock:
    """Ruin and recreate's question how much of its time is used up."""

    def __init__(self, search: "_Search", share: float) -> None:
        self.search, self.share = search, share
        self.turns = 0
        self.began = self.asked = time.perf_counter()

    def __call__(self) -> float:
        now, effort = time.perf_counter(), self.search.effort
        if effort.iterations is not None:
            part = self.turns * STEPS / (self.share * effort.iterations)
        else:
            left = (effort.seconds or 0) - (self.began - self.search.began)
            part = (now - self.began) / left if left > 0 else 1.0
        self.turns += 1
        if now - self.asked >= ASK_EVERY_S:
            self.asked = now
            self.search.say(1 - self.share * (1 - min(part, 1.0)))
        return 1.0 if self.search.ask() else part


class _Listener(IteratedLocalSearchCallbacks):
    """Hears of each solution: the best for those who listen, and the best that leaves time for lunch."""

    def __init__(self, search: "_Search", model: Model) -> None:
        self.search, self.model = search, model

    def on_best(self, best: pyvrp.Solution) -> None:
        if best.is_feasible() and not self.search.lunches:
            self.search.met(self.model.value(best))

    def on_iteration(
        self,
        current: pyvrp.Solution,
        candidate: pyvrp.Solution,
        best: pyvrp.Solution,
        cost_evaluator: pyvrp.CostEvaluator,
    ) -> None:
        if not self.search.lunches or not candidate.is_feasible():
            return
        best_value = self.search.best
        if best_value is None or self.model.value(candidate) > best_value:
            rounds = self.model.rounds(candidate)
            value = self.search.exact(rounds)
            if value is not None and (best_value is None or value > best_value):
                self.search.met(value, rounds)


class _Search:
    """What the steps for one plan share: effort, seed, who listens, the wish to stop."""

    def __init__(self, problem: Problem, effort: Effort, tell: Told, halted: Asked) -> None:
        self.problem, self.effort = problem, effort
        self._tell, self._halted = tell, halted
        self.began = time.perf_counter()
        self.halted = False
        self.lunches = any(shift.lunch for shift in problem.shifts)
        self.best: int | None = None
        self.kept: dict[int, list[Visit]] | None = None
        self.base = 0.0
        self._known: dict[tuple[int, tuple[Visit, ...]], int | None] = {}

    def ask(self) -> bool:
        """Whether somebody wants it to stop."""
        self.halted = self.halted or self._halted()
        return self.halted

    def late(self) -> bool:
        """Whether the whole time is over, or somebody wants it to stop."""
        seconds = self.effort.seconds
        over = seconds is not None and time.perf_counter() - self.began > seconds
        return over or self.ask()

    def met(self, value: int, rounds: dict[int, list[Visit]] | None = None) -> None:
        """Take note of a plan's value, and of its rounds where they are the best so far."""
        if self.best is None or value > self.best:
            self.best = value
            self.kept = rounds

    def finished(self, value: int) -> None:
        """Tell the value of the plan that is given out."""
        self._tell(Progress(value, 1.0))

    def say(self, done: float) -> None:
        """Tell the best value so far."""
        if self.best is not None:
            self._tell(Progress(self.best, min(done, 1.0)))

    def clock(self, share: float) -> "_Clock":
        """Return the clock of ruin and recreate for the last ``share`` of the effort."""
        return _Clock(self, share)

    def routed(self, draft: Draft, share: float, warm: bool) -> Draft:
        """Return what PyVRP finds around the pairs of a draft, ``warm`` from the draft's rounds."""
        one = {
            name: some
            for name, some in draft.choices.items()
            if some and self.problem.by_stop[name].people == 1
        }
        if not one or self.ask():
            return draft
        model = build(self.problem, one, _pins(draft))
        known = {n: splice.visits for n, splice in enumerate(draft.rounds)}
        main = share * MAIN
        found = self._run(model, known if warm else None, main)
        if found is None:  # nothing that is on time: from what is
            found = self._run(model, known, share - main)
        else:
            found = self._mended(model, found, share - main)
        drafts = [self._taken(draft, rounds) for rounds in (found, self.kept) if rounds]
        for other in drafts:
            fill(other, self.ask)
        return max([draft, *drafts], key=rank)

    def _run(
        self, model: Model, begin: Mapping[int, Sequence[Visit]] | None, share: float
    ) -> dict[int, list[Visit]] | None:
        """Run PyVRP once; None where it finds nothing that is on time."""
        watch = _Watch(self, share)
        solution = self._solve(model, model.solution(begin) if begin else None, watch)
        watch.close()
        return model.rounds(solution) if solution.is_feasible() else None

    def _solve(self, model: Model, initial: pyvrp.Solution | None, watch: _Watch) -> pyvrp.Solution:
        ils = IteratedLocalSearchParams(callbacks=_Listener(self, model))
        with warnings.catch_warnings():
            # hard instances touch the bound although what they find is right
            warnings.simplefilter("ignore", PenaltyBoundWarning)
            return pyvrp.solve(
                model.data,
                stop=watch,
                seed=self.effort.seed,
                collect_stats=False,
                display=False,
                params=SolveParams(ils=ils),
                initial_solution=initial,
            ).best

    def _mended(
        self, model: Model, rounds: dict[int, list[Visit]], share: float
    ) -> dict[int, list[Visit]]:
        """Shorten the shifts whose rounds leave no time for lunch, and search again from there."""
        trims: dict[int, int] = {}
        for _ in range(TRIES):
            missed = [n for n, visits in rounds.items() if not self._possible(n, visits)]
            if not missed or self.ask():
                break
            trims |= {n: trims.get(n, 0) + TRIM for n in missed}
            again = self._run(model.trimmed(trims), rounds, share / TRIES)
            rounds = rounds if again is None else again
        return rounds

    def exact(self, rounds: Mapping[int, Sequence[Visit]]) -> int | None:
        """Return the value of rounds with their lunches; None where one has no time for it."""
        problem = self.problem
        going = Counter(visit.stop for visits in rounds.values() for visit in visits)
        if any(count < problem.by_stop[name].people for name, count in going.items()):
            return None
        worth: dict[str, int] = {}
        cost = 0
        for shift, visits in rounds.items():
            key = shift, tuple(visits)
            if key not in self._known:
                if len(self._known) >= KEPT:
                    self._known.clear()
                splice = Splice(problem, problem.shifts[shift], visits)
                self._known[key] = splice.cost if splice.possible else None
            one = self._known[key]
            if one is None:
                return None
            cost += one
            who = (problem.shifts[shift].technician,)
            for visit in visits:
                stop, day = problem.by_stop[visit.stop], visit.window.day
                one_worth = problem.worth(stop, day) + problem.drawn(stop, day, who)
                worth[visit.stop] = max(worth.get(visit.stop, 0), one_worth)
        return sum(worth.values()) - cost

    def _possible(self, shift: int, visits: Sequence[Visit]) -> bool:
        return Splice(self.problem, self.problem.shifts[shift], visits).possible

    def _taken(self, draft: Draft, rounds: Mapping[int, list[Visit]]) -> Draft:
        """Return a draft of the rounds found; what still leaves no time for lunch gives way."""
        found = Draft(self.problem, draft.choices)
        for shift, visits in rounds.items():
            left = list(visits)
            while left and not found.set_round(shift, left):
                left.remove(min(left, key=self._weight))
        for name, shifts in list(found.seats.items()):
            if len(shifts) < self.problem.by_stop[name].people:
                found.remove(name)  # half of a pair does not go alone
        return found

    def _weight(self, visit: Visit) -> tuple[bool, int]:
        """What gives way first: what is not fixed, of that what is worth least."""
        stop = self.problem.by_stop[visit.stop]
        return fixed(self.problem, stop), self.problem.worth(stop, visit.window.day)


def _pins(draft: Draft) -> list[Pin]:
    """Return the halves of the pairs of a draft."""
    problem, pins = draft.problem, []
    for name, shifts in draft.seats.items():
        if problem.by_stop[name].people == 2:
            for n, shift in enumerate(shifts):
                window = next(v.window for v in draft.visits(shift) if v.stop == name)
                worth = problem.worth(problem.by_stop[name], window.day) if n == 0 else 0
                pins.append(Pin(name, shift, window.start, worth))
    return pins
