"""What a change by hand costs and breaks: a stop moved elsewhere, a technician away for a day."""

from collections.abc import Collection, Sequence
from dataclasses import dataclass, replace

from apps.calc.wording import text as _
from apps.rounds.planning.checker import Violation, violations
from apps.rounds.planning.choices import Choice
from apps.rounds.planning.draft import Draft, draft_of
from apps.rounds.planning.fallback import complete
from apps.rounds.planning.insertion import Delay, delays, opened
from apps.rounds.planning.pairs import best_offer, pairs_of_choice
from apps.rounds.planning.plan import Plan
from apps.rounds.planning.problem import DAY, Problem, Stop, Window
from apps.rounds.planning.reasons import left_out
from apps.rounds.planning.segments import Visit


@dataclass(frozen=True, slots=True)
class Change:
    """A plan after a change: what it costs and drives more, who begins at another time, and what
    it breaks that a person must want to break."""

    plan: Plan
    extra: int
    metres: int
    delays: tuple[Delay, ...]
    violations: tuple[Violation, ...]


@dataclass(frozen=True, slots=True)
class Moved:
    """Where a stop goes now: day, who, and when the work begins; None: nowhere."""

    stop: str
    day: int | None
    technicians: tuple[str, ...]
    start: int | None


def moved(
    problem: Problem,
    plan: Plan,
    name: str,
    technicians: Sequence[str],
    day: int,
    *,
    start: int | None = None,
    position: int | None = None,
) -> Change:
    """Return a plan with a stop in other hands or on another day, and what that costs and breaks.

    Begun at ``start``, or when it is cheapest; before the call number ``position`` of the round (of
    one technician), or where it is cheapest. A promise, window, skill or frozen day that breaks is
    among the violations; what no day of theirs could hold is refused with ValueError.
    """
    draft, stop = opened(problem, plan, name)
    if len(set(technicians)) != stop.people:
        if stop.people == 1:
            raise ValueError(_("{stop} needs one technician; name one", stop=name))
        raise ValueError(
            _("{stop} needs {count} technicians; name as many", stop=name, count=stop.people)
        )
    shifts = [_shift(problem, technician, day) for technician in technicians]
    windows = [Window(start, start)] if start is not None else _windows(stop, day)
    if not any(_seat(draft, stop, shifts, window, position) for window in windows):
        raise ValueError(
            _(
                "{stop} does not fit into the day of {who}: with it nobody would be back in time; "
                "choose another time, day or technician",
                stop=name, who=", ".join(technicians),
            )
        )  # fmt: skip
    return _change(problem, plan, draft, [name])


def without(problem: Problem, plan: Plan, technician: str, day: int) -> tuple[Change, list[Moved]]:
    """Return the plan when a technician is away on a day, and where each of his stops goes now.

    Promised stops and pairs first, then the others, each where it gains most, on a frozen day too;
    all else stays. What finds no place is left out with its reason.
    """
    gone = _shift(problem, technician, day)
    settings = replace(
        problem.settings, frozen_days=problem.settings.frozen_days - frozenset({day})
    )
    shifts = tuple(shift for n, shift in enumerate(problem.shifts) if n != gone)
    rest = replace(problem, shifts=shifts, settings=settings)
    theirs = [made for made in plan.rounds if (made.technician, made.day) == (technician, day)]
    lost = [call.stop for made in theirs for call in made.calls]
    kept = tuple(made for made in plan.rounds if made not in theirs)
    after = draft_of(rest, replace(plan, rounds=kept))
    for name in lost:
        after.remove(name)  # the other half of a pair does not go alone
    for name in lost:
        stop = rest.by_stop[name]
        offer = best_offer(after, stop) if stop.promise or stop.people == 2 else None
        if offer is not None:
            after.take(name, offer)
    complete(after, only=lost)
    change = _change(rest, plan, after, lost)
    return change, [_where(change.plan, name) for name in lost]


def _shift(problem: Problem, technician: str, day: int) -> int:
    for n, shift in enumerate(problem.shifts):
        if (shift.technician, shift.day) == (technician, day):
            return n
    raise ValueError(_("{who} does not work on {day}; choose another day", who=technician, day=day))


def _windows(stop: Stop, day: int) -> list[Window]:
    """Return the windows to try in turn: the promised one, the stop's own, the whole day."""
    known = [stop.promise.window] if stop.promise else []
    there = [window for window in (*known, *stop.windows) if window.day == day]
    return [*there, Window(day * DAY, (day + 1) * DAY - 1)]


def _seat(
    draft: Draft, stop: Stop, shifts: Sequence[int], window: Window, position: int | None
) -> bool:
    """Put a stop into the rounds of ``shifts`` within a window; tell whether it went."""
    if stop.people == 2:
        choice = Choice(window, 0, (shifts[0],), (shifts[1],))
        # by hand, so whoever was promised: the judge says what that breaks
        asked = replace(stop, promise=None)
        offer = max(pairs_of_choice(draft, asked, choice), key=lambda o: o.gain, default=None)
        if offer is not None:
            draft.take(stop.id, offer)
        return offer is not None
    splice = draft.rounds[shifts[0]]
    if position is None:
        fit = splice.cheapest(stop, window)
    else:
        fit = splice.at(stop, window, min(max(position, 0), len(splice.visits)))
    if fit is None:
        return False
    visits = list(splice.visits)
    visits.insert(fit.position, Visit(stop.id, window))
    return draft.set_round(shifts[0], visits)


def _change(problem: Problem, before: Plan, draft: Draft, by_hand: Collection[str]) -> Change:
    """Return the draft as a plan beside the one before."""
    after = draft.plan(before.method, left_out(draft, before.left_out))
    return Change(
        plan=after,
        extra=after.cost - before.cost,
        metres=_metres(after) - _metres(before),
        delays=tuple(delays(before, after.rounds, by_hand)),
        violations=tuple(violations(problem, after)),
    )


def _metres(plan: Plan) -> int:
    return sum(made.metres for made in plan.rounds)


def _where(plan: Plan, name: str) -> Moved:
    found = [(made, call) for made in plan.rounds for call in made.calls if call.stop == name]
    if not found:
        return Moved(name, None, (), None)
    return Moved(
        name, found[0][0].day, tuple(made.technician for made, _ in found), found[0][1].start
    )
