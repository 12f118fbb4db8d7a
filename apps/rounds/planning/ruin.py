"""Improving a draft by taking out a handful of stops that have to do with each other, and putting
them back where they gain most. It sees lunches, pairs and money exactly as they are.

Source: Schrimpf, Schneider, Stamm-Wilbrandt and Dueck (2000), "Record breaking optimization results
using the ruin and recreate principle"; the acceptance is their threshold, falling to nought.
"""

import random
from collections.abc import Callable, Sequence

from apps.rounds.planning.choices import fixed
from apps.rounds.planning.draft import Draft, Offer
from apps.rounds.planning.pairs import best_offer
from apps.rounds.planning.problem import Problem, Stop

Share = Callable[[], float]
FEWEST, MOST = 2, 10
BEGIN_THRESHOLD = 0.4
"""At the beginning a draft is gone on from that is worth less by this share of what a stop costs."""


def ruin_and_recreate(
    draft: Draft, done: Share, seed: int = 1, tell: Callable[[int], None] | None = None
) -> Draft:
    """Return the best draft met until ``done()`` (the share of the time, asked each step) is 1."""
    chance = random.Random(seed)  # noqa: S311 - a search, not a secret
    best = current = draft
    best_rank = current_rank = rank(draft)
    near = _Near(draft.problem)
    allowed = BEGIN_THRESHOLD * draft.cost / max(len(draft.seats), 1)
    while (share := done()) < 1.0 and near.stops:
        trial = current.copy()
        recreate(trial, ruin(trial, near, chance), chance)
        trial_rank = rank(trial)
        slack = round(allowed * (1 - share))
        if (trial_rank[0], trial_rank[1] + slack) > current_rank:
            current, current_rank = trial, trial_rank
        if trial_rank > best_rank:
            best, best_rank = trial, trial_rank
            if tell is not None:
                tell(best_rank[1])
    return best


def rank(draft: Draft) -> tuple[int, int]:
    """Promises first, then the value."""
    kept = sum(fixed(draft.problem, draft.problem.by_stop[name]) for name in draft.seats)
    return kept, draft.value


class _Near:
    """The stops in the order of how far they are from each other by road."""

    def __init__(self, problem: Problem) -> None:
        places = {place.id for place in problem.places if place.located}
        self.stops = [stop for stop in problem.stops if stop.place in places]
        self.problem = problem
        self.known: dict[str, list[str]] = {}

    def of(self, stop: Stop) -> list[str]:
        """Return all stops from the nearest on, the stop itself first."""
        if stop.id not in self.known:
            travel = self.problem.travel
            row = travel.seconds[travel.index[stop.place]]
            ordered = sorted(
                self.stops, key=lambda s: (s is not stop, row[travel.index[s.place]], s.id)
            )
            self.known[stop.id] = [other.id for other in ordered]
        return self.known[stop.id]


def ruin(draft: Draft, near: _Near, chance: random.Random) -> list[Stop]:
    """Take out neighbours on the map, or of one round, or some of each; return what is to be placed.

    Absent stops of the neighbourhood come along, so that they may take the place of others.
    """
    begin = chance.choice(near.stops)
    count = chance.randint(FEWEST, min(MOST, max(len(near.stops), FEWEST)))
    names = near.of(begin)[:count]
    if chance.random() < 0.5:
        for shift in draft.seats.get(begin.id, ())[:1]:
            visits = draft.visits(shift)
            kept = chance.randint(1, len(visits))
            names = [*(v.stop for v in chance.sample(visits, kept)), *names[: count // 2]]
    absent = [stop.id for stop in draft.absent() if draft.choices[stop.id]]
    names += chance.sample(absent, min(len(absent), 3))
    for name in dict.fromkeys(names):
        draft.remove(name)
    return [draft.problem.by_stop[name] for name in dict.fromkeys(names)]


def recreate(draft: Draft, stops: Sequence[Stop], chance: random.Random) -> None:
    """Put stops back: in the order of what they gain, or in an order drawn, fixed ones first."""
    problem = draft.problem
    drawn = chance.random() < 0.5
    waiting = sorted(stops, key=lambda s: (not fixed(problem, s), s.people == 1, chance.random()))
    while waiting:
        offers = [(stop, best_offer(draft, stop)) for stop in (waiting[:1] if drawn else waiting)]
        if not drawn:
            offers.sort(key=lambda pair: _pressing(problem, *pair))
        stop, offer = offers[0]
        if offer is not None and (offer.gain > 0 or fixed(problem, stop)):
            draft.take(stop.id, offer)
        waiting = [other for other in waiting if other is not stop]


def _pressing(problem: Problem, stop: Stop, offer: Offer | None) -> tuple[bool, bool, int]:
    gain = offer.gain if offer is not None else 0
    return not fixed(problem, stop), stop.people == 1, -gain
