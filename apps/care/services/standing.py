"""The dates and the rank that the due list keeps of each system."""

import datetime as dt
from collections.abc import Iterable, Mapping, Sequence
from typing import Any, NamedTuple
from uuid import UUID

from django.db.models import Min, Q

from apps.care.models import CareTask, Standing
from apps.care.selectors import FIRM_TASKS, HARMFUL, OUT_OF_BAND, QUIET, URGENT
from apps.core.bulk import rows_update

STANDING_DATES = ("due_from", "due_by", "late_a_from", "computed_at")


def standing_refresh_dates(system_ids: Iterable[UUID], at: dt.datetime) -> None:
    """Bring the earliest dates of systems up to date: two queries, one bulk update."""
    standings = list(Standing.objects.filter(system_id__in=list(system_ids)))
    standing_dates_set(standings, at)
    rows_update(standings, STANDING_DATES)


def standing_dates_set(standings: Sequence[Standing], at: dt.datetime) -> None:
    """Work out the earliest dates of systems from their tasks: one query; they are not stored."""
    dates = {
        row["system_id"]: row
        for row in CareTask.objects.filter(
            system_id__in=[row.system_id for row in standings],
            active=True,
            who__in=FIRM_TASKS,
            next_due__isnull=False,
        )
        .values("system_id")
        .annotate(
            due_from=Min("next_due"),
            due_by=Min("next_late"),
            late_a=Min("next_late", filter=Q(criticality="A")),
        )
    }
    for standing in standings:
        row: Any = dates.get(standing.system_id, {})
        standing.due_from = row.get("due_from")
        standing.due_by = row.get("due_by")
        standing.late_a_from = row.get("late_a")
        standing.computed_at = at


def standing_ahead_set(
    crossings: Mapping[UUID, tuple[dict[str, Any], dt.date | None]], at: dt.datetime
) -> None:
    """Keep the crossing that comes first in each system, and since when it wants somebody there."""
    standings = list(Standing.objects.filter(system_id__in=list(crossings)))
    for standing in standings:
        standing.ahead, standing.ahead_from = crossings[standing.system_id]
        standing.computed_at = at
    rows_update(standings, ["ahead", "ahead_from", "computed_at"])


class FeedSaid(NamedTuple):
    """Until when the feed of a system lasts: of which count, what else is said of it, and the day."""

    of: str = ""
    what: dict[str, Any] = {}
    until: dt.date | None = None


def standing_feed_set(found: Mapping[UUID, FeedSaid], at: dt.datetime) -> None:
    """Keep until when the feed of each system lasts, with the count that says so."""
    standings = list(Standing.objects.filter(system_id__in=list(found)))
    for standing in standings:
        said = found[standing.system_id]
        standing.feed_count, standing.feed, standing.feed_until = said
        standing.computed_at = at
    rows_update(standings, ["feed_count", "feed", "feed_until", "computed_at"])


def standing_class(urgency: str, word: str) -> int:
    """Return the part of the rank that does not depend on the day."""
    if urgency in ("now", "today"):
        return URGENT
    return {"harmful": HARMFUL, "out_of_band": OUT_OF_BAND}.get(word, QUIET)
