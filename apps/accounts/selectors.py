"""Reads of this app."""

import datetime as dt
from dataclasses import dataclass

from django.conf import settings
from django.db.models import QuerySet
from django.utils.translation import gettext as _

from apps.accounts.choices import Role
from apps.accounts.holidays_known import holidays_of
from apps.accounts.models import CalendarFeed, Closure, Firm, User
from apps.core.exceptions import DomainError
from apps.core.scoping import Actor

_ONE_DAY = dt.timedelta(days=1)


def firm_current() -> Firm:
    """Return the firm. Raises DomainError where none is set up."""
    firm = Firm.objects.first()
    if firm is None:
        raise DomainError(_("no firm is set up yet; run manage.py firm_setup"), "no_firm")
    return firm


def technicians(actor: Actor | None = None) -> QuerySet[User]:
    """Return the active technicians by name; where an actor asks, those that they may see."""
    rows = User.objects.visible_to(actor) if actor else User.objects.all()
    return rows.filter(role=Role.TECHNICIAN, is_active=True).order_by("first_name", "username")


def feeds_open(actor: Actor) -> QuerySet[CalendarFeed]:
    """Return the calendars that an actor may see and that are not ended, newest first."""
    rows = CalendarFeed.objects.visible_to(actor).filter(revoked_at__isnull=True)
    return rows.select_related("user").order_by("-made_at", "pk")


def feed_addresses(secret: str) -> dict[str, str]:
    """Return a calendar's address as a link that a calendar opens, and as one to copy."""
    plain = f"{settings.BACKYARD_BASE_URL}/calendar/{secret}.ics"
    return {"opens": f"webcal://{plain.split('://', 1)[-1]}", "plain": plain}


@dataclass(frozen=True)
class DayOff:
    """A day with its name: a holiday, a day on which the firm is closed, or both.

    `works`: it would be off, and the firm works all the same. `closure`: what the firm said of it.
    """

    day: dt.date
    name: str
    works: bool = False
    closure: Closure | None = None


def days_off(first: dt.date, last: dt.date) -> list[DayOff]:
    """Return holidays and closures from the first to the last day, both included: two queries."""
    found = {day: DayOff(day, name) for day, name in holidays_between(first, last).items()}
    for row in Closure.objects.filter(first__lte=last, last__gte=first).order_by("first", "pk"):
        day = max(row.first, first)
        while day <= min(row.last, last):
            held = found.get(day)
            if row.works and held:
                found[day] = DayOff(day, held.name, True, row)
            elif not row.works:
                found[day] = DayOff(day, row.name, False, row)
            day += _ONE_DAY
    return [found[day] for day in sorted(found)]


def holidays_between(first: dt.date, last: dt.date) -> dict[dt.date, str]:
    """Return the holidays of the firm's country with their names, both ends included: one query."""
    firm = Firm.objects.first()
    if firm is None or not firm.country:
        return {}
    return {
        day: name
        for year in range(first.year, last.year + 1)
        for day, name in holidays_of(firm.country, firm.subdivision, year, firm.language).items()
        if first <= day <= last
    }


def closed_days(first: dt.date, last: dt.date) -> set[dt.date]:
    """Return the days on which nobody is sent out, both ends included.

    Holidays of the firm's country and its closures, without the holidays on which it works.
    """
    return {row.day for row in days_off(first, last) if not row.works}
