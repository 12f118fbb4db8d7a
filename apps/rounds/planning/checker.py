"""A judge of plans that shares no code with what makes them: it works everything out again.

It reads a plan's own times and asks whether each may stand; it gives back codes with what fills
their sentences. No plan is given out unless the list is empty.
"""

from collections import defaultdict
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field

from apps.rounds.planning.plan import REASONS, Call, Plan, Round
from apps.rounds.planning.problem import DAY, Problem, Shift, Stop


@dataclass(frozen=True, slots=True)
class Violation:
    """What is wrong: a code, where, and the figures."""

    code: str
    stop: str = ""
    technician: str = ""
    day: int = -1
    params: Mapping[str, object] = field(default_factory=dict)


Told = tuple[Round, Call]


def violations(problem: Problem, plan: Plan) -> list[Violation]:
    """Return all that is wrong with a plan; an empty list: it may be given out."""
    told: dict[str, list[Told]] = defaultdict(list)
    for made in plan.rounds:
        for call in made.calls:
            told[call.stop].append((made, call))
    found = list(_shape(problem, plan, told))
    if found:  # names that do not exist cannot be judged any further
        return found
    shifts = {(shift.technician, shift.day): shift for shift in problem.shifts}
    for made in plan.rounds:
        found += _round(problem, shifts[made.technician, made.day], made)
    for stop in problem.stops:
        found += _stop(problem, shifts, stop, told.get(stop.id, []))
    found += _frozen(problem, told)
    found += _sums(problem, plan, told)
    return found


def _shape(problem: Problem, plan: Plan, told: Mapping[str, list[Told]]) -> Iterator[Violation]:
    """Each name exists, each round once, each stop either planned or left out with a reason."""
    shifts = {(shift.technician, shift.day) for shift in problem.shifts}
    seen = set()
    for made in plan.rounds:
        key = made.technician, made.day
        if key not in shifts:
            yield Violation("no_shift", technician=made.technician, day=made.day)
        if key in seen:
            yield Violation("round_twice", technician=made.technician, day=made.day)
        if not made.calls:
            yield Violation("round_empty", technician=made.technician, day=made.day)
        seen.add(key)
    names = {stop.id for stop in problem.stops}
    out = [left.stop for left in plan.left_out]
    for name in {*told, *out} - names:
        yield Violation("stop_unknown", stop=name)
    for name in sorted(names):
        if (name in told) + out.count(name) != 1:
            code = "stop_lost" if name not in told and name not in out else "stop_twice"
            yield Violation(code, stop=name)
    for left in plan.left_out:
        if left.reason not in REASONS:
            yield Violation("reason_unknown", stop=left.stop, params={"reason": left.reason})
    unlocated = {place.id for place in problem.places if place.lat is None or place.lon is None}
    for stop in problem.stops:
        if stop.id in told and stop.place in unlocated:
            yield Violation("place_unknown", stop=stop.id)


def _round(problem: Problem, shift: Shift, made: Round) -> Iterator[Violation]:
    """Judge one round by its own times."""

    def wrong(code: str, stop: str = "", **params: object) -> Violation:
        return Violation(code, stop, made.technician, made.day, params)

    yield from _walk(problem, shift, made)
    if made.leave < shift.start or made.back > shift.end + shift.overtime:
        yield wrong("outside_shift", leave=made.leave, back=made.back)
    yield from _lunch(problem, shift, made)
    stops = {stop.id: stop for stop in problem.stops}
    for n, call in enumerate(made.calls):
        stop = stops[call.stop]
        if stop.first_of_day and n > 0:
            yield wrong("not_first_of_day", call.stop)
        if stop.last_of_day and n < len(made.calls) - 1:
            yield wrong("not_last_of_day", call.stop)
    paused = made.lunch.end - made.lunch.start if made.lunch else 0
    paid = made.back - made.leave - paused
    usual = shift.end - shift.start - _unpaid(shift)
    over = max(0, paid - usual)
    if over > shift.overtime:
        yield wrong("too_much_overtime", overtime=over, allowed=shift.overtime)
    expected = (
        shift.fixed_cost,
        made.metres * problem.costs.per_metre,
        paid * problem.costs.per_second,
        over * shift.overtime_per_second,
    )
    bill = made.bill
    if (bill.fixed, bill.driving, bill.time, bill.overtime) != expected:
        yield wrong("bill_wrong", expected=sum(expected), told=bill.total)


def _unpaid(shift: Shift) -> int:
    """The part of a shift that is lunch: all of it unless it can lie before or after the shift."""
    lunch = shift.lunch
    if lunch is None:
        return 0
    midnight = DAY * shift.day
    can_be_before = midnight + lunch.earliest + lunch.seconds <= shift.start
    can_be_after = shift.end + lunch.seconds <= midnight + lunch.latest
    return 0 if can_be_before or can_be_after else lunch.seconds


def _walk(problem: Problem, shift: Shift, made: Round) -> Iterator[Violation]:
    """Follow the round from door to door: no drive and no work quicker than it takes."""
    stops = {stop.id: stop for stop in problem.stops}
    row = {name: n for n, name in enumerate(problem.travel.places)}
    here, clock, metres = row[shift.start_place], made.leave, 0
    for n, call in enumerate(made.calls, 1):
        stop = stops[call.stop]
        there = row[stop.place]
        if made.lunch and not made.lunch.at_work and made.lunch.after == n - 1:
            clock = max(clock, made.lunch.end)
        clock += problem.travel.seconds[here][there]
        metres += problem.travel.metres[here][there]
        if call.arrive < clock or call.start < call.arrive:
            yield Violation("too_early", call.stop, made.technician, made.day, {"earliest": clock})
        needs = stop.service + stop.disinfecting
        if made.lunch and made.lunch.at_work and made.lunch.after == n:
            needs += made.lunch.end - made.lunch.start
        if call.leave - call.start < needs:
            yield Violation("too_short", call.stop, made.technician, made.day, {"needs": needs})
        here, clock = there, call.leave
    if made.lunch and not made.lunch.at_work and made.lunch.after == len(made.calls):
        clock = max(clock, made.lunch.end)
    end = row[shift.end_place]
    if made.back < clock + problem.travel.seconds[here][end]:
        yield Violation("too_early", "", made.technician, made.day, {"earliest": clock})
    if made.metres != metres + problem.travel.metres[here][end]:
        yield Violation("metres_wrong", "", made.technician, made.day, {"told": made.metres})


