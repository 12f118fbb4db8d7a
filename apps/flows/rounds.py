"""Rounds: from what is due and pencilled to a judged plan, and from an accepted plan to visits."""

import datetime as dt
import time
from collections.abc import Callable
from dataclasses import dataclass, replace
from uuid import UUID

from django.db import transaction
from django.utils import timezone
from django.utils.translation import gettext as _

from apps.accounts.models import User
from apps.clients.models import Place
from apps.core import outbox
from apps.core.scoping import Actor
from apps.flows import visit_booking
from apps.flows.rounds_wording import refusal
from apps.reports.choices import LetterKind
from apps.reports.models import Letter
from apps.rounds.choices import Kind, Part, PlanState, WhyFailed
from apps.rounds.codec import plan_of, problem_of, work_of
from apps.rounds.exceptions import PlanNotReady, PlanStale
from apps.rounds.models import RoundPlan
from apps.rounds.planning.effort import Effort, Progress
from apps.rounds.planning.plan import Plan
from apps.rounds.planning.planner import PlanRefused, plan_rounds
from apps.rounds.selectors import (
    Gathered,
    Work,
    basis_now,
    gather,
    moment_of,
    settings_current,
    stuck,
)
from apps.rounds.services import (
    absence_add,
    absence_noted,
    not_ready_words,
    plan_end,
    plan_failed,
    plan_new,
    plan_ready,
    plan_told,
    plans_lock,
)
from apps.systems.models import System
from apps.visits.choices import HOLDING
from apps.visits.models import Visit
from apps.visits.services.booking import visits_lift

TELL_EVERY_S = 1.0
FIRST_TURN = 0.9
MOVED, AWAY = "moved", "away"
AGAIN = 3
"""How often a plan is made anew with visits held where they are that had got no place."""


@dataclass(frozen=True)
class Written:
    """A call as it becomes a visit."""

    work: Work
    start: dt.datetime
    end: dt.datetime
    people: list[User]

    def stands(self, visit: Visit) -> bool:
        """Whether a visit is so already."""
        there = {row.user_id for row in visit.assignments.all()}
        times = (visit.start, visit.end) == (self.start, self.end)
        return times and there == {user.pk for user in self.people}


def plan_start(
    *, first: dt.date, days: int, effort: Effort, today: dt.date, by: Actor, at: dt.datetime
) -> RoundPlan:
    """Write a plan that a worker then makes. Raises Invalid naming the field."""
    with transaction.atomic():
        plan = plan_new(first=first, days=days, effort=effort, today=today, by=by, at=at)
        outbox.enqueue("rounds.plan", f"rounds:{plan.pk}", {"plan_id": str(plan.pk)}, at=at)
    return plan


def plan_now(
    *, first: dt.date, days: int, effort: Effort, today: dt.date, by: Actor, at: dt.datetime
) -> RoundPlan:
    """Make a plan here and now. Raises Invalid naming the field."""
    plan = plan_new(first=first, days=days, effort=effort, today=today, by=by, at=at)
    plan_make(plan_id=plan.pk, at=at)
    plan.refresh_from_db()
    return plan


def plan_make(*, plan_id: UUID, at: dt.datetime) -> None:
    """Gather, plan, have it judged, store it. What somebody has ended meanwhile is let go."""
    row = RoundPlan.objects.filter(pk=plan_id, state=PlanState.WORKING).first()
    if row is None:
        return
    try:
        gathered, made = _planned(row, at)
    except PlanRefused as refused:
        plan_failed(pk=plan_id, code=WhyFailed.JUDGE, at=at, says=refused.violations)
    except ValueError as error:
        plan_failed(pk=plan_id, code=WhyFailed.REFUSED, params=refusal(error), at=at)
    except Exception:
        plan_failed(pk=plan_id, code=WhyFailed.BROKE_OFF, at=at)
        raise
    else:
        plan_ready(pk=plan_id, gathered=gathered, made=made, at=at)


