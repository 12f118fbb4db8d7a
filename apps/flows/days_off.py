"""Days off: what changes them has every place's visit days planned anew."""

import datetime as dt

from django.db import transaction

from apps.accounts import services
from apps.accounts.models import Closure, Firm
from apps.core.scoping import Actor
from apps.flows.visit_days import days_off_ask


@transaction.atomic
def country_set(*, country: str, subdivision: str, by: Actor, at: dt.datetime) -> Firm:
    """Say whose holidays the firm keeps. Raises Invalid naming the field."""
    firm = services.country_set(country=country, subdivision=subdivision, by=by, at=at)
    days_off_ask(at)
    return firm


@transaction.atomic
def closure_add(
    *, first: dt.date, last: dt.date, name: str, works: bool, by: Actor, at: dt.datetime
) -> Closure:
    """Add days off, or holidays on which the firm works. Raises Invalid naming the field."""
    row = services.closure_add(first=first, last=last, name=name, works=works, by=by, at=at)
    days_off_ask(at)
    return row


@transaction.atomic
def closure_remove(*, closure: Closure, by: Actor, at: dt.datetime) -> None:
    """Take days off away again."""
    services.closure_remove(closure=closure, by=by, at=at)
    days_off_ask(at)
