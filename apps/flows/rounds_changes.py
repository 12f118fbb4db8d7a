"""Plans of rounds changed by hand: a stop elsewhere, a technician away. Nothing is applied yet.

A change makes a plan of its own beside the one that it changes; it is judged like any other, and
what would break a promise, a window or a day that is settled is refused with what it would break.
"""

import datetime as dt
from collections.abc import Sequence
from dataclasses import replace
from typing import Any

from django.db import transaction
from django.utils.translation import gettext as _

from apps.accounts.models import User
from apps.core.exceptions import Invalid
from apps.core.scoping import Actor
from apps.flows.rounds import AWAY, MOVED, ready_check
from apps.flows.rounds_wording import broken_text, planner_text
from apps.rounds.choices import Kind
from apps.rounds.exceptions import ChangeRefused
from apps.rounds.models import RoundPlan
from apps.rounds.planning.changes import Change, moved, without
from apps.rounds.planning.insertion import Delay
from apps.rounds.planning.plan import Plan
from apps.rounds.planning.problem import DAY, Problem
from apps.rounds.selectors.axis import STEP, moment_of, seconds_of
from apps.rounds.selectors.shown import PlanShown, plan_shown
from apps.rounds.services import plan_revise, violation_json
from apps.visits.models import Assignment


@transaction.atomic
def stop_move(
    *,
    plan: RoundPlan,
    stop: str,
    technicians: Sequence[User],
    day: dt.date,
    time: dt.time | None = None,
    position: int | None = None,
    today: dt.date,
    by: Actor,
    at: dt.datetime,
) -> RoundPlan:
    """Return a plan with a stop in other hands, on another day or at another time.

    Begun at ``time``, or when it is cheapest; before the call number ``position`` of the round (of
    one technician), or where it is cheapest. Raises Invalid naming the field, ChangeRefused with
    what would break, PlanNotReady and PlanStale.
    """
    ready_check(plan, today)
    shown = plan_shown(plan)
    problem, made = _read(shown)
    if stop not in problem.by_stop:
        raise _invalid("/stop", stop, "stop: " + _("there is no such stop in this plan"))
    number = _day(plan, day, "day")
    start = None if time is None else number * DAY + _on_step(time)
    names = [str(user.pk) for user in technicians]
    try:
        change = moved(problem, made, stop, names, number, start=start, position=position)
    except ValueError as error:
        raise ChangeRefused(planner_text(shown, error), violations=[]) from error
    said = {"kind": MOVED, "stop": stop, "moved": [_where(shown, change.plan, stop)]}
    return _revised(shown, problem, change, said, by, at)


@transaction.atomic
def technician_away(
    *,
    plan: RoundPlan,
    technician: User,
    first: dt.date,
    last: dt.date,
    reason: str = "",
    today: dt.date,
    by: Actor,
    at: dt.datetime,
) -> RoundPlan:
    """Return a plan without a technician for some days, and where each of their stops goes then.

    What finds no place is left out with its reason; a booked visit that names them is, as its
    client has to be asked. That they are away is written down when the plan is accepted. Raises
    Invalid naming the field, ChangeRefused, PlanNotReady and PlanStale.
    """
    ready_check(plan, today)
    if last < first:
        raise _invalid("/last", last.isoformat(), "last: " + _("must not come before first"))
    shown = plan_shown(plan)
    problem, made = _read(shown)
    name = str(technician.pk)
    days = [
        shift.day
        for shift in problem.shifts
        if shift.technician == name and first <= shown.day(shift.day) <= last
    ]
    if not days:
        words = _("%(user)s does not work on these days of the plan") % {"user": technician}
        raise _invalid("/technician", name, f"technician: {words}")
    lost = [call.stop for one in made.rounds if one.technician == name and one.day in days
            for call in one.calls]  # fmt: skip
    change, rest = _without(shown, problem, made, name, days)
    said = {
        "kind": AWAY, "technician": name, "first": first.isoformat(), "last": last.isoformat(),
        "reason": reason, "moved": [_where(shown, change.plan, stop) for stop in lost],
    }  # fmt: skip
    return _revised(shown, rest, change, said, by, at)


def _read(shown: PlanShown) -> tuple[Problem, Plan]:
    if shown.problem is None or shown.plan is None:
        raise AssertionError("a plan that is ready has a problem and rounds")
    return shown.problem, shown.plan


