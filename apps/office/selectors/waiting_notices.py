"""What clients are to be written to about: an agreement that ends, feed that runs out."""

import datetime as dt
from urllib.parse import urlencode

from django.db.models import CharField, Exists, OuterRef, Q, QuerySet, Subquery, Value
from django.db.models.functions import Cast, Concat
from django.urls import reverse
from django.utils import timezone
from django.utils.translation import gettext as _

from apps.accounts.models import Firm
from apps.core.scoping import Actor
from apps.flows.notice_letters import FEED
from apps.office.selectors.waiting_item import Waiting, waits
from apps.office.wording import day_words
from apps.reports.choices import LetterKind
from apps.reports.models import Notice
from apps.systems.models import System

# so long before its end an agreement is spoken of: common practice
BEFORE = dt.timedelta(days=60)
# the longest that a firm may want to know of feed before (office/forms/letters.py)
FEED_BEFORE = dt.timedelta(days=60)
MOST = 12


def notices_waiting(actor: Actor) -> list[Waiting]:
    """Return what somebody should write to a client about and nobody has: one query."""
    today = timezone.localdate(actor.at)
    rows = list(_systems(actor, today))
    return _agreements(actor, rows, today) + _feed(actor, rows, today)


def _systems(actor: Actor, today: dt.date) -> QuerySet[System]:
    ends = Concat(Value("renewal:"), Cast(OuterRef("care_plan__agreed_until"), CharField()))
    counted = Concat(Value("low_stock:"), OuterRef("standing__feed_count"))
    told = Notice.objects.filter(contact__client=OuterRef("place__client"))
    return (
        System.objects.visible_to(actor)
        .filter(
            Q(care_plan__agreed_until__lte=today + BEFORE)
            | Q(standing__feed_until__lte=today + FEED_BEFORE),
            active=True,
        )
        .annotate(
            end_told=Exists(told.filter(key=ends)),
            feed_told=Exists(told.filter(key=counted)),
            # not a query of its own: the page has few to spare
            feed_days=Subquery(Firm.objects.values("low_stock_days")[:1]),
        )
        .select_related("place__client", "care_plan", "standing")
        .order_by("pk")
    )


def _agreements(actor: Actor, rows: list[System], today: dt.date) -> list[Waiting]:
    """Return each agreement that ends and of which its client was not told, or that is over."""
    ends = [
        (row.care_plan.agreed_until, row)
        for row in rows
        if getattr(row, "care_plan", None) and row.care_plan.agreed_until
        and row.care_plan.agreed_until <= today + BEFORE
    ]  # fmt: skip
    found: dict[tuple[object, dt.date], Waiting] = {}
    for until, row in sorted(ends, key=lambda item: (item[0], item[1].pk)):
        if not (row.end_told and until >= today):  # type: ignore[attr-defined]
            found.setdefault((row.place.client_id, until), _agreement(actor, row, until, today))
    return list(found.values())[:MOST]


def _agreement(actor: Actor, row: System, until: dt.date, today: dt.date) -> Waiting:
    client = row.place.client
    if until < today:
        url = reverse("office:plan_agreed", args=[row.pk])
        text = _(": the agreement ended on %(day)s; renew it, or take the system out of care")
        since = until
    else:
        url = reverse("office:letter_new", args=[client.pk, LetterKind.RENEWAL.value])
        url += f"?{urlencode({'until': until.isoformat()})}"
        text = _(": the agreement ends on %(day)s; write to them")
        since = until - BEFORE
    return waits(actor, _midnight(since), url, client.name, text % {"day": day_words(until)})


def _feed(actor: Actor, rows: list[System], today: dt.date) -> list[Waiting]:
    """Return each place whose feed lasts less than the firm wants to know before, and nobody was told."""
    found = []
    for row in rows:
        standing = getattr(row, "standing", None)
        until = standing.feed_until if standing else None
        days: int = row.feed_days or 0  # type: ignore[attr-defined]
        told: bool = row.feed_told  # type: ignore[attr-defined]
        if until and days and not told and until < today + dt.timedelta(days=days):
            found.append((until, row, until - dt.timedelta(days=days - 1)))
    found.sort(key=lambda item: (item[0], item[1].pk))
    return [_low(actor, row, until, since, today) for until, row, since in found[:MOST]]


def _low(
    actor: Actor, row: System, until: dt.date, since: dt.date, today: dt.date
) -> Waiting:  # fmt: skip
    client = row.place.client
    given = {"what": FEED, "count": row.standing.feed_count}
    if until >= today:
        given["until"] = until.isoformat()
        text = _(", %(system)s: the feed lasts until about %(day)s; write to them")
    else:
        text = _(", %(system)s: the feed was used up on about %(day)s; write to them")
    url = reverse("office:letter_new", args=[client.pk, LetterKind.LOW_STOCK.value])
    words = {"system": row.name, "day": day_words(until)}
    return waits(actor, _midnight(since), f"{url}?{urlencode(given)}", client.name, text % words)


def _midnight(day: dt.date) -> dt.datetime:
    return timezone.make_aware(dt.datetime.combine(day, dt.time.min))
