"""What the firm itself sets: its country, hours, currency, notices and days off."""

import datetime as dt

from django.db import transaction
from django.utils import timezone
from django.utils.translation import gettext as _

from apps.accounts.holidays_known import where_checked
from apps.accounts.models import (
    Closure,
    Firm,
)
from apps.accounts.selectors import holidays_between
from apps.accounts.services.record import audit
from apps.core.exceptions import Invalid
from apps.core.money import currencies
from apps.core.scoping import Actor

# nobody is closed for longer
CLOSED_DAYS = 366


@transaction.atomic
def country_set(*, country: str, subdivision: str, by: Actor, at: dt.datetime) -> Firm:
    """Say whose holidays the firm keeps; both empty for none. Raises Invalid naming the field."""
    land, part = where_checked(country, subdivision)
    firm = Firm.objects.select_for_update().get(pk=1)
    firm.country, firm.subdivision = land, part
    firm.save(update_fields=["country", "subdivision"])
    change = {"country": land, "subdivision": part}
    audit(at=at, by=by, verb="set holidays", kind="firm", object_id=firm.pk, change=change)
    return firm


@transaction.atomic
def quiet_hours_set(
    *, quiet_from: dt.time, quiet_until: dt.time, by: Actor, at: dt.datetime
) -> None:
    """Say when letters to clients wait, on the clock of whoever gets them; both the same: never."""
    firm = Firm.objects.select_for_update().get(pk=1)
    firm.quiet_from, firm.quiet_until = quiet_from, quiet_until
    firm.save(update_fields=["quiet_from", "quiet_until"])
    change = {"from": f"{quiet_from:%H:%M}", "until": f"{quiet_until:%H:%M}"}
    audit(at=at, by=by, verb="set quiet hours", kind="firm", object_id=firm.pk, change=change)


def firm_hold() -> None:
    """Let whoever sets something of the firm's go one after the other, until the transaction ends."""
    list(Firm.objects.select_for_update().values_list("pk"))


@transaction.atomic
def currency_set(*, currency: str, by: Actor, at: dt.datetime) -> None:
    """Set the currency of all amounts (ISO 4217); none is converted. Raises Invalid for another code."""
    if currency not in currencies(timezone.localdate(at)):
        words = _("%(code)s is no currency that is paid in today; a code such as EUR is needed")
        message = "currency: " + words % {"code": currency[:20] or "…"}
        raise Invalid([{"pointer": "/currency", "value": currency[:20], "message": message}])
    firm = Firm.objects.select_for_update().get(pk=1)
    before, firm.currency = firm.currency, currency
    firm.save(update_fields=["currency"])
    audit(at=at, by=by, verb="set the currency", kind="firm", object_id=firm.pk,
          change={"currency": [before, currency]})  # fmt: skip


@transaction.atomic
def notices_set(
    *, quiet_client_days: int, renewal_days: int, low_stock_days: int, low_stock_letters: bool,
    by: Actor, at: dt.datetime,
) -> None:  # fmt: skip
    """Say when clients are written to by itself; 0: never.

    After so many days without a word from them, and so many before their agreement ends or their
    feed is used up; of that only where `low_stock_letters` says so, else the office is told alone.
    """
    firm = Firm.objects.select_for_update().get(pk=1)
    change = {
        "quiet_client_days": quiet_client_days, "renewal_days": renewal_days,
        "low_stock_days": low_stock_days, "low_stock_letters": low_stock_letters,
    }  # fmt: skip
    for name, value in change.items():
        setattr(firm, name, value)
    firm.save(update_fields=list(change))
    audit(at=at, by=by, verb="set notices", kind="firm", object_id=firm.pk, change=change)


@transaction.atomic
def closure_add(
    *, first: dt.date, last: dt.date, name: str, works: bool, by: Actor, at: dt.datetime
) -> Closure:
    """Add days off, or days on which the firm works although they are holidays.

    Raises Invalid for ends in the wrong order, more than a year, days that another row holds, and
    for work where there is no holiday.
    """
    # one at a time: what is looked for below must still be so when the row is stored
    firm_hold()
    if last < first:
        raise _invalid("last", last, _("the last day must not come before the first"))
    if (last - first).days >= CLOSED_DAYS:
        raise _invalid("last", last, _("at most a year; add the rest as days of their own"))
    if works and not holidays_between(first, last):
        message = _("none of these days is a holiday of the firm's country; nothing to add")
        raise _invalid("works", first, message)
    met = Closure.objects.filter(first__lte=last, last__gte=first).order_by("first").first()
    if met is not None:
        message = _("%(name)s already holds days from %(first)s to %(last)s; remove it first")
        shown = {"name": met.name, "first": met.first, "last": met.last}
        raise _invalid("first", first, message % shown)
    row = Closure(first=first, last=last, name=name, works=works)
    row.full_clean()
    row.save()
    change = {"first": str(first), "last": str(last), "name": name, "works": works}
    audit(at=at, by=by, verb="added", kind="closure", object_id=row.pk, change=change)
    return row


@transaction.atomic
def closure_remove(*, closure: Closure, by: Actor, at: dt.datetime) -> None:
    """Take days off away again."""
    change = {"first": str(closure.first), "last": str(closure.last), "name": closure.name}
    audit(at=at, by=by, verb="removed", kind="closure", object_id=closure.pk, change=change)
    closure.delete()


def _invalid(field: str, value: dt.date, message: str) -> Invalid:
    row = {"pointer": f"/{field}", "value": str(value), "message": f"{field}: {message}"}
    return Invalid([row])
