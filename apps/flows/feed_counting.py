"""What feed lies at a place is counted: looked at twice where it is odd, and its last day follows."""

import datetime as dt
from uuid import UUID

from django.db import transaction
from django.utils import timezone
from django.utils.translation import gettext as _

from apps.ahead.selectors import feeding_of
from apps.ahead.services import feed_left_refresh
from apps.calc.feed_left import MOST_G, is_odd
from apps.care.models import FeedCount
from apps.care.services import feed_count_add
from apps.core.exceptions import Invalid
from apps.core.numbers import format_figure
from apps.core.scoping import Actor
from apps.systems.models import System

# under so many days the tenths are said as well
FEW_DAYS = 10


@transaction.atomic
def feed_count(
    *, system: System, amount_g: float, counted_at: dt.datetime, by: Actor, at: dt.datetime,
    sure: bool = False, pk: UUID | None = None,
) -> FeedCount:  # fmt: skip
    """Note how much feed lies at a system's place [g], and until when it lasts.

    `sure`: it was looked at twice. Raises Invalid naming the field; for an amount that is perhaps in
    another unit the error has `look_again`.
    """
    # locked first: who counts at the same time waits, and both see the same feeding
    System.objects.select_for_update().get(pk=system.pk)
    doubt = "" if sure else feed_doubt(system, amount_g, at)
    if doubt:
        raise Invalid([
            {"pointer": "/amount_g", "value": amount_g, "message": f"amount_g: {doubt}",
             "look_again": True}
        ])  # fmt: skip
    row = feed_count_add(
        system=system, amount_g=amount_g, counted_at=counted_at, by=by, at=at, pk=pk
    )
    feed_left_refresh([system.pk], at)
    return row


def feed_doubt(system: System, amount_g: float, at: dt.datetime) -> str:
    """Return what is odd about an amount of feed [g]; empty where nothing is, or it cannot be at all."""
    if not 0 <= amount_g <= MOST_G:
        return ""
    on = timezone.localdate(at)
    fed = feeding_of({system.pk: system.place_id}, on, on, at)[system.pk].a_day
    if not is_odd(amount_g, fed):
        return ""
    if not fed:
        return _("This is a lot of feed. Is the unit right?")
    days = amount_g / fed
    shown = format_figure(days, 1 if days < FEW_DAYS else 0)
    return _("This would last about %(days)s days. Is the unit right?") % {"days": shown}
