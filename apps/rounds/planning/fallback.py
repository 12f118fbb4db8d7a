"""Plans without the solver: cheapest insertion, then moving single stops and turning pieces round.

Used where the solver's library is missing, to complete what the solver left, and as the baseline
that plans are compared with.
"""

from collections.abc import Collection, Iterable, Sequence

from apps.rounds.planning.choices import Choices, fixed
from apps.rounds.planning.draft import Draft, Offer, former_draft
from apps.rounds.planning.effort import Asked, never
from apps.rounds.planning.pairs import best_offer
from apps.rounds.planning.plan import Plan
from apps.rounds.planning.problem import Problem, Stop
from apps.rounds.planning.reasons import left_out
from apps.rounds.planning.segments import Visit


def fallback(problem: Problem, halted: Asked = never) -> Plan:
    """Return a plan by cheapest insertion and improvement; ``halted`` ends it early."""
    draft = inserted(former_draft(problem), halted)
    improve(draft, halted)
    return draft.plan("insertion", left_out(draft), stopped=halted())


def inserted(draft: Draft, halted: Asked = never) -> Draft:
    """Fill a draft: fixed stops, then pairs, then of all others the one with the most gain first."""
    certain = [stop for stop in draft.absent() if fixed(draft.problem, stop)]
    # whom fewest choices are left for goes first
    for stop in sorted(certain, key=lambda s: sum(len(c.shifts) for c in draft.choices[s.id])):
        _take(draft, stop, best_offer(draft, stop), whatever=True)
    fill(draft, halted)
    return draft


def fill(draft: Draft, halted: Asked = never) -> None:
    """Take in absent stops while one pays: those for two people, then the others."""
    pairs = [stop for stop in draft.absent() if stop.people == 2]
    for stop in sorted(pairs, key=lambda s: -max(s.prizes.values(), default=0)):
        if halted():
            return
        _take(draft, stop, best_offer(draft, stop))
    complete(draft, halted=halted)


def _take(draft: Draft, stop: Stop, offer: Offer | None, whatever: bool = False) -> bool:
    if offer is None or (offer.gain <= 0 and not whatever):
        return False
    draft.take(stop.id, offer)
    return True


def complete(draft: Draft, only: Collection[str] | None = None, halted: Asked = never) -> int:
    """Take in absent one-person stops while one pays, the best first; return how many it was.

    ``only``: of these stops. Fixed stops are taken whatever they cost. After each step only the round that changed is asked
    again.
    """
    waiting = {
        stop.id: stop
        for stop in draft.absent()
        if stop.people == 1 and (only is None or stop.id in only)
    }
    offers = {name: _by_shift(draft, stop) for name, stop in waiting.items() if not halted()}
    taken = 0
    while not halted():
        best: tuple[int, str, Offer] | None = None
        for name, by_shift in offers.items():
            bonus = 1 << 50 if fixed(draft.problem, waiting[name]) else 0
            for offer in by_shift.values():
                if offer.gain + bonus > max(0, best[0] if best else 0):
                    best = (offer.gain + bonus, name, offer)
        if best is None:
            break
        _, name, offer = best
        draft.take(name, offer)
        taken += 1
        del offers[name]
        changed = offer.seats[0].shift
        for other, by_shift in offers.items():
            by_shift.pop(changed, None)
            again = draft.best(waiting[other], [changed])
            if again is not None:
                by_shift[changed] = again
    return taken


def _by_shift(draft: Draft, stop: Stop) -> dict[int, Offer]:
    found: dict[int, Offer] = {}
    for offer in draft.offers(stop):
        shift = offer.seats[0].shift
        if shift not in found or offer.gain > found[shift].gain:
            found[shift] = offer
    return found


def improve(draft: Draft, halted: Asked = never, passes: int = 20) -> None:
    """Move stops, turn pieces of rounds and take in absent ones until nothing gains any more."""
    for _ in range(passes):
        before = draft.value
        fill(draft, halted)
        for stop in draft.problem.stops:
            if halted():
                return
            if stop.id in draft.seats:
                relocate(draft, stop)
        for shift in range(len(draft.rounds)):
            if halted():
                return
            turn(draft, shift)
        if draft.value <= before:
            return


def relocate(draft: Draft, stop: Stop) -> bool:
    """Take a stop out and put it where it gains most; undo what does not gain. Tell if it moved."""
    before, kept = draft.value, draft.copy()
    draft.remove(stop.id)
    offer = best_offer(draft, stop)
    must_stay = fixed(draft.problem, stop)
    if offer is not None and (offer.gain > 0 or must_stay):
        draft.take(stop.id, offer)
    missing = must_stay and stop.id not in draft.seats
    if draft.value <= before or missing:
        draft.rounds, draft.seats = kept.rounds, kept.seats
        return False
    return True


def turn(draft: Draft, shift: int) -> bool:
    """Turn a piece of a round about where that makes it cheaper (2-opt). Tell if one was turned."""
    turned = False
    again = True
    while again:
        again = False
        visits = list(draft.visits(shift))
        for first in range(len(visits) - 1):
            for last in range(first + 1, len(visits)):
                piece = visits[first : last + 1][::-1]
                new = [*visits[:first], *piece, *visits[last + 1 :]]
                if _cheaper(draft, shift, new):
                    again = turned = True
                    break
            if again:
                break
    return turned


def _cheaper(draft: Draft, shift: int, visits: Sequence[Visit]) -> bool:
    old = draft.rounds[shift]
    if not draft.set_round(shift, visits):
        return False
    if draft.rounds[shift].cost < old.cost:
        return True
    draft.set_round(shift, old.visits)
    return False


def in_due_order(problem: Problem, order: Iterable[str], choices: Choices | None = None) -> Plan:
    """Return the plan of a diary: stops in ``order``, each on the first day with room at the end.

    No prize is weighed, nothing is moved again: what a firm does by hand, as a baseline. Promises
    are kept first.
    """
    draft = Draft(problem, choices)
    named = [problem.by_stop[name] for name in order]
    for stop in sorted(named, key=lambda s: not fixed(problem, s)):
        if stop.people == 2:
            _take(draft, stop, best_offer(draft, stop), whatever=True)
            continue
        for choice in draft.choices[stop.id]:
            fits = [
                (fit.extra, shift, fit)
                for shift in choice.shifts
                for splice in (draft.rounds[shift],)
                for fit in (splice.at(stop, choice.window, len(splice.visits)),)
                if fit is not None
            ]
            if fits:
                _, shift, fit = min(fits)
                draft.set_round(shift, (*draft.visits(shift), Visit(stop.id, fit.window)))
                break
    return draft.plan("due order", left_out(draft))