def _without(
    shown: PlanShown, problem: Problem, made: Plan, name: str, days: Sequence[int]
) -> tuple[Change, Problem]:
    """Take a technician's days out, the last first, so that nothing is put off onto another."""
    before, change = made, None
    for day in sorted(days, reverse=True):
        try:
            change, _moves = without(problem, before, name, day)
        except ValueError as error:
            raise ChangeRefused(planner_text(shown, error), violations=[]) from error
        before = change.plan
        problem = _rest(problem, name, day)
    if change is None:
        raise AssertionError("there is a day")
    metres = _metres(change.plan) - _metres(made)
    whole = replace(
        change, extra=change.plan.cost - made.cost, metres=metres,
        delays=_delays(made, change.plan),
    )  # fmt: skip
    return whole, problem


def _rest(problem: Problem, name: str, day: int) -> Problem:
    """Return the problem as the plan without that day was judged by."""
    shifts = tuple(s for s in problem.shifts if (s.technician, s.day) != (name, day))
    frozen = problem.settings.frozen_days - frozenset({day})
    return replace(problem, shifts=shifts, settings=replace(problem.settings, frozen_days=frozen))


def _metres(plan: Plan) -> int:
    return sum(made.metres for made in plan.rounds)


def _delays(before: Plan, after: Plan) -> tuple[Delay, ...]:
    """Return how calls that stay with the same person on the same day begin later or earlier."""
    old = {(r.technician, r.day, c.stop): c.start for r in before.rounds for c in r.calls}
    new = {(r.technician, r.day, c.stop): c.start for r in after.rounds for c in r.calls}
    return tuple(
        Delay(key[2], new[key] - start)
        for key, start in old.items()
        if key in new and new[key] != start
    )


def _revised(
    shown: PlanShown,
    problem: Problem,
    change: Change,
    said: dict[str, Any],
    by: Actor,
    at: dt.datetime,
) -> RoundPlan:
    """Store what a change made of a plan. Raises ChangeRefused with what it would break."""
    if change.violations:
        found = [violation_json(row) for row in change.violations]
        broken = [{**row, "text": broken_text(shown, row)} for row in found]
        words = "; ".join(dict.fromkeys(row["text"] for row in broken))
        message = _("That would break what stands: %(what)s.") % {"what": words}
        raise ChangeRefused(message, violations=broken)
    _times_check(shown, change.plan)
    figures = {
        "extra": change.extra, "metres": change.metres,
        "delays": [{"stop": delay.stop, "seconds": delay.seconds} for delay in change.delays],
    }  # fmt: skip
    return plan_revise(
        old=shown.row, problem=problem, made=change.plan, change={**said, **figures}, by=by, at=at
    )


def _times_check(shown: PlanShown, plan: Plan) -> None:
    """Refuse a plan that takes the time which a visit without a place holds of somebody else."""
    work = shown.work
    out = [work[left.stop] for left in plan.left_out]
    lost = [row.visit for row in out if row.kind == Kind.MOVABLE and row.visit is not None]
    first = shown.row.first
    held = Assignment.objects.filter(visit_id__in=lost, holds=True)
    for row in held.select_related("user", "visit__place"):
        for made in plan.rounds:
            if made.technician == str(row.user_id) and any(
                moment_of(first, call.start) < row.end and row.start < moment_of(first, call.leave)
                for call in made.calls
            ):
                message = _(
                    "%(place)s finds no place then, and the time that %(user)s keeps for it would "
                    "be taken; move that visit first, or call it off"
                ) % {"place": row.visit.place, "user": row.user}
                raise ChangeRefused(message, violations=[])


def _where(shown: PlanShown, plan: Plan, stop: str) -> dict[str, Any]:
    """Return where a stop goes now; no day: nowhere."""
    there = [(one, call) for one in plan.rounds for call in one.calls if call.stop == stop]
    people = [one.technician for one, _call in there]
    day = shown.day(there[0][0].day).isoformat() if there else None
    return {"stop": stop, "day": day, "technicians": people}


def _day(plan: RoundPlan, day: dt.date, name: str) -> int:
    number = (day - plan.first).days
    if not 0 <= number < plan.days:
        words = _("the plan runs from %(first)s to %(last)s") % {
            "first": plan.first.isoformat(), "last": plan.last.isoformat(),
        }  # fmt: skip
        raise _invalid(f"/{name}", day.isoformat(), f"{name}: {words}")
    return number


def _on_step(time: dt.time) -> int:
    seconds = seconds_of(time)
    if seconds % STEP or time.microsecond:
        words = _("begin on a full five minutes, as in 09:05")
        raise _invalid("/time", time.isoformat(), f"time: {words}")
    return seconds


def _invalid(pointer: str, value: object, message: str) -> Invalid:
    return Invalid([{"pointer": pointer, "value": value, "message": message}])
