"""A plan in the making: which stops stand in which round, changed one stop at a time."""

from collections.abc import Iterable, Iterator, Sequence
from typing import NamedTuple

from apps.calc.wording import text as _
from apps.rounds.planning.choices import Choices
from apps.rounds.planning.plan import LeftOut, Plan, Round
from apps.rounds.planning.problem import Problem, Stop
from apps.rounds.planning.schedule import scheduled
from apps.rounds.planning.segments import Visit
from apps.rounds.planning.splice import Fit, Splice

KEPT = 10_000
"""Rounds that are remembered; then all are forgotten, so that memory stays bounded."""


class Seat(NamedTuple):
    """A stop's place in a shift's round, as :class:`Fit` says."""

    shift: int
    fit: Fit


class Offer(NamedTuple):
    """One way to take a stop into a draft: what it is worth less what it costs, and the seats."""

    gain: int
    worth: int
    seats: tuple[Seat, ...]


class Draft:
    """Rounds by the number of their shift. Every round stays possible at every step."""

    def __init__(self, problem: Problem, choices: Choices | None = None) -> None:
        """Begin with empty rounds."""
        self.problem = problem
        self.choices = Choices(problem) if choices is None else choices
        self.store: dict[tuple[int, tuple[Visit, ...]], Splice] = {}
        self.rounds = [self.opened(n, ()) for n in range(len(problem.shifts))]
        self.seats: dict[str, tuple[int, ...]] = {}

    def copy(self) -> "Draft":
        """Return a draft of its own; the rounds themselves are never changed in place."""
        other = Draft.__new__(Draft)
        other.problem, other.choices, other.store = self.problem, self.choices, self.store
        other.rounds, other.seats = list(self.rounds), dict(self.seats)
        return other

    def opened(self, shift: int, visits: Sequence[Visit]) -> Splice:
        """Return a round opened for insertion; one that was met before comes with what it knows."""
        key = shift, tuple(visits)
        found = self.store.get(key)
        if found is None:
            if len(self.store) >= KEPT:
                self.store.clear()
            found = self.store[key] = Splice(self.problem, self.problem.shifts[shift], visits)
        return found

    @property
    def cost(self) -> int:
        """The sum of the bills."""
        return sum(splice.cost for splice in self.rounds)

    @property
    def prize(self) -> int:
        """What the planned stops are worth, each counted once."""
        problem, total = self.problem, 0
        for name, numbers in self.seats.items():
            stop, shifts = problem.by_stop[name], [problem.shifts[n] for n in numbers]
            day = shifts[0].day
            total += problem.worth(stop, day)
            total += problem.drawn(stop, day, (shift.technician for shift in shifts))
        return total

    @property
    def value(self) -> int:
        """Prizes less cost."""
        return self.prize - self.cost

    def visits(self, shift: int) -> tuple[Visit, ...]:
        """Return the round of a shift."""
        return self.rounds[shift].visits

    def set_round(self, shift: int, visits: Sequence[Visit]) -> bool:
        """Put a whole round in place if it is possible; tell whether it was."""
        splice = self.opened(shift, visits)
        if visits and not splice.possible:
            return False
        for visit in self.rounds[shift].visits:
            self._unseat(visit.stop, shift)
        self.rounds[shift] = splice
        for visit in visits:
            self.seats[visit.stop] = (*self.seats.get(visit.stop, ()), shift)
        return True

    def _unseat(self, name: str, shift: int) -> None:
        left = tuple(n for n in self.seats.get(name, ()) if n != shift)
        if left:
            self.seats[name] = left
        else:
            self.seats.pop(name, None)

    def remove(self, name: str) -> None:
        """Take a stop out of all rounds that it stands in.

        What stays is possible where driving directly takes no longer than by way of the stop and
        its service; where a road engine says otherwise the round is emptied.
        """
        for shift in self.seats.get(name, ()):
            rest = [visit for visit in self.rounds[shift].visits if visit.stop != name]
            if not self.set_round(shift, rest):
                self.set_round(shift, ())
                for visit in rest:
                    self.remove(visit.stop)

    def take(self, name: str, offer: Offer) -> None:
        """Put a stop in the seats that were offered; they must be as fresh as the draft."""
        for shift, fit in offer.seats:
            visits = list(self.rounds[shift].visits)
            visits.insert(fit.position, Visit(name, fit.window))
            self.set_round(shift, visits)

    def offers(self, stop: Stop, only: Iterable[int] | None = None) -> Iterator[Offer]:
        """Yield the cheapest seat of a one-person stop in each shift and window, in some ``only``."""
        wanted = None if only is None else set(only)
        for choice in self.choices[stop.id]:
            for shift in choice.shifts:
                if wanted is None or shift in wanted:
                    fit = self.rounds[shift].cheapest(stop, choice.window)
                    if fit is not None:
                        yield self.offer(stop, choice.worth, Seat(shift, fit))

    def offer(self, stop: Stop, worth: int, *seats: Seat) -> Offer:
        """Return seats as an offer: ``worth`` of the day, more where somebody is in the area."""
        shifts = [self.problem.shifts[seat.shift] for seat in seats]
        names = (shift.technician for shift in shifts)
        worth += self.problem.drawn(stop, shifts[0].day, names)
        return Offer(worth - sum(seat.fit.extra for seat in seats), worth, seats)

    def best(self, stop: Stop, only: Iterable[int] | None = None) -> Offer | None:
        """Return the offer with the highest gain, the first among equals."""
        return max(self.offers(stop, only), key=lambda offer: offer.gain, default=None)

    def absent(self) -> list[Stop]:
        """Return the stops that stand nowhere."""
        return [stop for stop in self.problem.stops if stop.id not in self.seats]

    def timed(self) -> list[Round]:
        """Return the rounds with their times, in the order of days and technicians."""
        found = []
        for shift, splice in zip(self.problem.shifts, self.rounds, strict=True):
            if splice.visits:
                made = scheduled(self.problem, shift, splice.visits)
                if made is None:
                    raise AssertionError(f"a round of {shift.technician} cannot be timed")
                found.append(made)
        return sorted(found, key=lambda made: (made.day, made.technician))

    def plan(self, method: str, left_out: Sequence[LeftOut], stopped: bool = False) -> Plan:
        """Return the plan with the reasons of what is left out."""
        return Plan(
            rounds=tuple(self.timed()),
            left_out=tuple(left_out),
            prize=self.prize,
            cost=self.cost,
            estimated=self.problem.travel.any_estimated,
            method=method,
            stopped=stopped,
        )


