"""Changes of this app: plans of rounds from being made to their end, and who is away."""

import datetime as dt
from collections.abc import Iterable, Mapping
from dataclasses import asdict
from typing import Any
from uuid import UUID

from django.db import transaction
from django.utils import timezone
from django.utils.translation import gettext as _

from apps.accounts.models import User
from apps.accounts.services import audit
from apps.core.dates import day_text, span_text
from apps.core.exceptions import Invalid
from apps.core.scoping import Actor
from apps.rounds.choices import Part, PlanState
from apps.rounds.codec import plan_json, problem_json, work_json
from apps.rounds.exceptions import PlanNotReady
from apps.rounds.models import (
    MOST_DAYS,
    Absence,
    Crew,
    PlanningSettings,
    RoundPlan,
    WorkingHours,
)
from apps.rounds.planning.checker import Violation
from apps.rounds.planning.effort import Effort
from apps.rounds.planning.plan import Plan
from apps.rounds.planning.problem import Problem
from apps.rounds.selectors import Gathered

KEPT = dt.timedelta(days=14)
"""How long a draft stays after its last day."""


def author(by: Actor) -> str:
    """Return how an actor is written down."""
    return f"{by.role}:{by.user_id or by.reason}"[:160]


@transaction.atomic
def plan_new(
    *, first: dt.date, days: int, effort: Effort, today: dt.date, by: Actor, at: dt.datetime
) -> RoundPlan:
    """Write a plan that is to be made. Raises Invalid naming the field."""
    if first < today:
        raise _refuse(
            "/first",
            first.isoformat(),
            "first: "
            + _("%(day)s has gone by; plan from %(today)s on")
            % {"day": day_text(first, "year"), "today": day_text(today, "year")},
        )
    if not 1 <= days <= MOST_DAYS:
        words = _("plan from 1 to %(most)s days; %(days)s are given")
        raise _refuse("/days", days, "days: " + words % {"most": MOST_DAYS, "days": days})
    plan = RoundPlan(
        first=first, days=days, seed=effort.seed, seconds=effort.seconds,
        iterations=effort.iterations, made_by=author(by), made_at=at,
    )  # fmt: skip
    plan.full_clean()
    plan.save()
    audit(at=at, by=by, verb="began", kind="round plan", object_id=plan.pk)
    return plan


def _refuse(pointer: str, value: object, message: str) -> Invalid:
    return Invalid([{"pointer": pointer, "value": value, "message": message}])


def plan_told(*, pk: UUID, share: float, best: int | None) -> None:
    """Note how far the making of a plan has come."""
    working = RoundPlan.objects.filter(pk=pk, state=PlanState.WORKING)
    working.update(share=min(max(share, 0.0), 1.0), best=best)


@transaction.atomic
def plan_ready(*, pk: UUID, gathered: Gathered, made: Plan, at: dt.datetime) -> bool:
    """Store a plan that its judge has passed; False where somebody has ended it meanwhile."""
    taken = RoundPlan.objects.filter(pk=pk, state=PlanState.WORKING).update(
        state=PlanState.READY, share=1.0, best=made.value, judged_at=at, judge_passed=True,
        problem=problem_json(gathered.problem), work=work_json(gathered.work),
        notes=[asdict(note) for note in gathered.notes], plan=plan_json(made),
        basis=gathered.basis, frozen=sorted(gathered.problem.settings.frozen_days),
    )  # fmt: skip
    return bool(taken)


def plan_failed(
    *, pk: UUID, code: str, at: dt.datetime, params: Mapping[str, Any] | None = None,
    says: Iterable[Violation] = (),
) -> None:  # fmt: skip
    """Note why there is no plan, and what its judge found, if it came to that."""
    found = [violation_json(row) for row in says]
    RoundPlan.objects.filter(pk=pk, state=PlanState.WORKING).update(
        state=PlanState.FAILED, failed_code=code, failed_params=dict(params or {}),
        judge_says=found,
        judged_at=at if found else None,
    )  # fmt: skip


def violation_json(row: Violation) -> dict[str, Any]:
    """Return what the judge found as JSON."""
    return {**asdict(row), "params": dict(row.params)}


@transaction.atomic
def plan_revise(
    *,
    old: RoundPlan,
    problem: Problem,
    made: Plan,
    change: Mapping[str, Any],
    by: Actor,
    at: dt.datetime,
) -> RoundPlan:
    """Store a plan that a change by hand made of another one, which stays as it is.

    The caller has had it judged and found nothing.
    """
    row = RoundPlan(
        first=old.first, days=old.days, state=PlanState.READY, seed=old.seed, seconds=old.seconds,
        iterations=old.iterations, share=1.0, best=made.value, problem=problem_json(problem),
        work=old.work, notes=old.notes, plan=plan_json(made), basis=old.basis,
        frozen=old.frozen, judged_at=at,
        judge_passed=True, revises=old, change=dict(change), made_by=author(by), made_at=at,
    )  # fmt: skip
    row.full_clean()
    row.save()
    audit(at=at, by=by, verb="revised", kind="round plan", object_id=row.pk,
          change={"of": str(old.pk), "how": change.get("kind", "")})  # fmt: skip
    return row


def plans_lock() -> None:
    """Let one plan be accepted at a time: whoever comes second waits, and sees what was changed."""
    PlanningSettings.objects.get_or_create(pk=1)
    PlanningSettings.objects.select_for_update().get(pk=1)