def _planned(row: RoundPlan, at: dt.datetime) -> tuple[Gathered, Plan]:
    """Return a plan and what it was made from.

    Visits that hold somebody's time and got no place stay where they are, and it is planned anew
    around them. Before the last turn all that hold somebody's time are held where they are: what
    still gets a place then is new, and nobody's time is taken.
    """
    settled, today = _written_to_often(), timezone.localdate(at)
    effort = Effort(row.seconds, row.iterations, row.seed)
    gathered = gather(row.first, row.days, today, settled, now=at)
    for turn in range(AGAIN + 1):
        tell, halted = _listener(row.pk, turn), _stopper(row.pk)
        made = plan_rounds(gathered.problem, effort, tell, halted)
        more = stuck(gathered, made)
        if not more or made.stopped or turn == AGAIN:
            break
        settled |= more if turn < AGAIN - 1 else gathered.holding
        if effort.seconds is not None and not turn:
            effort = replace(effort, seconds=effort.seconds / AGAIN)
        gathered = gather(row.first, row.days, today, settled, gathered.problem.travel, at)
    return gathered, made


def _written_to_often() -> set[UUID]:
    """Return the visits about whose time the clients were written to as often as the firm wants."""
    most = settings_current().most_letters
    counts: dict[UUID, int] = {}
    rows = Letter.objects.filter(kind=LetterKind.APPOINTMENT, visit__state__in=HOLDING)
    for visit_id, sequence in rows.values_list("visit_id", "parameters__sequence").distinct():
        counts[visit_id] = counts.get(visit_id, 0) + (sequence is not None)
    return {pk for pk, count in counts.items() if count >= most}


def _listener(pk: UUID, turn: int) -> Callable[[Progress], None]:
    """Return what writes down how far it has come, about once a second.

    The first turn is most of the way, as there is seldom another.
    """
    begins, width = (0.0, FIRST_TURN) if not turn else (FIRST_TURN, 1 - FIRST_TURN)
    told = [-TELL_EVERY_S]

    def tell(progress: Progress) -> None:
        now = time.monotonic()
        if now - told[0] >= TELL_EVERY_S:
            told[0] = now
            plan_told(pk=pk, share=begins + width * progress.share, best=progress.value)

    return tell


def _stopper(pk: UUID) -> Callable[[], bool]:
    """Return the question whether somebody has dropped the plan, asked about once a second."""
    asked = [-TELL_EVERY_S]

    def halted() -> bool:
        now = time.monotonic()
        if now - asked[0] < TELL_EVERY_S:
            return False
        asked[0] = now
        return not RoundPlan.objects.filter(pk=pk, state=PlanState.WORKING).exists()

    return halted


def stale(plan: RoundPlan, today: dt.date) -> bool:
    """Whether visits, hours or days changed since a plan was made, or its first day has gone by."""
    if plan.first < today or plan.problem is None:
        return True
    work = work_of(plan.work)
    return basis_now(plan.first, plan.days, today, work, plan.frozen) != plan.basis


def ready_check(plan: RoundPlan, today: dt.date) -> None:
    """Raise PlanNotReady or PlanStale where a plan cannot be taken up or changed."""
    if plan.state != PlanState.READY:
        raise PlanNotReady(not_ready_words(plan), state=plan.state)
    if stale(plan, today):
        raise PlanStale(
            _("Visits, hours or days off have changed since this plan was made; plan anew.")
        )


@transaction.atomic
def plan_accept(*, plan: RoundPlan, today: dt.date, by: Actor, at: dt.datetime) -> list[Visit]:
    """Turn a plan into visits: pencil in what is due, move what was pencilled, touch nothing else.

    Returns the visits that were made or moved. All or nothing. Raises PlanNotReady where it is not
    ready or was accepted before, PlanStale where what it was made from has changed, and what
    booking raises.
    """
    plans_lock()
    plan = RoundPlan.objects.select_for_update().get(pk=plan.pk)
    ready_check(plan, today)
    _absences_add(plan, by, at)
    changed = _written(plan, by, at)
    plan_end(plan=plan, to=PlanState.ACCEPTED, by=by, at=at)
    return changed


