"""The feed at a system's place as the office reads it: what was counted, and until when it lasts."""

import datetime as dt
from typing import Any

from django.utils.translation import gettext as _

from apps.care.choices import CountedBy
from apps.care.selectors import feed_counts
from apps.core.dates import day_text
from apps.core.numbers import format_figure, with_unit
from apps.core.scoping import Actor
from apps.office.wording import people_by_author
from apps.systems.models import System

MOST = 30


def kilograms(grams: float) -> str:
    """Return a mass as the office reads it: in kilograms, under one in grams."""
    if grams >= 1000:
        return with_unit(format_figure(grams / 1000, 1), "kg")
    return with_unit(format_figure(grams, 0), "g")


def feed_words(system: System) -> str:
    """Return what is known of the feed at a place, in a sentence or two; empty without a count."""
    standing = getattr(system, "standing", None)
    held: dict[str, Any] = standing.feed if standing else {}
    if not held:
        return ""
    counted = {
        "amount": kilograms(float(held["amount_g"])), "day": _day(held["counted_on"]),
    }  # fmt: skip
    said = _("%(amount)s of feed counted on %(day)s.") % counted
    until = standing.feed_until if standing else None
    if until is None:
        return f"{said} " + _("How long it lasts nobody can say: no feeding is known.")
    lasts = {
        "until": day_text(until), "soonest": _day(held["soonest"]), "latest": _day(held["latest"]),
    }  # fmt: skip
    return f"{said} " + _("It lasts until about %(until)s (%(soonest)s to %(latest)s).") % lasts


def _day(value: str) -> str:
    return day_text(dt.date.fromisoformat(value))


def feed_counted(actor: Actor, system: System) -> list[dict[str, Any]]:
    """Return the last counts of a system, the one that counts first: two queries."""
    rows = list(feed_counts([system.pk]).visible_to(actor)[:MOST])
    names = people_by_author([row.by for row in rows if row.by])
    return [
        {"row": row, "amount": kilograms(row.amount_g),
         "by": names.get(row.by) or CountedBy(row.counted_by).label}
        for row in rows
    ]  # fmt: skip