def draft_of(problem: Problem, plan: Plan, choices: Choices | None = None) -> Draft:
    """Return a draft that holds a plan's rounds; ValueError where one does not belong to the problem."""
    draft = Draft(problem, choices)
    numbers = {(s.technician, s.day): n for n, s in enumerate(problem.shifts)}
    for made in plan.rounds:
        shift = numbers.get((made.technician, made.day))
        visits = [Visit(call.stop, call.window) for call in made.calls]
        if shift is None or not draft.set_round(shift, visits):
            raise ValueError(
                _(
                    "the round of {who} on day {day} is not possible any more; plan anew",
                    who=made.technician,
                    day=made.day,
                )
            )
    return draft


def former_draft(problem: Problem) -> Draft:
    """Return a draft with the rounds of the plan before, as far as they are still possible."""
    draft = Draft(problem)
    number = {(s.technician, s.day): n for n, s in enumerate(problem.shifts)}
    rounds: dict[int, list[tuple[int, Visit]]] = {}
    for stop in problem.stops:
        if stop.former is None or stop.people != 1 or len(stop.former.technicians) != 1:
            continue
        shift = number.get((stop.former.technicians[0], stop.former.day))
        choice = next((c for c in draft.choices[stop.id] if shift in c.shifts), None)
        if shift is not None and choice is not None:
            visit = Visit(stop.id, choice.window)
            rounds.setdefault(shift, []).append((stop.former.rank, visit))
    for shift, ranked in rounds.items():
        draft.set_round(shift, [visit for _, visit in sorted(ranked)])
    return draft
