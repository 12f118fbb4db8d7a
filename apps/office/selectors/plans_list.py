"""The plans of rounds as a list: by the day from which they plan, each with where it stands."""

import datetime as dt
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from django.db.models import Case, F, QuerySet, When
from django.utils.translation import gettext as _

from apps.core.scoping import Actor
from apps.flows.rounds import AWAY, stale
from apps.rounds.choices import PlanState
from apps.rounds.models import MOST_DAYS, RoundPlan

PER_PAGE = 8
# what a list of plans shows nothing of, and is large
LARGE = ("problem", "plan", "notes", "judge_says")


@dataclass(frozen=True)
class PlanLine:
    """A plan, where it stands in words, and whether that is of use, out of date, or neither.

    `how`: what it came from, where that was no planning of its own.
    """

    row: RoundPlan
    words: str
    counts: bool = False
    out_of_date: bool = False
    how: str = ""


@dataclass(frozen=True)
class PlansOf:
    """The plans from one day on, the newest first."""

    first: dt.date
    lines: list[PlanLine]


def plans_listed(actor: Actor, today: dt.date) -> QuerySet[RoundPlan]:
    """Return all plans: those of days to come by day, then those whose first day has gone by."""
    ahead = Case(When(first__gte=today, then=F("first")))
    return (
        RoundPlan.objects.visible_to(actor)
        .defer(*LARGE)
        .order_by(ahead.asc(nulls_last=True), "-first", "-made_at", "pk")
    )


def plans_grouped(actor: Actor, rows: Iterable[RoundPlan], today: dt.date) -> list[PlansOf]:
    """Return plans as they were ordered, by their first day, each with where it stands.

    A query more, and for the newest plan of a day that may be accepted those that tell whether it
    still holds.
    """
    shown = list(rows)
    others = _others(actor, shown)
    groups: dict[dt.date, list[PlanLine]] = {}
    for row in shown:
        groups.setdefault(row.first, []).append(_line(row, others, today))
    return [PlansOf(first, lines) for first, lines in groups.items()]


def _others(actor: Actor, shown: Sequence[RoundPlan]) -> list[RoundPlan]:
    """Return the ready and accepted plans that may share a day with those that are shown."""
    if not shown:
        return []
    span = dt.timedelta(days=MOST_DAYS)
    firsts = [row.first for row in shown]
    rows = RoundPlan.objects.visible_to(actor).filter(
        state__in=(PlanState.READY, PlanState.ACCEPTED), first__gt=min(firsts) - span,
        first__lt=max(firsts) + span,
    )  # fmt: skip
    return list(rows.only("first", "days", "state", "made_at", "ended_at"))


def _line(row: RoundPlan, others: Iterable[RoundPlan], today: dt.date) -> PlanLine:
    near = [one for one in others if one.pk != row.pk and _share_a_day(one, row)]
    accepted = [
        one.ended_at for one in near if one.state == PlanState.ACCEPTED and one.ended_at is not None
    ]
    how = _how(row)
    if row.state == PlanState.ACCEPTED and row.ended_at is not None:
        later = max(accepted, default=row.ended_at) > row.ended_at
        words = _("accepted, and replaced by a later one") if later else _("accepted, in force")
        return PlanLine(row, words, not later and row.last >= today, later, how)
    if row.state != PlanState.READY:
        return PlanLine(row, str(row.get_state_display()), how=how)
    if row.first < today:
        return PlanLine(row, _("out of date: its first day has gone by"), False, True, how)
    if accepted and max(accepted) >= row.made_at:
        return PlanLine(row, _("out of date: another one was accepted since"), False, True, how)
    newer = [one for one in near if one.state == PlanState.READY and one.made_at > row.made_at]
    if any(one.first == row.first for one in newer):
        return PlanLine(row, _("there is a newer one"), False, True, how)
    if stale(row, today):
        words = _("out of date: visits, hours or days off have changed since")
        return PlanLine(row, words, False, True, how)
    return PlanLine(row, _("ready to accept"), True, False, how)


def _share_a_day(one: RoundPlan, other: RoundPlan) -> bool:
    return one.first <= other.last and other.first <= one.last


def _how(row: RoundPlan) -> str:
    if row.revises_id is None:
        return ""
    if row.change.get("kind") == AWAY:
        return _("after somebody was noted as away")
    return _("changed by hand")