def _lunch(problem: Problem, shift: Shift, made: Round) -> Iterator[Violation]:
    """The break lies in its time; without one on the way, before leaving or after coming home."""

    def wrong(code: str) -> Violation:
        return Violation(code, "", made.technician, made.day)

    lunch, taken = shift.lunch, made.lunch
    if lunch is None:
        if taken is not None:
            yield wrong("lunch_unasked")
        return
    midnight = DAY * shift.day
    opens, closes = midnight + lunch.earliest, midnight + lunch.latest
    if taken is None:
        if made.leave < opens + lunch.seconds and made.back > closes - lunch.seconds:
            yield wrong("lunch_missing")
        return
    if taken.end - taken.start != lunch.seconds:
        yield wrong("lunch_length")
    if taken.start < opens or taken.end > closes:
        yield wrong("lunch_outside_its_time")
    if not 1 <= taken.after <= len(made.calls):
        yield wrong("lunch_nowhere")
        return
    call = made.calls[taken.after - 1]
    service = next(stop.service for stop in problem.stops if stop.id == call.stop)
    if taken.at_work:
        if service < lunch.inside_from or not (
            call.start <= taken.start <= call.start + service and taken.end <= call.leave
        ):
            yield wrong("lunch_at_wrong_work")
    elif taken.start < call.leave:
        yield wrong("lunch_during_work")


def _stop(
    problem: Problem, shifts: Mapping[tuple[str, int], Shift], stop: Stop, told: list[Told]
) -> Iterator[Violation]:
    """Judge where one stop stands: how many go, who, when, and what was promised."""
    if not told:
        return

    def wrong(code: str, told_once: Told, **params: object) -> Violation:
        made, _ = told_once
        return Violation(code, stop.id, made.technician, made.day, params)

    who = [made.technician for made, _ in told]
    if len(told) != stop.people or len(set(who)) != stop.people:
        yield wrong("people_wrong", told[0], people=len(set(who)), needed=stop.people)
    if len({call.start for _, call in told}) > 1:
        yield wrong("not_together", told[0], starts=sorted(call.start for _, call in told))
    held = [shifts[made.technician, made.day].skills for made, _ in told]
    if not any(stop.skills <= skills for skills in held):
        yield wrong("skill_missing", told[0], skills=sorted(stop.skills))
    allowed = [stop.promise.window] if stop.promise else list(stop.windows)
    for once in told:
        made, call = once
        inside = [w for w in allowed if w.start <= call.start <= w.end]
        if not inside or not call.window.start <= call.start <= call.window.end:
            code = "promise_broken" if stop.promise else "outside_window"
            yield wrong(code, once, start=call.start)
        if call.start // DAY != made.day:
            yield wrong("wrong_day", once, start=call.start)
    if stop.promise and not set(stop.promise.technicians) <= set(who):
        yield wrong("promise_broken", told[0], technicians=sorted(stop.promise.technicians))


def _frozen(problem: Problem, told: Mapping[str, list[Told]]) -> Iterator[Violation]:
    """On a frozen day the former stops stay with the same people, and no other stop joins."""
    working = {(shift.technician, shift.day) for shift in problem.shifts}
    for stop in problem.stops:
        former = stop.former
        here = told.get(stop.id, [])
        days = {made.day for made, _ in here}
        who = {made.technician for made, _ in here}
        held = (
            former is not None
            and former.day in problem.settings.frozen_days
            and bool(former.technicians)
            and all((name, former.day) in working for name in former.technicians)
        )
        if held and former is not None and here:
            moved = days != {former.day} or who != set(former.technicians)
            promise = stop.promise
            free = promise is not None and (
                bool(promise.technicians) or promise.window.start // DAY != former.day
            )
            if moved and not free:
                yield Violation("frozen_day_changed", stop.id, day=former.day)
        elif stop.promise is None and days & problem.settings.frozen_days:
            yield Violation("frozen_day_changed", stop.id, day=min(days))


def _sums(problem: Problem, plan: Plan, told: Mapping[str, list[Told]]) -> Iterator[Violation]:
    """The plan's totals are those of its parts."""
    cost = sum(
        part
        for made in plan.rounds
        for part in (made.bill.fixed, made.bill.driving, made.bill.time, made.bill.overtime)
    )
    prize = 0
    for stop in problem.stops:
        if stop.id in told:
            day = told[stop.id][0][0].day
            prize += stop.prizes.get(day, 0)
            if stop.former is not None and stop.former.day == day:
                prize += problem.settings.sticky
            if any(made.technician in stop.in_area.get(day, ()) for made, _ in told[stop.id]):
                prize += problem.settings.own_area
    if plan.cost != cost:
        yield Violation("cost_wrong", params={"told": plan.cost, "sum": cost})
    if plan.prize != prize:
        yield Violation("prize_wrong", params={"told": plan.prize, "sum": prize})
    guessed = any(
        mark
        for n, row in enumerate(problem.travel.estimated)
        for m, mark in enumerate(row)
        if n != m
    )
    if plan.estimated != guessed:
        yield Violation("estimate_unmarked")
