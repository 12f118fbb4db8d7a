"""Why a stop has no place in a plan: the first reason that holds, with what fills its sentence."""

from collections.abc import Iterable

from apps.rounds.planning.choices import bound_to, fixed, windows_of
from apps.rounds.planning.draft import Draft
from apps.rounds.planning.pairs import best_offer
from apps.rounds.planning.plan import LeftOut
from apps.rounds.planning.problem import Problem, Shift, Stop


def left_out(draft: Draft, known: Iterable[LeftOut] = ()) -> list[LeftOut]:
    """Return each absent stop with its reason, in the order of the problem's stops.

    For stops in ``known`` the reason given there stands.
    """
    empty = Draft(draft.problem, draft.choices)
    reasons = {left.stop: left for left in known}
    return [reasons.get(stop.id) or _why(draft, empty, stop) for stop in draft.absent()]


def _why(draft: Draft, empty: Draft, stop: Stop) -> LeftOut:
    """Go from what no plan could mend to what only this plan has no room for."""
    found = impossible(draft.problem, stop)
    if found is not None:
        return found
    alone = best_offer(empty, stop)
    if alone is None:
        return _too_far(draft, stop)
    now = best_offer(draft, stop)
    certain = fixed(draft.problem, stop)
    if now is not None and (
        now.gain > 0 or certain
    ):  # whoever planned was stopped before it came to this
        return LeftOut(stop.id, "not_reached", {})
    dear = now if now is not None else alone
    if dear.gain <= 0 and not certain:
        params = {"cost": dear.worth - dear.gain, "prize": dear.worth}
        return LeftOut(stop.id, "cost_more_than_it_is_worth", params)
    return LeftOut(stop.id, "no_time_left", {"days": _days(draft, stop)})


def impossible(problem: Problem, stop: Stop) -> LeftOut | None:
    """Return why no round could hold a stop, whatever else it holds; None where one might."""
    places = {place.id: place for place in problem.places}
    if not places[stop.place].located:
        return LeftOut(stop.id, "no_coordinates", {"place": stop.place})
    windows = windows_of(problem, stop)
    shifts = problem.shifts
    skilled = [shift for shift in shifts if stop.skills <= shift.skills]
    if not shifts:
        return LeftOut(stop.id, "no_window_in_shift", {"days": sorted({w.day for w in windows})})
    if not skilled:
        held: set[str] = set().union(*(shift.skills for shift in shifts))
        missing = sorted(stop.skills - held) or sorted(stop.skills)
        return LeftOut(stop.id, "skill_missing", {"skills": missing})
    if not windows:
        return LeftOut(stop.id, "no_window", {})
    days = {window.day for window in windows}
    named = bound_to(problem, stop)
    away = [name for name in named if not any(_works(s, name, days) for s in shifts)]
    if away:
        return LeftOut(stop.id, "technician_away", {"technicians": away, "days": sorted(days)})
    that_day = [shift for shift in skilled if shift.day in days]
    if not that_day and any(shift.day in days for shift in shifts):
        return LeftOut(
            stop.id, "skill_missing", {"skills": sorted(stop.skills), "days": sorted(days)}
        )
    if stop.people == 2 and not any(_two(shifts, day) for day in days):
        return LeftOut(stop.id, "second_person_missing", {"days": sorted(days)})
    if not any(
        w.start <= shift.end + shift.overtime - stop.on_site and w.end >= shift.start
        for w in windows
        for shift in that_day
        if shift.day == w.day
    ):
        return LeftOut(stop.id, "no_window_in_shift", {"days": sorted(days)})
    return None


def _works(shift: Shift, name: str, days: set[int]) -> bool:
    return shift.technician == name and shift.day in days


def _two(shifts: tuple[Shift, ...], day: int) -> bool:
    return len({shift.technician for shift in shifts if shift.day == day}) > 1


def _too_far(draft: Draft, stop: Stop) -> LeftOut:
    """Say how long the shortest day for the stop alone would take against the longest shift."""
    problem, travel = draft.problem, draft.problem.travel
    here = travel.index[stop.place]
    shifts = {n for c in draft.choices[stop.id] for n in (*c.shifts, *c.helpers)}
    able = [problem.shifts[n] for n in sorted(shifts)] or list(problem.shifts)
    needed = min(
        travel.seconds[travel.index[shift.start_place]][here]
        + stop.on_site
        + travel.seconds[here][travel.index[shift.end_place]]
        for shift in able
    )
    there = max(shift.regular + shift.overtime for shift in able)
    if needed <= there:
        return LeftOut(stop.id, "no_window_in_shift", {"days": sorted({s.day for s in able})})
    return LeftOut(stop.id, "too_far", {"needed": needed, "shift": there})


def _days(draft: Draft, stop: Stop) -> list[int]:
    """Return the days on which the stop might have gone."""
    return sorted({choice.window.day for choice in draft.choices[stop.id]})
