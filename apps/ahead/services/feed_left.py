"""Keeps with a system's standing until when its feed lasts."""

import datetime as dt
from collections.abc import Iterable
from uuid import UUID

from django.db import transaction
from django.utils import timezone

from apps.ahead.selectors import feed_left
from apps.calc.feed_left import Lasts
from apps.care.models import FeedCount, Standing
from apps.care.services import FeedSaid, standing_feed_set


@transaction.atomic
def feed_left_refresh(system_ids: Iterable[UUID], at: dt.datetime) -> None:
    """Bring up to date until when the feed of systems lasts: a fixed number of queries."""
    # who comes second reads the counts once the first is done, and so sees its count as well
    rows = Standing.objects.select_for_update(of=("self",)).filter(system_id__in=list(system_ids))
    held = dict(rows.order_by("pk").values_list("system_id", "system__place_id"))
    found = feed_left(held, timezone.localdate(at), at)
    standing_feed_set({pk: _said(*found[pk]) if pk in found else FeedSaid() for pk in held}, at)


def _said(count: FeedCount, lasts: Lasts | None) -> FeedSaid:
    counted = timezone.localdate(count.counted_at)
    what = {"amount_g": count.amount_g, "counted_on": counted.isoformat()}
    if lasts is None:
        return FeedSaid(str(count.pk), what)
    soonest, until, latest = (
        counted + dt.timedelta(days=days) for days in (lasts.soonest, lasts.days, lasts.latest)
    )
    span = {"soonest": soonest.isoformat(), "latest": latest.isoformat()}
    return FeedSaid(str(count.pk), what | span, until)
