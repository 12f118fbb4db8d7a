"""Times to offer to a client: the exact cost of a stop in each round of a plan as it stands."""

from collections.abc import Collection, Iterable, Iterator
from dataclasses import dataclass

from apps.calc.wording import text as _
from apps.rounds.planning.choices import Choice
from apps.rounds.planning.draft import Draft, Offer, Seat, draft_of
from apps.rounds.planning.pairs import pairs_of_choice
from apps.rounds.planning.plan import Plan, Round
from apps.rounds.planning.problem import DAY, NOON, Problem, Stop, Window
from apps.rounds.planning.schedule import scheduled
from apps.rounds.planning.segments import Visit

MORNING, AFTERNOON = "morning", "afternoon"
STEP = 30 * 60
"""Windows offered to clients begin on the half-hour where they can."""


@dataclass(frozen=True, slots=True)
class Delay:
    """Another stop that begins later (or, below 0, earlier) by so many seconds."""

    stop: str
    seconds: int


@dataclass(frozen=True, slots=True)
class Slot:
    """A time to offer: who comes within which window, and what it costs the plan.

    ``start`` is when the work would begin as things stand; ``extra`` money and ``metres`` are what
    the rounds cost and drive more; ``delays`` says how others move within their windows.
    """

    day: int
    half: str
    technicians: tuple[str, ...]
    window: Window
    start: int
    extra: int
    metres: int
    delays: tuple[Delay, ...]


def slots(problem: Problem, plan: Plan, name: str, count: int = 3) -> list[Slot]:
    """Return the cheapest times for a stop in a plan as it stands, at most one a day.

    All rounds of its windows are tried, mornings and afternoons apart; what others were promised
    holds. A stop that is in the plan already is taken out first; one that was promised has no other
    window than that, so ask without the promise. Empty where it fits nowhere.
    """
    draft, stop = opened(problem, plan, name)
    best: dict[int, Offer] = {}
    for offer in sorted(_offers(draft, stop), key=lambda offer: offer.worth - offer.gain):
        best.setdefault(problem.shifts[offer.seats[0].shift].day, offer)
    return [_slot(plan, draft, stop, offer) for offer in list(best.values())[:count]]


def opened(problem: Problem, plan: Plan, name: str) -> tuple[Draft, Stop]:
    """Return a plan as a draft without one stop, and that stop; ValueError where it is unknown."""
    if name not in problem.by_stop:
        raise ValueError(_("stop {name} is not in the problem; add it first", name=name))
    draft = draft_of(problem, plan)
    draft.remove(name)
    return draft, problem.by_stop[name]


def _offers(draft: Draft, stop: Stop) -> Iterator[Offer]:
    """Yield an offer for each shift (or pair of them) and half-day."""
    for choice in draft.choices[stop.id]:
        for window in half_days(choice.window):
            half = choice._replace(window=window)
            if stop.people == 2:
                yield from pairs_of_choice(draft, stop, half)
            else:
                yield from _alone(draft, stop, half)


def _alone(draft: Draft, stop: Stop, choice: Choice) -> Iterator[Offer]:
    for shift in choice.shifts:
        fit = draft.rounds[shift].cheapest(stop, choice.window)
        if fit is not None:
            yield Offer(choice.worth - fit.extra, choice.worth, (Seat(shift, fit),))


def half_days(window: Window) -> list[Window]:
    """Return a window cut at noon.

    >>> half_days(Window(36000, 50400))
    [Window(start=36000, end=43199), Window(start=43200, end=50400)]
    """
    noon = window.day * DAY + NOON
    if window.end < noon or window.start >= noon:
        return [window]
    return [Window(window.start, noon - 1), Window(noon, window.end)]


def _slot(plan: Plan, draft: Draft, stop: Stop, offer: Offer) -> Slot:
    """Work out the times of the rounds with the stop in them."""
    problem = draft.problem
    made = [_with(draft, stop, seat) for seat in offer.seats]
    start = next(call.start for call in made[0].calls if call.stop == stop.id)
    half = next(
        cut
        for choice in draft.choices[stop.id]
        for cut in half_days(choice.window)
        if cut.start <= start <= cut.end
    )
    return Slot(
        day=made[0].day,
        half=MORNING if start % DAY < NOON else AFTERNOON,
        technicians=tuple(one.technician for one in made),
        window=offered(half, start, problem.settings.offer),
        start=start,
        extra=sum(seat.fit.extra for seat in offer.seats),
        metres=sum(seat.fit.metres for seat in offer.seats),
        delays=tuple(delays(plan, made, [stop.id])),
    )


def _with(draft: Draft, stop: Stop, seat: Seat) -> Round:
    splice = draft.rounds[seat.shift]
    visits = list(splice.visits)
    visits.insert(seat.fit.position, Visit(stop.id, seat.fit.window))
    made = scheduled(draft.problem, splice.shift, visits)
    if made is None:
        raise AssertionError(f"{stop.id} does not fit where it was found to fit")
    return made


def offered(half: Window, start: int, length: int) -> Window:
    """Return the window to offer: ``length`` [s] from the half-hour on, around ``start``.

    It lies within ``half`` and is shorter only where that is.

    >>> offered(Window(28800, 43199), 34000, 7200)
    Window(start=32400, end=39600)
    """
    begin = start - start % STEP
    begin = max(min(begin, half.end - length), half.start)
    return Window(begin, min(max(begin + length, start), half.end))


def delays(plan: Plan, made: Iterable[Round], besides: Collection[str]) -> Iterator[Delay]:
    """Yield how stops of the new rounds, ``besides`` some, begin later or earlier than before."""
    before = {call.stop: call.start for old in plan.rounds for call in old.calls}
    for one in made:
        for call in one.calls:
            if call.stop not in besides and call.start != before.get(call.stop, call.start):
                yield Delay(call.stop, call.start - before[call.stop])