def _absences_add(plan: RoundPlan, by: Actor, at: dt.datetime) -> None:
    """Write down who is away by the changes that led to a plan."""
    step: RoundPlan | None = plan
    while step is not None:
        if step.change.get("kind") == AWAY:
            first, last = (dt.date.fromisoformat(step.change[name]) for name in ("first", "last"))
            user = User.objects.get(pk=step.change["technician"])
            if absence_noted(user, first, last, Part.WHOLE) is None:
                absence_add(
                    user=user, first=first, last=last, reason=step.change["reason"], by=by, at=at
                )
        step = step.revises


def _written(plan: RoundPlan, by: Actor, at: dt.datetime) -> list[Visit]:
    """Write the calls of a plan as visits."""
    made, work = plan_of(plan.plan or {}), work_of(plan.work)
    by_stop = problem_of(plan.problem or {}).by_stop
    calls = calls_of(plan, made)
    users = User.objects.in_bulk({UUID(name) for _start, who in calls.values() for name in who})
    moves, fresh = [], []
    for stop, (start, names) in calls.items():
        # the work alone, as a visit that lasted on over a lunch would be longer with each plan
        end = start + dt.timedelta(seconds=by_stop[stop].on_site)
        call = Written(work[stop], start, end, [users[UUID(name)] for name in names])
        if call.work.kind == Kind.MOVABLE:
            moves.append(call)
        elif call.work.kind == Kind.DUE:
            fresh.append(call)
    _ahead_check(fresh, at)
    return [*_moved(moves, by, at), *(_pencilled(call, by, at) for call in fresh)]


def _ahead_check(calls: list[Written], at: dt.datetime) -> None:
    """Raise PlanStale where something would have to begin in the past."""
    if any(call.start < at for call in calls):
        raise PlanStale(_("Part of this plan lies in the past by now; plan anew."))


def _moved(calls: list[Written], by: Actor, at: dt.datetime) -> list[Visit]:
    """Move the visits whose time or people are others now; they may change places."""
    rows = Visit.objects.prefetch_related("assignments")
    visits = rows.in_bulk([call.work.visit for call in calls])
    moves = [(visits[call.work.visit], call) for call in calls if call.work.visit is not None]
    moves = [(visit, call) for visit, call in moves if not call.stands(visit)]
    _ahead_check([call for _visit, call in moves], at)
    visits_lift(visits=[visit for visit, _call in moves])
    return [
        visit_booking.move(
            visit=visit, start=call.start, end=call.end, technicians=call.people,
            rev=call.work.rev, by=by, at=at,
        )
        for visit, call in moves
    ]  # fmt: skip


def _pencilled(call: Written, by: Actor, at: dt.datetime) -> Visit:
    systems = list(System.objects.filter(pk__in=call.work.systems).order_by("name", "id"))
    return visit_booking.pencil(
        place=Place.objects.get(pk=call.work.place), systems=systems, start=call.start,
        end=call.end, technicians=call.people, by=by, at=at, reason=_("planned care"),
    )  # fmt: skip


def calls_of(plan: RoundPlan, made: Plan) -> dict[str, tuple[dt.datetime, list[str]]]:
    """Return when the work at each stop begins, and who goes."""
    found: dict[str, tuple[dt.datetime, list[str]]] = {}
    for one in made.rounds:
        for call in one.calls:
            start = moment_of(plan.first, call.start)
            found.setdefault(call.stop, (start, []))[1].append(one.technician)
    return found


def plan_drop(*, plan: RoundPlan, by: Actor, at: dt.datetime) -> None:
    """Drop a plan; one that is being made stops within a second or so. Raises PlanNotReady."""
    plan_end(plan=plan, to=PlanState.DROPPED, by=by, at=at)
