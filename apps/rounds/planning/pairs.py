"""Stops for two people: one common beginning, a seat in two rounds of the same day.

The beginning is chosen among the quarter-hours of the window, its two ends, and the beginnings that
suit either round best, since a cost that is exact in each of these is close to the least, and
people meet at such times anyway. From then on each half is a visit of its own that may begin at
that moment only, so that whatever is planned around it keeps the two together.
"""

from collections.abc import Iterator
from typing import NamedTuple

from apps.rounds.planning.choices import Choice
from apps.rounds.planning.draft import Draft, Offer, Seat
from apps.rounds.planning.problem import Stop, Window
from apps.rounds.planning.schedule import scheduled
from apps.rounds.planning.segments import Visit
from apps.rounds.planning.splice import Fit

QUARTER = 15 * 60


class _Half(NamedTuple):
    """The cheapest seat of one person for one beginning."""

    shift: int
    start: int
    fit: Fit


def pair_offers(draft: Draft, stop: Stop) -> Iterator[Offer]:
    """Yield for each window and pair of technicians the best common beginning."""
    for choice in draft.choices[stop.id]:
        yield from pairs_of_choice(draft, stop, choice)


def pairs_of_choice(draft: Draft, stop: Stop, choice: Choice) -> Iterator[Offer]:
    """Yield for each pair of a choice's technicians the best common beginning."""
    halves = _halves(draft, stop, choice)
    for lead in choice.shifts:
        for other in (*choice.shifts, *choice.helpers):
            counted = other == lead or (other in choice.shifts and other < lead)
            if not counted and _promised(draft, stop, lead, other):
                yield from _together(draft, stop, choice, halves[lead], halves[other])


def best_pair(draft: Draft, stop: Stop) -> Offer | None:
    """Return the offer with the highest gain, the first among equals."""
    return max(pair_offers(draft, stop), key=lambda offer: offer.gain, default=None)


def best_offer(draft: Draft, stop: Stop) -> Offer | None:
    """Return the best offer for a stop of one or of two people."""
    return draft.best(stop) if stop.people == 1 else best_pair(draft, stop)


def _promised(draft: Draft, stop: Stop, lead: int, other: int) -> bool:
    """Whether those promised by name are among the two."""
    shifts = draft.problem.shifts
    names = {shifts[lead].technician, shifts[other].technician}
    promised = set(stop.promise.technicians) if stop.promise else set()
    return promised <= names


def _together(
    draft: Draft, stop: Stop, choice: Choice, mine: dict[int, _Half], theirs: dict[int, _Half]
) -> Iterator[Offer]:
    best: Offer | None = None
    for start in sorted(mine.keys() & theirs.keys()):
        a, b = mine[start], theirs[start]
        offer = draft.offer(stop, choice.worth, Seat(a.shift, a.fit), Seat(b.shift, b.fit))
        if best is None or offer.gain > best.gain:
            best = offer
    if best is not None:
        yield best


def _halves(draft: Draft, stop: Stop, choice: Choice) -> dict[int, dict[int, _Half]]:
    """Return for each shift and beginning the cheapest seat."""
    shifts = (*choice.shifts, *choice.helpers)
    starts = set(beginnings(choice.window))
    for shift in shifts:
        natural = _natural(draft, stop, choice.window, shift)
        starts |= {natural} if natural is not None else set()
    found: dict[int, dict[int, _Half]] = {}
    for shift in shifts:
        seats: dict[int, _Half] = {}
        for start in starts:
            fit = draft.rounds[shift].cheapest(stop, Window(start, start))
            if fit is not None:
                seats[start] = _Half(shift, start, fit)
        found[shift] = seats
    return found


def beginnings(window: Window) -> list[int]:
    """Return the ends of a window and the quarter-hours in it.

    >>> beginnings(Window(100, 2000))
    [100, 900, 1800, 2000]
    """
    first = -(-window.start // QUARTER) * QUARTER
    return sorted({window.start, window.end, *range(first, window.end + 1, QUARTER)})


def _natural(draft: Draft, stop: Stop, window: Window, shift: int) -> int | None:
    """Return when one round by itself would begin the stop."""
    splice = draft.rounds[shift]
    fit = splice.cheapest(stop, window)
    if fit is None:
        return None
    visits = list(splice.visits)
    visits.insert(fit.position, Visit(stop.id, window))
    made = scheduled(draft.problem, splice.shift, visits)
    return None if made is None else made.calls[fit.position].start
