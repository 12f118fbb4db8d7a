"""What stands on the paper for whoever looks after a system while its household is away."""

import datetime as dt
from collections.abc import Sequence
from dataclasses import dataclass
from uuid import UUID

from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from apps.batches.selectors import fish_now
from apps.calc.away import CARER_SHARE, days_without_feed
from apps.clients.models import TimeAway
from apps.core.measures import weighed
from apps.core.scoping import Actor
from apps.portal.help import AirShown, air_shown
from apps.portal.selectors import newest_versions
from apps.reports.models import ReportVersion
from apps.reports.rendering.household import feed_by_another, feed_unknown
from apps.reports.rendering.reader import Reader
from apps.systems.models import Loop, System

# a ration that was worked out longer ago says nothing of today's fish (own choice)
STALE = dt.timedelta(days=60)


@dataclass(frozen=True)
class SystemPlan:
    """One system on the paper. `wrong`: the fish would go hungry as it stands."""

    system: System
    feed: str
    bags: str
    without: str
    wrong: bool
    air: AirShown | None


def plan_of(row: TimeAway, actor: Actor) -> list[SystemPlan]:
    """Return what somebody does for each running system of the place."""
    systems = list(
        System.objects.visible_to(actor)
        .filter(place=row.place_id, active=True)
        .select_related("place")
        .order_by("name", "pk")
    )
    known = newest_versions(actor)
    return [_plan(row, system, known.get(system.pk), actor) for system in systems]


def _plan(row: TimeAway, system: System, version: ReportVersion | None, actor: Actor) -> SystemPlan:
    days = (row.last - row.first).days + 1
    limit = limits_of([system.pk], timezone.localdate(actor.at))[system.pk]
    air = air_shown(system, actor)
    if limit is None:
        return SystemPlan(system, "", "", "", wrong=False, air=air)
    if not row.carer_name:
        text, wrong = _nobody(days, limit)
        return SystemPlan(system, "", "", text, wrong, air)
    words, grams = _feed(version, row.first, actor.at)
    return SystemPlan(system, words, _bags(grams, days), _skipped(limit), wrong=False, air=air)


def limits_of(systems: Sequence[UUID], on: dt.date) -> dict[UUID, int | None]:
    """Return for how many days the fish of each system need no feed; None where it has none."""
    loops = dict(Loop.objects.filter(system__in=systems).values_list("pk", "system_id"))
    found: dict[UUID, int | None] = dict.fromkeys(systems)
    for fish in fish_now(list(loops), on):
        if fish.count:
            system, days = loops[fish.batch.loop_id], days_without_feed(fish.mean_g)
            known = found[system]
            found[system] = days if known is None else min(known, days)
    return found


def _feed(
    version: ReportVersion | None, first: dt.date, at: dt.datetime
) -> tuple[str, float | None]:
    if version is None or version.made_at < at - STALE:
        return feed_unknown(), None
    return feed_by_another(Reader(version.snapshot), CARER_SHARE, first)


def _bags(grams: float | None, days: int) -> str:
    if not grams:
        return ""
    words = {"days": days, "grams": weighed(grams, "g", 0)}
    return ngettext(
        "Weigh %(days)d bag of %(grams)s.", "Weigh %(days)d bags of %(grams)s, one for each day.",
        days,
    ) % words  # fmt: skip


def _skipped(limit: int) -> str:
    if limit == 1:
        return _("The fish are small: no more than one day without feed.")
    return _(
        "A day missed? Do not make up for it: up to %(days)d days without feed are fine, as long "
        "as all fish are well."
    ) % {"days": limit}


def _nobody(days: int, limit: int) -> tuple[str, bool]:
    if days <= limit:
        text = ngettext(
            "Nobody feeds: %(days)d day without feed is fine, as long as all fish are well.",
            "Nobody feeds: %(days)d days without feed are fine, as long as all fish are well.",
            days,
        )
        return text % {"days": days}, False
    text = ngettext(
        "These fish do without feed for %(limit)d day at most: ask somebody, or call us.",
        "These fish do without feed for %(limit)d days at most: ask somebody, or call us.", limit,
    )  # fmt: skip
    return text % {"limit": limit}, True