@transaction.atomic
def plan_end(*, plan: RoundPlan, to: str, by: Actor, at: dt.datetime) -> None:
    """Accept or drop a plan. Raises PlanNotReady with who ended it and when."""
    open_states = [PlanState.READY]
    if to == PlanState.DROPPED:
        open_states += [PlanState.WORKING, PlanState.FAILED]
    taken = RoundPlan.objects.filter(pk=plan.pk, state__in=open_states).update(
        state=to, ended_by=author(by), ended_at=at
    )
    plan.refresh_from_db()
    if not taken:
        raise PlanNotReady(not_ready_words(plan), state=plan.state)
    audit(at=at, by=by, verb=to, kind="round plan", object_id=plan.pk)


def plans_forget_old(on: dt.date) -> int:
    """Delete drafts whose days went by long ago; return how many.

    What was accepted or dropped stays, with all that it was made from: that is on record.
    """
    drafts = RoundPlan.objects.filter(
        state__in=[PlanState.WORKING, PlanState.READY, PlanState.FAILED],
        first__lt=on - KEPT,
    )
    old = [row.pk for row in drafts.only("first", "days") if row.last < on - KEPT]
    gone = 0
    # a change refers to the plan that it changed, so those that nothing refers to go first
    while count := RoundPlan.objects.filter(pk__in=old, revisions__isnull=True).delete()[0]:
        gone += count
    return gone


def not_ready_words(plan: RoundPlan) -> str:
    """Return why a plan cannot be taken up now, and the way out."""
    when = day_text(plan.ended_at.date(), "year") if plan.ended_at else ""
    said = {
        PlanState.WORKING: _("This plan is still being made; wait until it is ready."),
        PlanState.FAILED: _("No plan came of this; plan anew."),
        PlanState.ACCEPTED: _("This plan was accepted on %(day)s already.") % {"day": when},
        PlanState.DROPPED: _("This plan was dropped on %(day)s; plan anew.") % {"day": when},
    }
    return said.get(PlanState(plan.state), "")


@transaction.atomic
def absence_add(
    *, user: User, first: dt.date, last: dt.date, by: Actor, at: dt.datetime, reason: str = "",
    part: str = Part.WHOLE,
) -> Absence:  # fmt: skip
    """Write down when a technician is away.

    Raises ValidationError where the days do not fit, Invalid where they have all gone by or where it
    is written down already.
    """
    _absence_check(user, first, last, part, at)
    row = Absence(user=user, first=first, last=last, part=part, reason=reason)
    row.full_clean()
    row.save()
    audit(at=at, by=by, verb="away", kind="user", object_id=user.pk,
          change={"first": first.isoformat(), "last": last.isoformat()})  # fmt: skip
    return row


def absence_noted(user: User, first: dt.date, last: dt.date, part: str) -> Absence | None:
    """Return the absence that says already that somebody is away then."""
    rows = Absence.objects.filter(user=user, first__lte=first, last__gte=last)
    return rows.filter(part__in={Part.WHOLE, part}).order_by("first", "pk").first()


def _absence_check(user: User, first: dt.date, last: dt.date, part: str, at: dt.datetime) -> None:
    if first <= last < timezone.localdate(at):
        words = _("%(day)s has gone by; nothing is booked or planned on it any more") % {
            "day": day_text(last),
        }  # fmt: skip
        raise Invalid(
            [{"pointer": "/last", "value": last.isoformat(), "message": f"last: {words}"}]
        )
    noted = absence_noted(user, first, last, part)
    if noted is not None:
        words = _("%(user)s is noted as away then already, %(days)s; take that back first to change it") % {
            "user": user, "days": span_text(noted.first, noted.last),
        }  # fmt: skip
        raise Invalid(
            [{"pointer": "/first", "value": first.isoformat(), "message": f"first: {words}"}]
        )


@transaction.atomic
def absence_end(*, absence: Absence, by: Actor, at: dt.datetime) -> None:
    """Take an absence back: the technician works on these days after all."""
    absence.delete()
    audit(at=at, by=by, verb="not away", kind="user", object_id=absence.user_id,
          change={"first": absence.first.isoformat(), "last": absence.last.isoformat()})  # fmt: skip


@transaction.atomic
def crew_set(
    *,
    user: User,
    values: Mapping[str, Any],
    days: Iterable[Mapping[str, Any]],
    by: Actor,
    at: dt.datetime,
) -> Crew:
    """Write down from where a technician works, with which skills, and the hours of their week.

    `days`: values of WorkingHours, one a weekday; a weekday without is free, and without any the
    firm's day holds. Raises ValidationError naming the field.
    """
    crew = Crew.objects.filter(user=user).first() or Crew(user=user)
    for name, value in values.items():
        setattr(crew, name, value)
    crew.full_clean()
    crew.save()
    rows = [WorkingHours(user=user, **day) for day in days]
    user.working_hours.all().delete()
    for row in rows:
        row.full_clean()
    WorkingHours.objects.bulk_create(rows)
    audit(at=at, by=by, verb="hours set", kind="user", object_id=user.pk)
    return crew


@transaction.atomic
def planning_set(*, values: Mapping[str, Any], by: Actor, at: dt.datetime) -> PlanningSettings:
    """Write down how the firm plans. Raises ValidationError naming the field."""
    row = PlanningSettings.objects.first() or PlanningSettings(pk=1)
    before = {name: getattr(row, name) for name in values}
    for name, value in values.items():
        setattr(row, name, value)
    row.full_clean(validate_unique=False)
    row.save()
    changed = {
        name: [str(before[name]), str(value)]
        for name, value in values.items()
        if value != before[name]
    }
    audit(at=at, by=by, verb="planning set", kind="firm", object_id=None, change=changed)
    return row
