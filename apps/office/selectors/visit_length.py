"""Why a visit lasts as long as it does, where an accepted plan of rounds made it longer."""

import datetime as dt

from django.utils import timezone
from django.utils.translation import gettext as _

from apps.core.dates import day_text
from apps.core.scoping import Actor
from apps.flows.rounds_wording import longer_words
from apps.rounds.choices import Kind, PlanState
from apps.rounds.codec import problem_of, work_of
from apps.rounds.models import MOST_DAYS, RoundPlan
from apps.rounds.selectors.stops import visit_key
from apps.visits.models import Visit
from apps.visits.services.mending import NOT_BEGUN


def made_longer(actor: Actor, visit: Visit) -> str:
    """Return that and why the last plan that was accepted made a visit longer; else nothing.

    Nothing once somebody has given it another length: one query, or none for a visit that has begun.
    """
    if visit.state not in NOT_BEGUN:
        return ""
    day, key = timezone.localdate(visit.start), visit_key(visit.pk)
    rows = RoundPlan.objects.visible_to(actor).filter(
        state=PlanState.ACCEPTED, first__lte=day, first__gt=day - dt.timedelta(days=MOST_DAYS),
        work__has_key=key,
    )  # fmt: skip
    plan = rows.order_by("-ended_at", "pk").first()
    if plan is None or plan.problem is None or plan.ended_at is None:
        return ""
    stop, work = problem_of(plan.problem).by_stop.get(key), work_of(plan.work)[key]
    if stop is None or work.kind != Kind.MOVABLE:
        return ""
    if visit.end - visit.start != dt.timedelta(seconds=stop.on_site):
        return ""
    words = longer_words(stop, work.booked)
    if not words:
        return ""
    text = _("By the plan of rounds accepted on %(day)s it lasts %(words)s.")
    return text % {"day": day_text(timezone.localdate(plan.ended_at)), "words": words}
