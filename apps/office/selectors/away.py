"""Times away as the office reads them: of one place, of a day, and those that want a call."""

import datetime as dt
from collections.abc import Iterable
from dataclasses import dataclass
from uuid import UUID

from django.db.models import QuerySet
from django.urls import reverse
from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from apps.batches.selectors import fish_now
from apps.calc.away import days_without_feed
from apps.clients.choices import Backup
from apps.clients.models import Place, TimeAway
from apps.core.dates import span_text
from apps.core.scoping import Actor
from apps.office.selectors.waiting_item import Waiting, waits
from apps.office.wording import place_label
from apps.systems.models import Loop

SOON = dt.timedelta(days=14)
MOST = 12


@dataclass(frozen=True)
class AwayShown:
    """A time away in words; `lacks`: what is missing for the fish, each a sentence."""

    row: TimeAway
    lacks: list[str]


def away_at(actor: Actor, place: Place, today: dt.date) -> list[AwayShown]:
    """Return a place's times away that are not over, soonest first: five queries."""
    rows = _ahead(actor, today).filter(place=place)
    return _shown(list(rows.order_by("first", "pk")), today)


def away_on(actor: Actor, place_id: UUID, first: dt.date, last: dt.date) -> list[TimeAway]:
    """Return the times away of a place that meet some days: one query."""
    rows = TimeAway.objects.visible_to(actor).filter(place=place_id, withdrawn_at=None)
    return list(rows.filter(first__lte=last, last__gte=first).order_by("first", "pk"))


def away_soon(actor: Actor) -> list[Waiting]:
    """Return the households away now or within two weeks where something is missing: five queries."""
    today = timezone.localdate(actor.at)
    rows = _ahead(actor, today).filter(first__lte=today + SOON).order_by("first", "pk")
    found = _shown(list(rows[: 4 * MOST]), today)
    items = []
    for item in found:
        if not item.lacks:
            continue
        words = {"days": span_text(item.row.first, item.row.last), "lacks": " ".join(item.lacks)}
        text = _(": away %(days)s. %(lacks)s") % words
        url = f"{reverse('office:place', args=[item.row.place_id])}#away"
        items.append(waits(actor, item.row.made_at, url, place_label(item.row.place), text))
    return items[:MOST]


def _ahead(actor: Actor, today: dt.date) -> QuerySet[TimeAway]:
    rows = TimeAway.objects.visible_to(actor).select_related("place__client")
    return rows.filter(withdrawn_at=None, last__gte=today)


def _shown(rows: list[TimeAway], today: dt.date) -> list[AwayShown]:
    limits = _limits({row.place_id for row in rows}, today)
    return [AwayShown(row, _lacks(row, limits.get(row.place_id))) for row in rows]


def _limits(places: Iterable[UUID], on: dt.date) -> dict[UUID, int]:
    """Return for how many days the fish at each place need no feed; none where there are none."""
    loops = dict(
        Loop.objects.filter(system__place__in=set(places), system__active=True).values_list(
            "pk", "system__place_id"
        )
    )
    found: dict[UUID, int] = {}
    for fish in fish_now(list(loops), on) if loops else []:
        if fish.count:
            place, days = loops[fish.batch.loop_id], days_without_feed(fish.mean_g)
            found[place] = min(days, found.get(place, days))
    return found


def _lacks(row: TimeAway, limit: int | None) -> list[str]:
    if limit is None:
        return []
    lacks = []
    if not row.carer_name:
        lacks.append(_("Nobody looks after it."))
        if (row.last - row.first).days + 1 > limit:
            lacks.append(
                ngettext(
                    "These fish do without feed for %(limit)d day at most.",
                    "These fish do without feed for %(limit)d days at most.", limit,
                ) % {"limit": limit}
            )  # fmt: skip
    if row.backup != Backup.YES:
        lacks.append(_("No air without mains power is known of."))
    return lacks
